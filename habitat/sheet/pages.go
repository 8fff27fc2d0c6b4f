package sheet

import (
	"bytes"
	"context"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"

	"rillwood/habitat/results"
	"rillwood/vector"
)

//go:embed sheet.html
var sheetHTML string

//go:embed book.html
var bookHTML string

//go:embed sheet.css
var sheetCSS string

// Page is the field sheet of one candidate: a section of class fieldsheet.
type Page struct {
	Rank int
	HTML template.HTML
}

// CSS is the style of sheets, all of it below .fieldsheet and .sheetbook.
func CSS() template.CSS { return template.CSS(sheetCSS) }

var pageTemplate = template.Must(template.New("sheet").Parse(sheetHTML))

// sheetData is what the template shows.
type sheetData struct {
	Run        *results.Run
	C          *results.Candidate
	Title      string
	Map        template.HTML
	Middle     location
	Entry      *location
	Start      *location
	Stamp      string // who must be asked, "" = open ground
	Facts      []fact
	Trees      []string
	Winter     []winter
	Rows       []string // hosts of the tally
	Blank      []int    // empty rows after them
	Cautions   []results.Caution
	Call       string
	Number     int
	Of         int
	GridName   string
	Convergent string
}

type fact struct{ Name, Value string }

type winter struct{ Host, Mark string }

// location is a place in degrees and in the frame's grid.
type location struct{ Lat, Lon, East, North string }

func locate(lon, lat, e, n float64) location {
	return location{fmt.Sprintf("%.5f", lat), fmt.Sprintf("%.5f", lon), fmt.Sprintf("%.0f", e), fmt.Sprintf("%.0f", n)}
}

// Pages makes the sheets of the candidates named by rank, in that order. A
// rank that the run does not list is an error.
func Pages(ctx context.Context, run *results.Run, ranks []int) ([]Page, error) {
	to, err := vector.FromWGS84(run.Frame.WKT)
	if err != nil {
		return nil, err
	}
	d, err := newDrawing(run, to)
	if err != nil {
		return nil, err
	}
	var pages []Page
	for i, rank := range ranks {
		c := run.Candidate(rank)
		if c == nil {
			return nil, fmt.Errorf("no candidate %d; the shortlist has %s", rank, listed(run))
		}
		data := describe(run, c)
		data.Number, data.Of = i+1, len(ranks)
		if data.Map, data.Convergent, err = d.draw(ctx, c); err != nil {
			return nil, fmt.Errorf("sheet of candidate %d: %w", rank, err)
		}
		if c.Walk != nil && c.Walk.OK {
			p, err := to.Point([2]float64{c.Walk.StartLon, c.Walk.StartLat})
			if err != nil {
				return nil, fmt.Errorf("sheet of candidate %d: %w", rank, err)
			}
			start := locate(c.Walk.StartLon, c.Walk.StartLat, p[0], p[1])
			data.Start = &start
		}
		var b bytes.Buffer
		if err := pageTemplate.Execute(&b, data); err != nil {
			return nil, fmt.Errorf("sheet of candidate %d: %w", rank, err)
		}
		pages = append(pages, Page{rank, template.HTML(b.String())})
	}
	return pages, nil
}

// listed says which ranks there are.
func listed(run *results.Run) string {
	switch n := len(run.Candidates); n {
	case 0:
		return "none"
	case 1:
		return fmt.Sprint(run.Candidates[0].Rank)
	default:
		return fmt.Sprintf("%d to %d", run.Candidates[0].Rank, run.Candidates[n-1].Rank)
	}
}

// Write makes a document of its own at path, beside it first: a page with the
// list of the sheets and all warnings, then the sheets, one to a page.
func Write(ctx context.Context, path string, run *results.Run, ranks []int) error {
	pages, err := Pages(ctx, run, ranks)
	if err != nil {
		return err
	}
	var list []*results.Candidate
	for _, r := range ranks {
		list = append(list, run.Candidate(r))
	}
	title := run.Name
	if title == "" {
		title = "Scouting map"
	}
	var b bytes.Buffer
	err = template.Must(template.New("book").Funcs(template.FuncMap{"num": figure, "walk": walkText}).Parse(bookHTML)).Execute(&b, struct {
		Run   *results.Run
		Title string
		CSS   template.CSS
		Pages []Page
		List  []*results.Candidate
		Call  string
	}{run, title, CSS(), pages, list, call(run.Help)})
	if err != nil {
		return fmt.Errorf("field sheets: %w", err)
	}
	return vector.WriteBeside(path, func(w io.Writer) error {
		_, err := w.Write(b.Bytes())
		return err
	})
}

