package score

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
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
	// The axes end at 1.05 · 0.6; the first point lies at 0.1 of 0.63.
	if want := fmt.Sprintf(`cx="%.1f" cy="%.1f"`, curveMargin+0.1/0.63*curveSide, curveMargin/2+(1-0.2/0.63)*curveSide); !strings.Contains(string(svg), want) {
		t.Errorf("no point at %s in\n%s", want, svg)
	}
	if _, ok := (&Report{}).Curve(); ok {
		t.Error("a curve of nothing")
	}
}
