package habitat

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"rillwood/vector"
)

// safetyLine goes with everything that leaves.
const safetyLine = "A map says where to look, never what is safe to eat."

// writeShortlist writes the candidates as GeoJSON (RFC 7946).
func (p *publication) writeShortlist(path string) error {
	to, err := vector.ToWGS84(p.ground.frame.WKT)
	if err != nil {
		return fmt.Errorf("shortlist: %w", err)
	}
	c := vector.Collection{Members: []vector.Property{
		{Key: "name", Value: p.in.Survey.Name},
		{Key: "software", Value: "Rillwood " + Version},
		{Key: "run", Value: p.id},
		{Key: "caution", Value: safetyLine},
	}}
	for i := range p.short.Candidates {
		f, err := p.feature(&p.short.Candidates[i], to)
		if err != nil {
			return fmt.Errorf("shortlist: candidate %d: %w", i+1, err)
		}
		c.Features = append(c.Features, f)
	}
	return vector.WriteGeoJSON(path, c)
}

func (p *publication) feature(c *Candidate, to *vector.Transformer) (vector.GeoFeature, error) {
	var shape orb.Geometry = c.Shape
	if len(c.Shape) == 1 {
		shape = c.Shape[0]
	}
	shape, err := to.Geometry(orb.Clone(shape))
	if err != nil {
		return vector.GeoFeature{}, err
	}
	mid, err := to.Point(c.Middle)
	if err != nil {
		return vector.GeoFeature{}, err
	}
	var trees []vector.Property
	for _, k := range p.table.any().mainHosts(c.Trees) {
		trees = append(trees, vector.Property{Key: p.table.any().Hosts[k].ID, Value: math.Round(c.Trees[k])})
	}
	text := func(s string) any {
		if s == "" {
			return nil
		}
		return s
	}
	var check any
	if c.Check95 > 0 {
		check = c.Check95
	}
	var order any
	if c.Order > 0 {
		order = c.Order
	}
	return vector.GeoFeature{ID: c.Rank, Geometry: shape, Properties: []vector.Property{
		{Key: "rank", Value: c.Rank},
		{Key: "score", Value: round(c.Score, 4)},
		{Key: "area_ha", Value: round(c.AreaHa, 4)},
		{Key: "suitability_mean", Value: round(c.SMean, 4)},
		{Key: "suitability_max", Value: round(c.SMax, 4)},
		{Key: "bottomland_mean", Value: round(c.BMean, 4)},
		{Key: "expected_finds", Value: round(c.Finds, 3)},
		{Key: "expected_finds_sd", Value: round(c.FindsSD, 3)},
		{Key: "first_host", Value: text(c.FirstHost)},
		{Key: "trees_to_check_95", Value: check},
		{Key: "holds_that_many", Value: c.HoldsCheck},
		{Key: "dead_trees", Value: round(c.Dead, 1)},
		{Key: "trees", Value: trees},
		{Key: "height_m", Value: round(c.HeightM, 2)},
		{Key: "slope_pct", Value: round(c.SlopePct, 2)},
		{Key: "stream", Value: text(c.Stream)},
		{Key: "stream_order", Value: order},
		{Key: "stream_m", Value: round(c.StreamM, 0)},
		{Key: "cover", Value: text(string(c.Cover))},
		{Key: "cover_share", Value: round(c.CoverShare, 2)},
		{Key: "limiting", Value: c.Limit.String()},
		{Key: "outside_drainage_share", Value: round(c.Across, 2)},
		{Key: "access", Value: "not known: ask the owner"},
		{Key: "lon", Value: round(mid[0], 6)},
		{Key: "lat", Value: round(mid[1], 6)},
		{Key: "why", Value: c.Why},
	}}, nil
}

// round keeps so many decimals; NaN stays NaN and is written as null.
func round(v float64, decimals int) float64 {
	p := math.Pow(10, float64(decimals))
	return math.Round(v*p) / p
}