// mainHosts is how many hosts a sheet names, tallyRows how many rows its table has.
const (
	mainHosts = 5
	tallyRows = 6
)

func describe(run *results.Run, c *results.Candidate) *sheetData {
	d := &sheetData{Run: run, C: c, Title: titleOf(c), Middle: locate(c.Lon, c.Lat, c.East, c.North), Call: call(run.Help), GridName: run.Frame.Name}
	if run.Frame.EPSG > 0 {
		d.GridName += fmt.Sprintf(" (EPSG:%d)", run.Frame.EPSG)
	}
	switch c.Access {
	case "private":
		d.Stamp = "Private ground: ask the owner first"
	case "closed":
		d.Stamp = "Closed ground: do not enter"
	case "permit":
		d.Stamp = "Permit or registration needed"
	case "open":
	default:
		d.Stamp = "Owner not known: ask first"
	}
	if w := c.Walk; w != nil && w.OK {
		e := locate(w.EntryLon, w.EntryLat, w.EntryEast, w.EntryNorth)
		d.Entry = &e
	}
	check := "no number is enough"
	if c.Check95 > 0 {
		check = fmt.Sprint(c.Check95)
		if !c.HoldsCheck {
			check += " (holds fewer)"
		}
	}
	finds := figure(c.Finds, 1)
	if !math.IsNaN(c.FindsLow) && !math.IsNaN(c.FindsHigh) {
		finds += " (" + figure(c.FindsLow, 1) + " to " + figure(c.FindsHigh, 1) + ")"
	}
	d.Facts = []fact{{"Dead or dying trees to check", check}, {"Expected finds", finds}, {"Dead or dying trees here", figure(c.DeadTrees, 0)},
		{"Suitability", figure(c.SMean, 2)}, {"Area", figure(c.AreaHa, 1) + " ha (" + figure(c.AreaHa*2.4710538, 1) + " acres)"}}
	order := hostOrder(run, c)
	for _, t := range order[:min(mainHosts, len(order))] {
		h := run.HostByID(t.Host)
		d.Trees = append(d.Trees, fmt.Sprintf("%s %s", h.Common, figure(t.Expected, 0)))
		d.Rows = append(d.Rows, h.Common)
		if h.Winter != "" && len(d.Winter) < 3 {
			d.Winter = append(d.Winter, winter{h.Common, h.Winter})
		}
	}
	d.Blank = make([]int, tallyRows-len(d.Rows))
	for _, k := range run.Cautions {
		if k.Short && k.Key != "map" {
			d.Cautions = append(d.Cautions, k)
		}
	}
	return d
}

// hostOrder is the trees of a patch, those that bear finds most first: what a
// tree bears on average times how many there are.
func hostOrder(run *results.Run, c *results.Candidate) []results.TreeCount {
	out := append([]results.TreeCount{}, c.Trees...)
	rate := func(t results.TreeCount) float64 {
		h := run.HostByID(t.Host)
		v := t.Expected * h.Hits / h.Of
		if h.Common == c.FirstHost {
			v = math.Inf(1)
		}
		if math.IsNaN(v) {
			return 0
		}
		return v
	}
	// Few and short: insertion keeps the order of the file among equals.
	for i := 1; i < len(out); i++ {
		for k := i; k > 0 && rate(out[k]) > rate(out[k-1]); k-- {
			out[k], out[k-1] = out[k-1], out[k]
		}
	}
	return out
}

func titleOf(c *results.Candidate) string {
	where := c.Stream
	if where == "" {
		where = "stream without a name"
	}
	if len(c.Land) > 0 {
		where += ", " + strings.Join(c.Land[:min(2, len(c.Land))], ", ")
	}
	return where
}

func call(h results.Help) string {
	text := h.PoisonLine
	if h.Emergency != "" {
		if text != "" {
			text += " or "
		}
		text += h.Emergency
	}
	if text != "" && h.Where != "" {
		text += " (" + h.Where + ")"
	}
	return text
}

func walkText(c *results.Candidate) string {
	if c.Walk == nil || !c.Walk.OK {
		return "–"
	}
	return figure(c.Walk.DistanceM, 0) + " m"
}

func figure(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	return fmt.Sprintf("%.*f", decimals, v)
}
