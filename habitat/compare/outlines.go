package compare

import (
	"github.com/paulmach/orb"

	"rillwood/vector"
)

// WriteChanges writes the outlines of both lists as GeoJSON (RFC 7946), each
// with what became of its candidate: one feature for an outline of A, one for
// an outline of B.
func (r *Result) WriteChanges(path string) error {
	c := vector.Collection{Members: []vector.Property{
		{Key: "name", Value: "What changed between two runs"},
		{Key: "run_a", Value: r.A.Run},
		{Key: "run_b", Value: r.B.Run},
		{Key: "caution", Value: Caution},
	}}
	for i := range r.Candidates {
		p := &r.Candidates[i]
		for _, side := range []struct {
			name string
			c    *Candidate
		}{{"before", p.Before}, {"after", p.After}} {
			if side.c != nil {
				c.Features = append(c.Features, vector.GeoFeature{ID: len(c.Features) + 1, Geometry: single(side.c.shape), Properties: p.properties(side.name)})
			}
		}
	}
	return vector.WriteGeoJSON(path, c)
}

func single(m orb.MultiPolygon) orb.Geometry {
	if len(m) == 1 {
		return m[0]
	}
	return m
}

func (p *Pair) properties(outline string) []vector.Property {
	because := any(nil) // an empty list beside filled ones makes a common reader crash
	if len(p.Why.Because) > 0 {
		because = p.Why.Because
	}
	out := []vector.Property{
		{Key: "status", Value: string(p.Status)},
		{Key: "outline", Value: outline},
	}
	for _, f := range []struct {
		name string
		of   func(c *Candidate) any
	}{
		{"rank", func(c *Candidate) any { return c.Rank }},
		{"score", func(c *Candidate) any { return plain(c.Score) }},
		{"area_ha", func(c *Candidate) any { return plain(c.AreaHa) }},
		{"suitability", func(c *Candidate) any { return plain(c.Suitability) }},
		{"bottomland", func(c *Candidate) any { return plain(c.Bottomland) }},
		{"expected_finds", func(c *Candidate) any { return plain(c.Finds) }},
		{"access", func(c *Candidate) any {
			if c.Access == "" {
				return nil
			}
			return c.Access
		}},
		{"walk_m", func(c *Candidate) any { return plain(c.WalkM) }},
	} {
		for _, side := range []struct {
			name string
			c    *Candidate
		}{{"_before", p.Before}, {"_after", p.After}} {
			v := any(nil)
			if side.c != nil {
				v = f.of(side.c)
			}
			out = append(out, vector.Property{Key: f.name + side.name, Value: v})
		}
	}
	return append(out,
		vector.Property{Key: "shared_ha", Value: p.SharedHa},
		vector.Property{Key: "moved_by", Value: p.Why.Attribute},
		vector.Property{Key: "because", Value: because},
		vector.Property{Key: "why", Value: p.Why.Text})
}

func plain(v *float64) any {
	if v == nil {
		return nil
	}
	return *v
}
