package compare

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"github.com/paulmach/orb"
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

type rawFeature struct {
	Geometry *struct {
		Type        string          `json:"type"`
		Coordinates json.RawMessage `json:"coordinates"`
	} `json:"geometry"`
	Properties *Candidate `json:"properties"`
}

// parseShortlist reads the GeoJSON (RFC 7946) of a shortlist, by rank.
func parseShortlist(data []byte) (shortlist, error) {
	var raw struct {
		Type     string        `json:"type"`
		Run      string        `json:"run"`
		Features *[]rawFeature `json:"features"`
	}
	if err := json.Unmarshal(data, &raw); err != nil {
		return shortlist{}, damaged(data, err)
	}
	if raw.Type != "FeatureCollection" || raw.Features == nil {
		return shortlist{}, fmt.Errorf("type is %q, want a FeatureCollection with features; give the folder that a run wrote", clip(raw.Type, 40))
	}
	out := shortlist{run: raw.Run}
	for i, f := range *raw.Features {
		if f.Properties == nil || f.Geometry == nil {
			return shortlist{}, fmt.Errorf("feature %d has no geometry or no properties; the file is damaged, make the map again", i+1)
		}
		c := *f.Properties
		if c.Rank < 1 {
			return shortlist{}, fmt.Errorf("feature %d has no rank of 1 or more; the file is damaged, make the map again", i+1)
		}
		var err error
		if c.shape, err = parseShape(f.Geometry.Type, f.Geometry.Coordinates); err != nil {
			return shortlist{}, fmt.Errorf("candidate %d: %w; the file is damaged, make the map again", c.Rank, err)
		}
		out.candidates = append(out.candidates, c)
	}
	slices.SortStableFunc(out.candidates, func(a, b Candidate) int { return a.Rank - b.Rank })
	for i := 1; i < len(out.candidates); i++ {
		if out.candidates[i].Rank == out.candidates[i-1].Rank {
			return shortlist{}, fmt.Errorf("two candidates have rank %d; the file is damaged, make the map again", out.candidates[i].Rank)
		}
	}
	return out, nil
}

func parseShape(kind string, data json.RawMessage) (orb.MultiPolygon, error) {
	var parts [][][][]float64
	switch kind {
	case "Polygon":
		parts = make([][][][]float64, 1)
		if json.Unmarshal(data, &parts[0]) != nil {
			return nil, errors.New("coordinates are no polygon")
		}
	case "MultiPolygon":
		if json.Unmarshal(data, &parts) != nil {
			return nil, errors.New("coordinates are no polygons")
		}
	default:
		return nil, fmt.Errorf("geometry is %q, want a Polygon or MultiPolygon", clip(kind, 40))
	}
	var out orb.MultiPolygon
	for _, part := range parts {
		var poly orb.Polygon
		for _, ring := range part {
			if len(ring) < 4 {
				return nil, fmt.Errorf("a ring has %d positions, want 4 or more", len(ring))
			}
			r := make(orb.Ring, len(ring))
			for i, p := range ring {
				if len(p) < 2 || p[0] < -180 || p[0] > 180 || p[1] < -90 || p[1] > 90 {
					return nil, fmt.Errorf("a position is %v, want longitude and latitude", p)
				}
				r[i] = orb.Point{p[0], p[1]}
			}
			if r[0] != r[len(r)-1] {
				return nil, errors.New("a ring is not closed")
			}
			poly = append(poly, r)
		}
		if len(poly) == 0 {
			return nil, errors.New("a polygon has no ring")
		}
		out = append(out, poly)
	}
	if len(out) == 0 {
		return nil, errors.New("there is no polygon")
	}
	return out, nil
}
