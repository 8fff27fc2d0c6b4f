package vector

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

func TestCutAtAntimeridian(t *testing.T) {
	rect := func(w, s, e, n float64) orb.Ring { return orb.Ring{{w, s}, {e, s}, {e, n}, {w, n}, {w, s}} }
	for _, c := range []struct {
		name    string
		g, want orb.Geometry
	}{
		// RFC 7946 section 3.1.9: both examples.
		{"line of the standard", orb.LineString{{170, 45}, {-170, 45}}, orb.MultiLineString{{{170, 45}, {180, 45}}, {{-180, 45}, {-170, 45}}}},
		{"line that slopes", orb.LineString{{-179, 0}, {179, 2}}, orb.MultiLineString{{{-179, 0}, {-180, 1}}, {{180, 1}, {179, 2}}}},
		{"there and back", orb.LineString{{179, 0}, {-179, 0}, {-179, 1}, {179, 1}}, orb.MultiLineString{{{179, 0}, {180, 0}}, {{-180, 0}, {-179, 0}, {-179, 1}, {-180, 1}}, {{180, 1}, {179, 1}}}},
		{"begins on it", orb.LineString{{180, 0}, {-179, 0}}, orb.LineString{{-180, 0}, {-179, 0}}},
		{"ends on it", orb.LineString{{179, 0}, {-180, 0}}, orb.LineString{{179, 0}, {180, 0}}},
		{"far from it", orb.LineString{{-70, 0}, {70, 0}}, orb.LineString{{-70, 0}, {70, 0}}},
		{"a point", orb.Point{180, 3}, orb.Point{180, 3}},
		{"polygon on one side", orb.Polygon{rect(170, 40, 180, 50)}, orb.Polygon{rect(170, 40, 180, 50)}},
	} {
		got, err := CutAtAntimeridian(c.g)
		if err != nil {
			t.Fatal(err)
		}
		if m, ok := got.(orb.MultiLineString); ok && len(m) == 1 {
			got = m[0]
		}
		if d := cmp.Diff(c.want, got, cmpopts.EquateApprox(0, 1e-9)); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
	}
	for _, c := range []struct {
		name  string
		p     orb.Polygon
		parts int
		area  float64 // square degrees
	}{
		{"polygon of the standard", orb.Polygon{rect(170, 40, -170, 50)}, 2, 200},
		{"with a hole across", orb.Polygon{rect(170, 40, -170, 50), {{178, 43}, {-178, 43}, {-178, 47}, {178, 47}, {178, 43}}}, 2, 184},
		{"with a hole beside", orb.Polygon{rect(170, 40, -170, 50), rect(-176, 43, -174, 47)}, 2, 192},
		{"a comb over it", orb.Polygon{{{179, 0}, {-179, 0}, {-179, 1}, {179.5, 1}, {179.5, 2}, {-179, 2}, {-179, 3}, {179, 3}, {179, 0}}}, 3, 4.5 + 0},
	} {
		got, err := CutAtAntimeridian(c.p)
		if err != nil {
			t.Fatal(err)
		}
		m, ok := got.(orb.MultiPolygon)
		if !ok || len(m) != c.parts {
			t.Errorf("%s: %v, want %d parts", c.name, got, c.parts)
			continue
		}
		sum := 0.0
		for _, p := range m {
			if again, changed, err := mend(p); err != nil || changed || again == nil {
				t.Errorf("%s: part %v is not valid (%v)", c.name, p, err)
			}
			b := p.Bound()
			if b.Min[0] < -180 || b.Max[0] > 180 || b.Max[0]-b.Min[0] > 180 {
				t.Errorf("%s: part from %g to %g", c.name, b.Min[0], b.Max[0])
			}
			sum += math.Abs(planar.Area(p))
		}
		if math.Abs(sum-c.area) > 1e-9 {
			t.Errorf("%s: area %g, want %g", c.name, sum, c.area)
		}
	}
}
