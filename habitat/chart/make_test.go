package chart

import (
	"encoding/xml"
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
)

// drawn is a figure as a reader of SVG sees it.
type drawn struct {
	Role    string `xml:"role,attr"`
	Label   string `xml:"aria-label,attr"`
	ViewBox string `xml:"viewBox,attr"`
	Title   string `xml:"title"`
	Desc    string `xml:"desc"`
	Rects   []struct {
		Class  string  `xml:"class,attr"`
		X      float64 `xml:"x,attr"`
		Y      float64 `xml:"y,attr"`
		Width  float64 `xml:"width,attr"`
		Height float64 `xml:"height,attr"`
		Fill   string  `xml:"fill,attr"`
		Title  string  `xml:"title"`
	} `xml:"rect"`
	Paths []struct {
		Class  string `xml:"class,attr"`
		D      string `xml:"d,attr"`
		Stroke string `xml:"stroke,attr"`
		Dashes string `xml:"stroke-dasharray,attr"`
	} `xml:"path"`
	Circles []struct {
		Class string  `xml:"class,attr"`
		X     float64 `xml:"cx,attr"`
		Y     float64 `xml:"cy,attr"`
		R     float64 `xml:"r,attr"`
		Title string  `xml:"title"`
	} `xml:"circle"`
	Texts []struct {
		X      float64 `xml:"x,attr"`
		Y      float64 `xml:"y,attr"`
		Anchor string  `xml:"text-anchor,attr"`
		Size   float64 `xml:"font-size,attr"`
		Turned string  `xml:"transform,attr"`
		Words  string  `xml:",chardata"`
	} `xml:"text"`
	Table   [][]string `xml:"-"` // heads, then rows; nil = none
	Strange []struct {
		XMLName xml.Name
	} `xml:",any"`
}

