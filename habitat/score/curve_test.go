package score

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func TestCurveIsDrawn(t *testing.T) {
	r := &Report{What: `trees <&> "finds"`, Maps: []Scored{
		{Name: "map", Blocked: Scores{Bins: []Bin{{Said: 0.1, Seen: 0.2, Low: 0.05, High: 0.5, Of: 20}, {Said: 0.4, Seen: 0.35, Low: 0.2, High: 0.6, Of: 40}}}},
		{Name: "naive", Naive: true},
	}}
	svg, ok := r.Curve()
	if !ok {
		t.Fatal("nothing drawn")
	}
	d := xml.NewDecoder(strings.NewReader(string(svg)))
	circles, text := 0, ""
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v\n%s", err, svg)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			if tok.Name.Local == "circle" {
				circles++
			}
		case xml.CharData:
			text += string(tok)
		}
	}
	if circles != 2 || !strings.Contains(text, `trees <&> "finds"`) {
		t.Errorf("%d circles, text %q", circles, text)
	}
	// The axes end at 1.05 · 0.6 = 0.63, so the slanted line has the corners of the
	// plot; the first point lies at 0.1 and 0.2 of them.
	var x0, y0, x1, y1 float64
	line := regexp.MustCompile(`d="M([0-9.]+) ([0-9.]+)L([0-9.]+) ([0-9.]+)"[^>]*stroke-dasharray="6 4"`).FindStringSubmatch(string(svg))
	if line == nil {
		t.Fatalf("no slanted line in\n%s", svg)
	}
	for i, to := range []*float64{&x0, &y0, &x1, &y1} {
		*to, _ = strconv.ParseFloat(line[1+i], 64)
	}
	first := regexp.MustCompile(`<circle[^>]* cx="([0-9.]+)" cy="([0-9.]+)"`).FindStringSubmatch(string(svg))
	cx, _ := strconv.ParseFloat(first[1], 64)
	cy, _ := strconv.ParseFloat(first[2], 64)
	if wx, wy := x0+0.1/0.63*(x1-x0), y0+0.2/0.63*(y1-y0); math.Abs(cx-wx) > 0.1 || math.Abs(cy-wy) > 0.1 {
		t.Errorf("the first point is at %g, %g, want %g, %g", cx, cy, wx, wy)
	}
	if strings.Contains(string(svg), "var(") || strings.Contains(string(svg), "<table") || !strings.Contains(string(svg), `fill="#ffffff"`) {
		t.Errorf("no file of its own: %s", svg)
	}
	plot, _ := r.Plot()
	if !strings.Contains(string(plot), "var(--mark") || !strings.Contains(string(plot), "<table") {
		t.Error("the figure of a page has no colours of the page, or no table")
	}
	if _, ok := (&Report{}).Curve(); ok {
		t.Error("a curve of nothing")
	}
}
