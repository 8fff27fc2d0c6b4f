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
	"rillwood/vector"
)

// Options say what a page tells beside the run.
type Options struct {
	Records *Records // nil = none
	Rates   []chart.Rate
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
	Date, Host, Condition string
	Inspected, Finds      int
	Note                  string
}

// overviewSides are the most cells a side of the page's pictures: the first
// with which both together take at most pictureBytes, else the last.
var overviewSides = []int{1400, 1200, 1000, 800}

// pictureBytes keeps the page of a rugged county below 5 MB.
const pictureBytes = 2_200_000

// page is what the template shows.
type page struct {
	Run          *results.Run
	Title        string
	Months       string
	Policy       string
	Style        template.CSS
	Script       template.JS
	Data         template.JS
	Suitability  template.URL
	Relief       template.URL
	Short, Other []results.Caution
	Alarm        string
	Call         string
	Ramp         []swatch
	Histogram    template.HTML
	Rates        template.HTML
	Records      *Records
	Weights      template.HTML
	Sheets       []sheet.Page
	Few          []results.Candidate // for readers without scripts
}

type swatch struct {
	Color template.CSS
	From  string
}

// Write makes the page of a run at path, beside it first. The same run and
// options give the same bytes.
func Write(ctx context.Context, path string, run *results.Run, o Options) error {
	p := &page{Run: run, Title: run.Name, Months: months(run.Target.Months), Few: run.Candidates}
	if p.Title == "" {
		p.Title = "Scouting map"
	}
	g, err := p.draw(ctx, run)
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
	code, hash := script()
	p.Script, p.Style = template.JS(code), template.CSS(styles())+sheet.CSS()
	p.Policy = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src " + hash + "; base-uri 'none'; form-action 'none'"
	for _, c := range run.Cautions {
		switch c.Key {
		case "lookalike":
			p.Alarm = c.Text
		}
		p.Short = append(p.Short, c)
	}
	p.Call = call(run.Help)
	for _, s := range picture.Ramp() {
		p.Ramp = append(p.Ramp, swatch{template.CSS(fmt.Sprintf("rgb(%d %d %d / %.2f)", s.Color.R, s.Color.G, s.Color.B, float64(s.Color.A)/255)), fmt.Sprintf("%.3g", s.Value)})
	}
	bins, err := run.Histogram(ctx, 20)
	if err != nil {
		return err
	}
	p.Histogram = chart.Histogram(bins, run.Threshold)
	if len(o.Rates) > 0 {
		p.Rates = chart.Rates(o.Rates)
	}
	if p.Records = o.Records; p.Records != nil && len(p.Records.Weights) > 0 {
		p.Weights = chart.Weights(p.Records.Weights)
	}
	ranks := make([]int, len(run.Candidates))
	for i, c := range run.Candidates {
		ranks[i] = c.Rank
	}
	if p.Sheets, err = sheet.Pages(ctx, run, ranks); err != nil {
		return err
	}
	t, err := template.New("page.html").Funcs(template.FuncMap{"join": strings.Join, "num": number}).Parse(asset("page.html"))
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

// draw makes the pictures of the ground.
func (p *page) draw(ctx context.Context, run *results.Run) (g *results.Ground, err error) {
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
		if len(p.Suitability)+len(p.Relief) <= pictureBytes {
			break
		}
	}
	return g, nil
}
