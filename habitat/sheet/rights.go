package sheet

import (
	"context"
	"fmt"

	"github.com/paulmach/orb"
)

// hatches are how ground is marked by who may enter, besides a border line: in
// the order they are drawn. Open ground stays clear.
var hatches = []struct{ status, words, lines string }{
	{"open", "open", ""},
	{"permit", "permit", `<path d="M0 12H24" stroke="#444" stroke-width="2.4" stroke-dasharray="4 8"/>`},
	{"private", "private: ask", `<path d="M0 24L24 0" stroke="#444" stroke-width="3"/>`},
	{"closed", "closed", `<path d="M0 24L24 0M0 0L24 24" stroke="#222" stroke-width="3.4"/>`},
}

// rights marks who may enter. Where the run knows nothing of that, nothing is
// drawn and the sheet's words say so.
func (s *sketch) rights(ctx context.Context) error {
	areas, err := s.run.AccessAreas(ctx, s.v.near())
	if err != nil {
		return err
	}
	for _, h := range hatches {
		for _, a := range areas {
			if a.Status != h.status {
				continue
			}
			g, err := s.to.Geometry(a.Shape)
			if err != nil {
				return err
			}
			fill := "none"
			id := fmt.Sprintf("hatch-%d-%s", s.c.Rank, h.status)
			if h.lines != "" {
				fill = "url(#" + id + ")"
			}
			look := `class="right ` + h.status + `" fill="` + fill + `" fill-rule="evenodd" stroke="#333" stroke-width="3" stroke-dasharray="16 5 3 5"`
			area := s.v.area(g.(orb.MultiPolygon), look)
			if area == "" {
				continue
			}
			if h.lines != "" {
				fmt.Fprintf(s, `<defs><pattern id="%s" width="24" height="24" patternUnits="userSpaceOnUse">%s</pattern></defs>`, id, h.lines)
			}
			s.WriteString(area)
			s.key = append(s.key, keyEntry{`<rect x="0" y="-13" width="44" height="26" fill="` + fill + `" stroke="#333" stroke-width="3" stroke-dasharray="16 5 3 5"/>`, 44, h.words})
		}
	}
	return nil
}
