package results

import (
	"encoding/json"
	"fmt"
	"slices"

	"github.com/paulmach/orb"
)

// Patch is one feature of a shortlist.
type Patch[P any] struct {
	Rank       int
	Shape      orb.MultiPolygon // WGS 84
	Properties P
}

// DecodeShortlist reads a shortlist.geojson (RFC 7946) by rank: polygons in
// longitude and latitude, each with a rank of its own from 1 up. Properties are
// decoded over a copy of blank. run is the run it is of, "" when it does not
// tell.
func DecodeShortlist[P any](data []byte, blank P) (run string, patches []Patch[P], err error) {
	var raw struct {
		Type     string `json:"type"`
		Run      string `json:"run"`
		Features *[]struct {
			Geometry *struct {
				Type        string          `json:"type"`
				Coordinates json.RawMessage `json:"coordinates"`
			} `json:"geometry"`
			Properties json.RawMessage `json:"properties"`
		} `json:"features"`
	}
	if err := json.Unmarshal(data, &raw); err != nil {
		return "", nil, Damaged(data, err)
	}
	if raw.Type != "FeatureCollection" || raw.Features == nil {
		return "", nil, fmt.Errorf("type is %q, want a FeatureCollection with features; give the folder that a run wrote", Clip(raw.Type, 40))
	}
	for i, f := range *raw.Features {
		if f.Geometry == nil || len(f.Properties) == 0 || string(f.Properties) == "null" {
			return "", nil, fmt.Errorf("feature %d has no geometry or no properties; the file is damaged, make the map again", i+1)
		}
		var p struct {
			Rank int `json:"rank"`
		}
		q := blank
		for _, into := range []any{&p, &q} {
			if err := json.Unmarshal(f.Properties, into); err != nil {
				return "", nil, fmt.Errorf("feature %d: %w", i+1, Damaged(f.Properties, err))
			}
		}
		if p.Rank < 1 {
			return "", nil, fmt.Errorf("feature %d has no rank of 1 or more; the file is damaged, make the map again", i+1)
		}
		shape, err := ParseShape(f.Geometry.Type, f.Geometry.Coordinates)
		if err != nil {
			return "", nil, fmt.Errorf("candidate %d: %w; the file is damaged, make the map again", p.Rank, err)
		}
		patches = append(patches, Patch[P]{p.Rank, shape, q})
	}
	slices.SortStableFunc(patches, func(a, b Patch[P]) int { return a.Rank - b.Rank })
	for i := 1; i < len(patches); i++ {
		if patches[i].Rank == patches[i-1].Rank {
			return "", nil, fmt.Errorf("two candidates have rank %d; the file is damaged, make the map again", patches[i].Rank)
		}
	}
	return raw.Run, patches, nil
}
