package habitat

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"rillwood/habitat/approach"
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
		low, high := TreeInterval(c.Trees[k], p.in.Profile.DensityCV, treeCoverage)
		trees = append(trees, vector.Property{Key: p.table.any().Hosts[k].ID, Value: []vector.Property{
			{Key: "expected", Value: math.Round(c.Trees[k])}, {Key: "low", Value: low}, {Key: "high", Value: high}}})
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
	properties := []vector.Property{
		{Key: "rank", Value: c.Rank},
		{Key: "score", Value: round(c.Score, 4)},
		{Key: "area_ha", Value: round(c.AreaHa, 4)},
		{Key: "suitability_mean", Value: round(c.SMean, 4)},
		{Key: "suitability_max", Value: round(c.SMax, 4)},
		{Key: "bottomland_mean", Value: round(c.BMean, 4)},
		{Key: "expected_finds", Value: round(c.Finds, 3)},
		{Key: "expected_finds_sd", Value: round(c.FindsSD, 3)},
		{Key: "expected_finds_low", Value: round(c.FindsLow, 3)},
		{Key: "expected_finds_high", Value: round(c.FindsHigh, 3)},
		{Key: "rank_confidence", Value: round(c.RankShare, 3)},
		{Key: "learning_visit", Value: c.Learning},
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
		{Key: "evidence", Value: listed(c.Evidence)},
		{Key: "evidence_shift", Value: round(c.Shift, 3)},
		{Key: "measured_share", Value: round(c.Measured, 3)},
		{Key: "access", Value: c.Access.String()},
		{Key: "access_note", Value: c.Access.Label()},
		{Key: "land", Value: listed(c.Land)},
		{Key: "lon", Value: round(mid[0], 6)},
		{Key: "lat", Value: round(mid[1], 6)},
		{Key: "why", Value: c.Why},
	}
	if c.Walk != nil {
		walk, err := walkProperties(c.Walk, to)
		if err != nil {
			return vector.GeoFeature{}, err
		}
		properties = append(properties, walk...)
		if c.Walk.OK {
			properties = append(properties, vector.Property{Key: "walk_cautions", Value: listed(c.Walk.Cautions())})
		}
	}
	return vector.GeoFeature{ID: c.Rank, Geometry: shape, Properties: properties}, nil
}

// listed is a list of words, or null when there are none: a list with nothing in
// it beside filled ones makes a widely used reader (fiona 1.9 on GDAL 3.6) crash.
func listed(words []string) any {
	if len(words) == 0 {
		return nil
	}
	return words
}

// walkProperties say how to come to a patch on foot; null where no way is known.
func walkProperties(w *approach.Walk, to *vector.Transformer) ([]vector.Property, error) {
	if !w.OK {
		return []vector.Property{{Key: "walk_note", Value: w.Why}}, nil
	}
	entry, err := to.Point(w.Entry)
	if err != nil {
		return nil, err
	}
	start, err := to.Point(w.StartPoint)
	if err != nil {
		return nil, err
	}
	return []vector.Property{
		{Key: "walk_note", Value: walkWords(w)},
		{Key: "walk_m", Value: round(w.DistanceM, 0)},
		{Key: "walk_path_m", Value: round(w.PathM, 0)},
		{Key: "walk_off_path_m", Value: round(w.StraightM, 0)},
		{Key: "climb_m", Value: round(w.ClimbM, 0)},
		{Key: "descent_m", Value: round(w.DescentM, 0)},
		{Key: "water_crossings", Value: w.Crossings},
		{Key: "start_kind", Value: w.StartKind},
		{Key: "start", Value: w.Start},
		{Key: "start_lon", Value: round(start[0], 6)},
		{Key: "start_lat", Value: round(start[1], 6)},
		{Key: "entry_lon", Value: round(entry[0], 6)},
		{Key: "entry_lat", Value: round(entry[1], 6)},
	}, nil
}

// walkWords tell the way in one sentence.
func walkWords(w *approach.Walk) string {
	from := "the nearest road"
	if w.StartKind == "parking" {
		from = "the parking place"
		if w.Start != "" {
			from = w.Start
		}
	}
	text := fmt.Sprintf("%s from %s", metres(w.DistanceM), from)
	if w.DistanceM < 10 {
		text = "beside " + from
	}
	if w.StraightM >= 10 {
		text += fmt.Sprintf(", the last %s off the path", metres(w.StraightM))
	}
	switch {
	case w.Crossings == 1:
		text += "; crosses one mapped stream with no mapped bridge: turn back where it runs high or is iced over"
	case w.Crossings > 1:
		text += fmt.Sprintf("; crosses mapped streams %d times with no mapped bridge: turn back where they run high or are iced over", w.Crossings)
	}
	return text
}

// treeCoverage is how often the interval of a host's trees is meant to hold
// the true number.
const treeCoverage = 0.9

// round keeps so many decimals; NaN stays NaN and is written as null.
func round(v float64, decimals int) float64 {
	p := math.Pow(10, float64(decimals))
	return math.Round(v*p) / p
}

// writeWays writes the walk to each candidate as GeoJSON lines, from where a
// car may stand to the patch.
func (p *publication) writeWays(path string) error {
	to, err := vector.ToWGS84(p.ground.frame.WKT)
	if err != nil {
		return fmt.Errorf("ways: %w", err)
	}
	c := vector.Collection{Members: []vector.Property{
		{Key: "name", Value: p.in.Survey.Name + ": ways in"},
		{Key: "software", Value: "Rillwood " + Version},
		{Key: "run", Value: p.id},
		{Key: "caution", Value: "Drawn on mapped data: gates, floods, ice and leave to enter are not known."},
	}}
	for i := range p.short.Candidates {
		w := p.short.Candidates[i].Walk
		if w == nil || !w.OK || len(w.Line) < 2 {
			continue
		}
		line, err := to.Geometry(orb.Clone(w.Line))
		if err != nil {
			return fmt.Errorf("ways: candidate %d: %w", i+1, err)
		}
		walk, err := walkProperties(w, to)
		if err != nil {
			return fmt.Errorf("ways: candidate %d: %w", i+1, err)
		}
		c.Features = append(c.Features, vector.GeoFeature{ID: i + 1, Geometry: line,
			Properties: append(append([]vector.Property{{Key: "rank", Value: i + 1}}, walk...), vector.Property{Key: "cautions", Value: w.Cautions()})})
	}
	return vector.WriteGeoJSON(path, c)
}
