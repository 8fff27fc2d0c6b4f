package habitat

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// A projected elevation is a tilted sheet in its frame: streams come in where
// the sheet begins, not at the frame's edge, and what they drain outside must
// not be lost. By hand: a line along row 2 of a 10 × 5 frame.
func TestStreamsComeInWhereTheGroundBegins(t *testing.T) {
	f := raster.Frame{X0: 0, Y0: 50, Cell: 10, W: 10, H: 5}
	line := orb.LineString{{1, 25}, {99, 25}}
	for _, c := range []struct {
		name    string
		line    orb.LineString
		missing []int // columns without elevation
		rises   bool  // the ground rises along the line
		inflows []int // columns
		doors   []int
	}{
		{"full frame, line begins inside", line, nil, false, nil, nil},
		{"ground begins later", line, []int{0, 1}, false, []int{2}, []int{2}},
		{"a gap in the middle", line, []int{5}, false, []int{6}, []int{6}},
		{"drawn against the water, ground ends sooner", line, []int{8, 9}, true, []int{7}, []int{7}},
		{"drawn against the water, ground begins later", line, []int{0, 1}, true, nil, nil},
		{"begins outside of both", orb.LineString{{-20, 25}, {99, 25}}, []int{0}, false, []int{1}, []int{1}},
		{"no ground at all", line, []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, false, nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			height := func(cell int) float64 {
				x := cell % f.W
				if slices.Contains(c.missing, x) {
					return math.NaN()
				}
				if c.rises {
					return 10 * float64(x)
				}
				return -10 * float64(x)
			}
			paths, err := vector.BurnLines(f, []orb.Geometry{c.line})
			if err != nil {
				t.Fatal(err)
			}
			n := &Network{Reaches: []Reach{{AreaKm2: 70}}}
			n.enter(paths, f, height, OrderArea{FirstKm2: 1, Ratio: 4})
			var inflows, doors []int
			for _, in := range n.Inflows {
				if in.Y != 2 || in.Km2 != 70 {
					t.Errorf("inflow %+v, want 70 km² in row 2", in)
				}
				inflows = append(inflows, in.X)
			}
			for _, d := range n.Doors {
				doors = append(doors, d%f.W)
			}
			if !slices.Equal(inflows, c.inflows) || !slices.Equal(doors, c.doors) {
				t.Errorf("inflows in columns %v, doors %v; want %v, %v", inflows, doors, c.inflows, c.doors)
			}
		})
	}
}

// In a layer drawn against the water, level lines are turned round with the
// rest; in a layer drawn with it, they are taken as they are.
func TestLevelLinesGoWithTheirLayer(t *testing.T) {
	f := raster.Frame{X0: 0, Y0: 50, Cell: 10, W: 10, H: 5}
	lines := []orb.Geometry{
		orb.LineString{{1, 5}, {95, 5}},    // steep
		orb.LineString{{1, 45}, {120, 45}}, // level, goes on outside in the east
	}
	paths, err := vector.BurnLines(f, lines)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		slope float64
		want  int
	}{{10, 1}, {-10, 0}} {
		n := &Network{Reaches: []Reach{{AreaKm2: 1}, {AreaKm2: 70}}}
		n.enter(paths, f, func(cell int) float64 {
			if cell/f.W == 0 {
				return 0
			}
			return c.slope * float64(cell%f.W)
		}, OrderArea{})
		if len(n.Inflows) != c.want {
			t.Errorf("slope %g: inflows %+v, want %d", c.slope, n.Inflows, c.want)
		}
	}
}
