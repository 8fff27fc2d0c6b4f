package chart

import (
	"encoding/xml"
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
	"unicode"
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
	} `xml:"circle"`
	Texts []struct {
		X      float64 `xml:"x,attr"`
		Y      float64 `xml:"y,attr"`
		Anchor string  `xml:"text-anchor,attr"`
		Size   float64 `xml:"font-size,attr"`
		Words  string  `xml:",chardata"`
	} `xml:"text"`
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
	for _, s := range d.Texts {
		inside("text", s.X, s.Y)
		wide := s.Size * wideness(s.Words)
		left := s.X
		switch s.Anchor {
		case "end":
			left -= wide
		case "middle":
			left -= wide / 2
		}
		if left < 0 || left+wide > w {
			t.Errorf("%q runs from %.0f to %.0f of %.0f", s.Words, left, left+wide, w)
		}
		if s.Size < 12 { // 12 of 600 units are 6 pixels on the narrowest phone: common practice, no source
			t.Errorf("%q has letters of %g units", s.Words, s.Size)
		}
	}
	return d
}

// span is a level line: "M190 12H300".
func span(t reporter, d string) (x0, y, x1 float64) {
	t.Helper()
	if _, err := fmt.Sscanf(d, "M%f %fH%f", &x0, &y, &x1); err != nil {
		t.Fatalf("%q is no level line: %v", d, err)
	}
	return x0, y, x1
}

// axis fits the scale of a figure from two of its labels at a height, which
// stand under what they name.
func axis(t reporter, d drawn, y float64, value func(string) float64) func(v float64) float64 {
	t.Helper()
	var xs, vs []float64
	for _, s := range d.Texts {
		if s.Anchor == "middle" && s.Y == y {
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

// wideness is how wide words are in units of their letters' height: digits
// 0.64, marks 0.32, letters 0.62 (DejaVu Sans, a wide face; from memory), the
// letters of East Asia 1.
func wideness(s string) (w float64) {
	for _, r := range s {
		switch {
		case unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Hangul):
			w++
		case strings.ContainsRune(".,:;'|il ", r):
			w += 0.32
		case unicode.IsDigit(r):
			w += 0.64
		default:
			w += 0.62
		}
	}
	return w
}
