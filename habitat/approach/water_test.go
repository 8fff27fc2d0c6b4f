package approach

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

func TestBlockedByHand(t *testing.T) {
	// Cells of 10 m from (0, 50) eastwards and southwards.
	rows := []string{
		"......",
		".W....",
		"..W...",
		"....C.",
		"......",
	}
	w := &WaterPlane{Frame: raster.Frame{W: 6, H: 5, X0: 0, Y0: 50, Cell: 10}, Cell: func(x, y int) uint8 {
		return map[byte]uint8{'.': 0, 'W': WaterBit, 'C': ClosedBit}[rows[y][x]]
	}}
	for _, c := range []struct {
		name          string
		a, b          orb.Point
		water, closed bool
	}{
		{"dry", orb.Point{5, 45}, orb.Point{55, 45}, false, false},
		{"through", orb.Point{5, 35}, orb.Point{55, 35}, true, false},
		{"closed", orb.Point{45, 45}, orb.Point{45, 5}, false, true},
		{"between two that meet at a corner", orb.Point{15, 25}, orb.Point{25, 35}, true, false},
		{"a clipped corner", orb.Point{9, 31}, orb.Point{11, 29}, true, false},
		{"along an edge", orb.Point{0, 40}, orb.Point{60, 40}, true, false},
		{"from a corner of water, away", orb.Point{10, 40}, orb.Point{0, 50}, false, false},
		{"from a corner of water, into it", orb.Point{10, 40}, orb.Point{15, 35}, true, false},
		{"to the edge of water", orb.Point{15, 48}, orb.Point{15, 40}, false, false},
		{"over the edge of the map", orb.Point{55, 45}, orb.Point{155, 145}, false, false},
		{"no length, wet", orb.Point{15, 35}, orb.Point{15, 35}, true, false},
		{"no length, dry", orb.Point{5, 35}, orb.Point{5, 35}, false, false},
		{"nowhere", orb.Point{math.NaN(), 35}, orb.Point{5, 35}, true, false},
	} {
		for _, way := range [][2]orb.Point{{c.a, c.b}, {c.b, c.a}} {
			if water, closed := w.Blocked(way[0], way[1]); water != c.water || closed != c.closed {
				t.Errorf("%s, %v: water %t, closed %t, want %t, %t", c.name, way, water, closed, c.water, c.closed)
			}
		}
	}
	w.Beyond = WaterBit
	if water, _ := w.Blocked(orb.Point{55, 45}, orb.Point{65, 45}); !water {
		t.Error("what lies beyond the map is not asked")
	}
}

// The cells a leg asks, held against whole-number geometry: legs between points
// of a lattice that is finer than the cells, so that many pass through corners
// and along edges.
func TestCellsOfALeg(t *testing.T) {
	const cells, fine, trim = 12, 4, 1_000_000
	r := rand.New(rand.NewPCG(25, 26))
	corners := 0
	for range 4000 {
		at := func() [2]int64 { return [2]int64{int64(r.IntN(cells*fine + 1)), int64(r.IntN(cells*fine + 1))} }
		a, b := at(), at()
		if r.IntN(3) == 0 {
			b[r.IntN(2)] = a[0]
		}
		if a == b {
			continue
		}
		// Ends drawn in by a millionth, all in whole numbers.
		var p, q [2]int64
		for k := range 2 {
			p[k] = a[k]*trim + (b[k] - a[k])
			q[k] = b[k]*trim - (b[k] - a[k])
		}
		var want []int
		for y := int64(0); y < cells; y++ {
			for x := int64(0); x < cells; x++ {
				lo, hi := [2]int64{x * fine * trim, y * fine * trim}, [2]int64{(x + 1) * fine * trim, (y + 1) * fine * trim}
				if max(p[0], q[0]) < lo[0] || min(p[0], q[0]) > hi[0] || max(p[1], q[1]) < lo[1] || min(p[1], q[1]) > hi[1] {
					continue
				}
				left, right, on := 0, 0, 0
				for _, c := range [][2]int64{lo, {hi[0], lo[1]}, hi, {lo[0], hi[1]}} {
					switch s := (q[0]-p[0])*(c[1]-p[1]) - (q[1]-p[1])*(c[0]-p[0]); {
					case s > 0:
						left++
					case s < 0:
						right++
					default:
						on++
					}
				}
				if left == 4 || right == 4 {
					continue
				}
				if on == 1 && (left == 3 || right == 3) {
					corners++
				}
				want = append(want, int(y)*cells+int(x))
			}
		}
		var got []int
		w := &WaterPlane{Frame: raster.Frame{W: cells, H: cells, X0: 0, Y0: cells, Cell: 1}, Cell: func(x, y int) uint8 {
			got = append(got, y*cells+x)
			return 0
		}}
		w.Blocked(orb.Point{float64(a[0]) / fine, cells - float64(a[1])/fine}, orb.Point{float64(b[0]) / fine, cells - float64(b[1])/fine})
		sorted := slices.Compact(slices.Sorted(slices.Values(got)))
		if !slices.Equal(sorted, want) {
			t.Fatalf("from %v to %v (quarters of a cell): cells %v, want %v", a, b, sorted, want)
		}
		// From a towards b: no cell comes before one that is nearer to a by two
		// cells, but along an edge, where one row comes after the other.
		for i := 1; i < len(got) && a[1] != b[1]; i++ {
			far := func(c int) float64 {
				return math.Hypot(float64(c%cells)+0.5-float64(a[0])/fine, float64(c/cells)+0.5-float64(a[1])/fine)
			}
			if far(got[i]) < far(got[i-1])-2 {
				t.Fatalf("from %v to %v: cell %d asked after %d", a, b, got[i], got[i-1])
			}
		}
	}
	if corners < 500 {
		t.Errorf("only %d corners passed: the test is not sharp", corners)
	}
}
