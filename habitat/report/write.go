package report

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"strings"

	"rillwood/habitat/chart"
	"rillwood/habitat/picture"
	"rillwood/habitat/results"
	"rillwood/habitat/sheet"
	"rillwood/habitat/trip"
	"rillwood/vector"
)

// Options say what a page tells beside the run.
type Options struct {
	Records *Records // nil = none
	Rates   []chart.Rate
	Trip    *trip.Plan // a day to show, nil = none
}

// Records are field results, and what was made of them.
type Records struct {
	Points      []Point
	Trees       int
	Finds       int
	Weights     []chart.Weight
	Calibration template.HTML // figure of the calibration, "" = none
	Notes       []string
}

// Point is one record. Texts are as the forager wrote them.
type Point struct {
	Lon, Lat              float64
	Date, Host, Condition string // Host: id of the profile, "none" = looked for hosts, none there, "" = not told
	Inspected, Finds      int    // 0 inspected with a host: looked for, none there
	Confirmed             string // by spore print: yes, no, "" = not told
	Note                  string
}

// overviewSides are the most cells a side of the page's pictures: the first
// with which both together fit into the page, else the last.
var overviewSides = []int{1400, 1200, 1000, 800}

// A page of at most pageBytes opens at once on a phone. What is neither sheet
// nor picture (data, streams at their most, scripts, figures) takes otherBytes.
const (
	pageBytes  = 5_000_000
	otherBytes = 1_600_000
)

// page is what the template shows.
type page struct {
	Run         *results.Run
	Title       string
	Months      string
	Policy      string
	Style       template.CSS
	Script      template.JS
	Data        template.JS
	Suitability template.URL
	Relief      template.URL
	Alarm       string
	Call        string
	Dial        template.URL // of the poison line, "" = no plain number
	After       string       // what of Call comes after the poison line
	Swatches    []struct{}   // of the legend, one a stop of the ramp; coloured by the style
	Licence     string       // of the map library, which goes with every copy
	StreamNote  string
	Histogram   template.HTML
	Rates       template.HTML
	Records     *Records
	Weights     template.HTML
	Trip        *trip.Plan
	TripDay     string
	Sheets      []sheet.Page
}

// Write makes the page of a run at path, beside it first. The same run and
// options give the same bytes.
func Write(ctx context.Context, path string, run *results.Run, o Options) error {
	p := &page{Run: run, Title: run.Name, Months: months(run.Target.Months)}
	if p.Title == "" {
		p.Title = "Scouting map"
	}
	ranks := make([]int, len(run.Candidates))
	for i, c := range run.Candidates {
		ranks[i] = c.Rank
	}
	var err error
	if p.Sheets, err = sheet.Pages(ctx, run, ranks); err != nil {
		return err
	}
	room := pageBytes - otherBytes
	for _, s := range p.Sheets {
		room -= len(s.HTML)
	}
	g, err := p.draw(ctx, run, room)
	if err != nil {
		return err
	}
	d, err := gather(ctx, run, g, o)
	if err != nil {
		return err
	}
	text, err := json.Marshal(d) // writes < > & as \u003c …, so that no text ends the element
	if err != nil {
		return fmt.Errorf("data of the page: %w", err)
	}
	p.Data = template.JS(text)
	p.Script, p.Style = template.JS(script()), template.CSS(styles())+sheet.CSS()
	p.Policy = policy(string(p.Script), string(p.Style))
	for _, c := range run.Cautions {
		if c.Key == "lookalike" {
			p.Alarm = c.Text
		}
	}
	if p.Alarm == "" { // of a run that tells no cautions
		p.Alarm = "A deadly look-alike with a rusty-brown spore print grows on the same dead wood in the same months: print every cluster, check every cap, ask an expert."
	}
	p.Call, p.Dial = call(run.Help), dial(run.Help.PoisonLine)
	p.After = strings.TrimPrefix(p.Call, run.Help.PoisonLine)
	p.Swatches = make([]struct{}, len(picture.Ramp()))
	p.Licence = asset("leaflet/LICENSE")
	p.StreamNote = streamNote(d.shown, len(run.Streams))
	bins, err := run.Histogram(ctx, 20)
	if err != nil {
		return err
	}
	p.Histogram = chart.Histogram(bins, run.Threshold)
	if len(o.Rates) > 0 {
		p.Rates = chart.Rates(o.Rates)
	}
	p.takeTrip(o.Trip)
	if p.Records = o.Records; p.Records != nil && len(p.Records.Weights) > 0 {
		p.Weights = chart.Weights(p.Records.Weights)
	}
	t, err := template.New("page.html").Funcs(template.FuncMap{"join": strings.Join, "num": number, "found": found, "clock": clock, "ordinal": func(i int) int { return i + 1 }}).Parse(asset("page.html"))
	if err != nil {
		panic(err) // it is compiled in
	}
	var b bytes.Buffer
	if err := t.Execute(&b, p); err != nil {
		return fmt.Errorf("page: %w", err)
	}
	return vector.WriteBeside(path, func(w io.Writer) error {
		_, err := w.Write(b.Bytes())
		return err
	})
}

// draw makes the pictures of the ground, as fine as room bytes allow.
func (p *page) draw(ctx context.Context, run *results.Run, room int) (g *results.Ground, err error) {
	for _, side := range overviewSides {
		if g, err = run.Overview(ctx, side); err != nil {
			return nil, err
		}
		if p.Suitability, err = suitabilityImage(g); err != nil {
			return nil, err
		}
		if g.Relief != nil {
			if p.Relief, err = reliefImage(g); err != nil {
				return nil, err
			}
		}
		if len(p.Suitability)+len(p.Relief) <= room {
			break
		}
	}
	return g, nil
}
