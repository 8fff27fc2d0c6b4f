package vector

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"rillwood/raster"
)

// small is a frame of w×h cells of 10 m whose south-west corner is (0, 0).
func small(w, h int) raster.Frame {
	return raster.Frame{W: w, H: h, X0: 0, Y0: 10 * float64(h), Cell: 10}
}

func TestBurnLinesByHand(t *testing.T) {
	f := small(5, 4) // x 0–50, y 0–40; row 0 is y 30–40
	for _, c := range []struct {
		name string
		line orb.Geometry
		want []CellPath
	}{
		{"eastward", orb.LineString{{5, 35}, {45, 35}}, []CellPath{{Cells: []int{0, 1, 2, 3, 4}}}},
		{"northward", orb.LineString{{5, 5}, {5, 35}}, []CellPath{{Cells: []int{15, 10, 5, 0}}}},
		{"diagonal", orb.LineString{{5, 35}, {35, 5}}, []CellPath{{Cells: []int{0, 6, 12, 18}}}},
		// Row 0.1 to 1.5 over columns 0.1 to 4.9: at the middle of column 3 it is at 1.09.
		{"shallow", orb.LineString{{1, 39}, {49, 25}}, []CellPath{{Cells: []int{0, 1, 2, 8, 9}}}},
		{"within a cell", orb.LineString{{1, 31}, {9, 39}}, []CellPath{{Cells: []int{0}}}},
		{"a point", orb.LineString{{1, 31}, {1, 31}}, []CellPath{{Cells: []int{0}}}},
		{"leaves", orb.LineString{{45, 35}, {95, 35}}, []CellPath{{Cells: []int{4}, Leaves: true}}},
		{"enters", orb.LineString{{-95, 35}, {5, 35}}, []CellPath{{Cells: []int{0}, Enters: true}}},
		{"crosses", orb.LineString{{-95, 15}, {95, 15}}, []CellPath{{Cells: []int{10, 11, 12, 13, 14}, Enters: true, Leaves: true}}},
		{"passes by", orb.LineString{{-95, 45}, {95, 45}}, nil},
		{"touches a corner", orb.LineString{{-10, 30}, {10, 50}}, nil},
		{"outer east edge", orb.LineString{{50, 0}, {50, 40}}, nil},
		{"outer west edge", orb.LineString{{0, 40}, {0, 1}}, []CellPath{{Cells: []int{0, 5, 10, 15}}}},
		{"leaves and comes back", orb.LineString{{45, 35}, {60, 35}, {60, 15}, {45, 15}},
			[]CellPath{{Cells: []int{4}, Leaves: true}, {Cells: []int{14}, Enters: true}}},
		{"there and back", orb.LineString{{5, 35}, {15, 35}, {5, 35}}, []CellPath{{Cells: []int{0, 1, 0}}}},
		{"parts", orb.MultiLineString{{{5, 35}, {15, 35}}, {{25, 35}, {25, 25}}},
			[]CellPath{{Cells: []int{0, 1}}, {Part: 1, Cells: []int{2, 7}}}},
		{"empty", orb.LineString{}, nil},
		{"none", nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := BurnLines(f, []orb.Geometry{c.line})
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(c.want, got); d != "" {
				t.Errorf("paths (-want +got):\n%s", d)
			}
		})
	}
	if _, err := BurnLines(f, []orb.Geometry{orb.Point{1, 1}}); err == nil {
		t.Error("a point among the lines: no error")
	}
}

// meets tells whether the segment passes the closed square of a cell, with a
// millionth of slack for rounding.
func meets(f raster.Frame, cell int, a, b orb.Point) bool {
	w, n := f.Corner(float64(cell%f.W), float64(cell/f.W))
	const slack = 1e-6
	// Liang–Barsky against the closed square, a little grown.
	lo := [2]float64{w - slack, n - f.Cell - slack}
	hi := [2]float64{w + f.Cell + slack, n + slack}
	t0, t1 := 0.0, 1.0
	for k := range 2 {
		d := b[k] - a[k]
		if d == 0 {
			if a[k] < lo[k] || a[k] > hi[k] {
				return false
			}
			continue
		}
		u, v := (lo[k]-a[k])/d, (hi[k]-a[k])/d
		t0, t1 = max(t0, min(u, v)), min(t1, max(u, v))
	}
	return t0 <= t1
}

func TestBurnLinesProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := small(rapid.IntRange(1, 20).Draw(t, "w"), rapid.IntRange(1, 20).Draw(t, "h"))
		n := rapid.IntRange(1, 12).Draw(t, "n")
		coord := rapid.OneOf(
			rapid.Float64Range(-150, 350),
			rapid.Custom(func(t *rapid.T) float64 { return 5 * float64(rapid.IntRange(-10, 50).Draw(t, "half cell")) }),
		)
		var line orb.LineString
		for range n {
			line = append(line, orb.Point{coord.Draw(t, "x"), coord.Draw(t, "y")})
		}
		paths, err := BurnLines(f, []orb.Geometry{line})
		if err != nil {
			t.Fatal(err)
		}
		on := map[int]bool{}
		for _, p := range paths {
			if len(p.Cells) == 0 {
				t.Fatal("empty path")
			}
			for i, c := range p.Cells {
				on[c] = true
				if c < 0 || c >= f.Cells() {
					t.Fatalf("cell %d outside the frame", c)
				}
				if i > 0 {
					dx, dy := abs(c%f.W-p.Cells[i-1]%f.W), abs(c/f.W-p.Cells[i-1]/f.W)
					if max(dx, dy) != 1 {
						t.Fatalf("step of %d, %d cells in %v", dx, dy, p.Cells)
					}
				}
				touched := len(line) == 1
				for j := 1; j < len(line) && !touched; j++ {
					touched = meets(f, c, line[j-1], line[j])
				}
				if !touched {
					t.Fatalf("the line does not pass cell %d of %v", c, p.Cells)
				}
			}
		}
		for _, v := range line {
			if x, y, ok := f.At(v[0], v[1]); ok && !on[y*f.W+x] {
				// A vertex on the frame's own west or north edge (but for
				// rounding) that the line only touches from outside is the one
				// exception.
				if v[0] > f.X0+1e-6 && v[1] < f.Y0-1e-6 {
					t.Fatalf("the cell of vertex %v is on no path", v)
				}
			}
		}
		again, _ := BurnLines(f, []orb.Geometry{line})
		if d := cmp.Diff(paths, again); d != "" {
			t.Fatalf("not the same twice:\n%s", d)
		}
	})
}

func TestBurnLinesIsThin(t *testing.T) {
	// A straight line has one cell a column where it is flat, but for its ends.
	r := rand.New(rand.NewPCG(1, 2))
	f := small(200, 200)
	for range 500 {
		a := orb.Point{2000 * r.Float64(), 2000 * r.Float64()}
		b := orb.Point{2000 * r.Float64(), 2000 * r.Float64()}
		paths, err := BurnLines(f, []orb.Geometry{orb.LineString{a, b}})
		if err != nil || len(paths) != 1 {
			t.Fatalf("%d paths, %v", len(paths), err)
		}
		ax, ay, _ := f.At(a[0], a[1])
		bx, by, _ := f.At(b[0], b[1])
		if least := max(abs(ax-bx), abs(ay-by)) + 1; len(paths[0].Cells) > least+2 {
			t.Errorf("%v to %v: %d cells, the shortest way has %d", a, b, len(paths[0].Cells), least)
		}
	}
}

func TestBurnLinesFarAway(t *testing.T) {
	f := small(10, 10)
	for _, far := range []float64{1e9, 1e15, 1e300, math.MaxFloat64, math.Inf(1), math.NaN()} {
		paths, err := BurnLines(f, []orb.Geometry{orb.LineString{{-far, 50}, {far, 50}, {50, far}, {50, 50}}})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range paths {
			for _, c := range p.Cells {
				if c < 0 || c >= 100 {
					t.Errorf("%g: cell %d", far, c)
				}
			}
		}
		if far == 1e9 && (len(paths) != 2 || len(paths[0].Cells) != 10) {
			t.Errorf("%g: paths %v", far, paths)
		}
	}
}

func BenchmarkBurnLines(b *testing.B) {
	r := rand.New(rand.NewPCG(3, 4))
	f := small(4000, 4000)
	line := make(orb.LineString, 500_000)
	p := orb.Point{20000, 20000}
	for i := range line {
		p[0] = min(max(p[0]+40*(r.Float64()-0.5), 0), 39999)
		p[1] = min(max(p[1]+40*(r.Float64()-0.5), 0), 39999)
		line[i] = p
	}
	for b.Loop() {
		if _, err := BurnLines(f, []orb.Geometry{line}); err != nil {
			b.Fatal(err)
		}
	}
}
