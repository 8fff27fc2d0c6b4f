package compare

import (
	"github.com/paulmach/orb"

	"rillwood/habitat/results"
)

// Candidate is one patch of a shortlist, with the figures that are compared.
// Figures that the file does not tell are nil.
type Candidate struct {
	Rank        int      `json:"rank"`
	Score       *float64 `json:"score"`
	AreaHa      *float64 `json:"area_ha"`
	Suitability *float64 `json:"suitability_mean"`
	Bottomland  *float64 `json:"bottomland_mean"`
	Finds       *float64 `json:"expected_finds"`
	Shift       *float64 `json:"evidence_shift"` // mean log-odds by which evidence moves bottomland
	SlopePct    *float64 `json:"slope_pct"`
	Access      string   `json:"access"`
	WalkM       *float64 `json:"walk_m"`
	FirstHost   string   `json:"first_host"`
	Stream      string   `json:"stream"`

	shape orb.MultiPolygon // WGS 84
}

type shortlist struct {
	run        string
	candidates []Candidate
}

// parseShortlist reads a shortlist by rank.
func parseShortlist(data []byte) (shortlist, error) {
	run, patches, err := results.DecodeShortlist(data, Candidate{})
	if err != nil {
		return shortlist{}, err
	}
	out := shortlist{run: run}
	for _, p := range patches {
		c := p.Properties
		c.shape = p.Shape
		out.candidates = append(out.candidates, c)
	}
	return out, nil
}