// reporter is a test or a property.
type reporter interface {
	Helper()
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

// parsed reads a figure, and demands of it what every one has: a role, its
// message in words, finite numbers, nothing outside its box, nothing strange.
func parsed(t reporter, svg template.HTML) (d drawn) {
	t.Helper()
	if err := xml.Unmarshal([]byte(svg), &d); err != nil {
		t.Fatalf("no XML: %v\n%s", err, svg)
	}
	if d.Role != "img" || d.Title == "" || d.Desc == "" || d.Label != d.Title+". "+d.Desc {
		t.Errorf("role %q, title %q, desc %q, label %q", d.Role, d.Title, d.Desc, d.Label)
	}
	if len(d.Strange) > 0 {
		t.Errorf("elements that no figure has: %v", d.Strange)
	}
	for _, bad := range []string{"NaN", "Inf", "%!"} {
		if strings.Contains(string(svg), bad) {
			t.Errorf("the figure holds %q", bad)
		}
	}
	var x, y, w, h float64
	if _, err := fmt.Sscan(d.ViewBox, &x, &y, &w, &h); err != nil || x != 0 || y != 0 || !(w > 0 && h > 0) {
		t.Fatalf("viewBox %q: %v", d.ViewBox, err)
	}
	inside := func(what string, px, py float64) {
		if !(px >= 0 && px <= w && py >= 0 && py <= h) {
			t.Errorf("%s at %g, %g lies outside %g × %g", what, px, py, w, h)
		}
	}
	for _, r := range d.Rects {
		inside("bar", r.X, r.Y)
		inside("bar", r.X+r.Width, r.Y+r.Height)
		if r.Width < 0 || r.Height < 0 {
			t.Errorf("bar of %g × %g", r.Width, r.Height)
		}
	}
	for _, c := range d.Circles {
		inside("mark", c.X, c.Y)
	}
	var boxes [][4]float64
	for i, s := range d.Texts {
		if s.Size < 13 { // 13 of 360 units are 10 pixels on the narrowest phone: common practice, no source
			t.Errorf("%q has letters of %g units", s.Words, s.Size)
		}
		wide := s.Size * wideness(s.Words)
		x, y, right, up := s.X, s.Y, wide, s.Size*0.75
		switch s.Anchor {
		case "end":
			x -= wide
		case "middle":
			x -= wide / 2
		}
		box := [4]float64{x, y - up, x + right, y}
		if s.Turned != "" { // a quarter to the left, about its middle
			var mx, my float64
			if _, err := fmt.Sscanf(s.Turned, "translate(%f %f) rotate(-90)", &mx, &my); err != nil || s.Anchor != "middle" {
				t.Fatalf("%q is turned by %q", s.Words, s.Turned)
			}
			box = [4]float64{mx - up, my - wide/2, mx, my + wide/2}
		}
		inside(fmt.Sprintf("%q", s.Words), box[0], box[1])
		inside(fmt.Sprintf("%q", s.Words), box[2], box[3])
		for k, o := range boxes {
			if box[0] < o[2] && o[0] < box[2] && box[1] < o[3] && o[1] < box[3] {
				t.Errorf("%q lies over %q: %.0f, %.0f", s.Words, d.Texts[k].Words, box, o)
			}
		}
		boxes = append(boxes[:i], box)
	}
	d.Table = tabled(t, string(svg))
	return d
}

// level is a level line: "M190 12H300".
func level(t reporter, d string) (x0, y, x1 float64) {
	t.Helper()
	scan(t, d, "M%f %fH%f", &x0, &y, &x1)
	return x0, y, x1
}

func scan(t reporter, d, form string, to ...any) {
	t.Helper()
	if _, err := fmt.Sscanf(d, form, to...); err != nil {
		t.Fatalf("%q is no line %q: %v", d, form, err)
	}
}

// axis fits the scale of a figure from two of its labels at a height, which
// stand under what they name.
func axis(t reporter, d drawn, y float64, value func(string) float64) func(v float64) float64 {
	t.Helper()
	var xs, vs []float64
	for _, s := range d.Texts {
		if s.Anchor == "middle" && near(s.Y, y, 0.05) && s.Turned == "" {
			xs, vs = append(xs, s.X), append(vs, value(s.Words))
		}
	}
	if len(xs) < 2 || len(xs) > 6 {
		t.Fatalf("%d labels at height %g", len(xs), y)
	}
	n := len(xs) - 1
	for i := range xs { // all of them, not only the ends
		if want := xs[0] + (vs[i]-vs[0])/(vs[n]-vs[0])*(xs[n]-xs[0]); !near(xs[i], want, 0.11) {
			t.Errorf("%g stands at %g, want %g", vs[i], xs[i], want)
		}
	}
	return func(v float64) float64 { return xs[0] + (v-vs[0])/(vs[n]-vs[0])*(xs[n]-xs[0]) }
}

func plainNumber(t reporter) func(string) float64 {
	return func(s string) float64 {
		v, err := strconv.ParseFloat(strings.TrimSuffix(strings.ReplaceAll(s, ",", ""), " %"), 64)
		if err != nil {
			t.Fatalf("%v", err)
		}
		if strings.HasSuffix(s, " %") {
			v /= 100
		}
		return v
	}
}

func near(a, b, by float64) bool { return math.Abs(a-b) <= by }

// tabled reads the table below a figure, and demands heads for every column
// and names for every row.
func tabled(t reporter, figure string) (cells [][]string) {
	t.Helper()
	_, rest, _ := strings.Cut(figure, "</svg>")
	if strings.TrimSpace(rest) == "" {
		return nil
	}
	var d struct {
		XMLName xml.Name
		Summary string `xml:"summary"`
		Box     struct {
			Label string `xml:"aria-label,attr"`
			Heads []struct {
				Scope string `xml:"scope,attr"`
				Words string `xml:",chardata"`
			} `xml:"table>thead>tr>th"`
			Rows []struct {
				Name struct {
					Scope string `xml:"scope,attr"`
					Words string `xml:",chardata"`
				} `xml:"th"`
				Cells   []string `xml:"td"`
				Strange []struct {
					XMLName xml.Name
				} `xml:",any"`
			} `xml:"table>tbody>tr"`
		} `xml:"div"`
	}
	if err := xml.Unmarshal([]byte(rest), &d); err != nil {
		t.Fatalf("the table is no XML: %v\n%s", err, rest)
	}
	if d.XMLName.Local != "details" || d.Summary == "" || d.Box.Label == "" {
		t.Errorf("%s with summary %q, label %q", d.XMLName.Local, d.Summary, d.Box.Label)
	}
	var heads []string
	for _, h := range d.Box.Heads {
		if h.Scope != "col" {
			t.Errorf("head %q has scope %q", h.Words, h.Scope)
		}
		heads = append(heads, h.Words)
	}
	cells = append(cells, heads)
	for _, r := range d.Box.Rows {
		row := append([]string{r.Name.Words}, r.Cells...)
		if r.Name.Scope != "row" || len(row) != len(heads) || len(r.Strange) > 0 {
			t.Errorf("row %q of %d columns, scope %q, strange %v", row, len(heads), r.Name.Scope, r.Strange)
		}
		cells = append(cells, row)
	}
	return cells
}
