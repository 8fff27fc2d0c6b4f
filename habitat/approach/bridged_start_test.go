package approach

import (
	"testing"

	"github.com/paulmach/orb"
)

// A brook at x = 500.3 under a bridge from x = 480 to 520, with ways on either
// side; patches lie on the way to the east. See link for the rule.
func TestLinksToBridgesCrossNoStream(t *testing.T) {
	brook := orb.LineString{{500.3, -2000}, {500.3, 2000}}
	long := []Way{{Line: orb.LineString{{0, 0}, {440, 0}}, Kind: Road}, {Line: orb.LineString{{440, 0}, {490, 0}, {560, 0}}, Kind: Road, Bridge: true}, {Line: orb.LineString{{560, 0}, {1000, 0}}, Kind: Road}}
	short := func(k Kind) []Way {
		return []Way{{Line: orb.LineString{{0, 0}, {480, 0}}, Kind: k}, {Line: orb.LineString{{480, 0}, {520, 0}}, Kind: k, Bridge: true}, {Line: orb.LineString{{520, 0}, {1000, 0}}, Kind: k}}
	}
	for _, c := range []struct {
		name      string
		ways      []Way
		start     orb.Point
		crossings int
	}{
		{"on a road bridge, a metre from the brook", short(Road), orb.Point{499.3, 0}, 0},
		{"beside it", short(Road), orb.Point{499.3, 3}, 0},
		{"beside a footbridge", short(Path), orb.Point{499.3, 3}, 0},
		{"a vertex of a long road bridge", long, orb.Point{490, 0}, 0},
		{"a road without a bridge tag", []Way{{Line: orb.LineString{{501, -500}, {501, 0}, {1000, 0}}, Kind: Road}}, orb.Point{490, -100}, 0},
		{"a path", []Way{{Line: orb.LineString{{501, -500}, {501, 0}, {1000, 0}}}}, orb.Point{490, -100}, 1},
		{"a road farther off", []Way{{Line: orb.LineString{{531, -500}, {531, 0}, {1000, 0}}, Kind: Road}}, orb.Point{490, -100}, 1},
		{"under a long bridge, not on it", long, orb.Point{500.2, 31}, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			n, _ := build(t, c.ways, []Start{{Point: c.start}}, meadow(brook), Options{})
			w := n.To(at(900, 0))
			if !w.OK || w.Crossings != c.crossings {
				t.Errorf("%d crossings, want %d: %+v", w.Crossings, c.crossings, w)
			}
			sound(t, n, w)
		})
	}
}
