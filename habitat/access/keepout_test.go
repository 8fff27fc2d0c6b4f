package access

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

func keepOut(t testing.TB, f raster.Frame, barriers ...Barrier) (*KeepOut, []string) {
	t.Helper()
	k, warnings, err := ReadKeepOut(context.Background(), barriers, f, nil, 2)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(k.Close)
	return k, warnings
}

func TestKeepOutByHand(t *testing.T) {
	f := frame(t, 7, 3)
	rail := layer(t, "LineString", "railway", row{shift(orb.LineString{{15, 0}, {15, 40}}), []any{"rail"}})
	dump := layer(t, "Polygon", "landuse", row{box(40, 0, 50, 10), []any{"landfill"}})
	wells := layer(t, "Point", "kind", row{shift(orb.Point{5, 25}), []any{"well"}}, row{shift(orb.Point{75, 15}), []any{"well"}})
	for _, c := range []struct {
		name     string
		barriers []Barrier
		want     string
		reasons  []string
		cells    []int64
	}{
		{"the limit counts", []Barrier{{from(rail), 10, "railway"}},
			"111..../111..../111....", []string{"railway"}, []int64{9}},
		{"short of the limit", []Barrier{{from(rail), 9.99, "railway"}},
			".1...../.1...../.1.....", []string{"railway"}, []int64{3}},
		// The dump's middle is the centre of column 4: centres 5 and 15 m off its
		// side on the lower rows, 15 m above and 5 m aside (15.8 m) on the upper one.
		{"the first wins", []Barrier{{from(rail), 10, "railway"}, {from(dump), 20, "landfill"}},
			"111222./1112222/1112222", []string{"railway", "landfill"}, []int64{9, 11}},
		{"the first wins, turned about", []Barrier{{from(dump), 20, "landfill"}, {from(rail), 10, "railway"}},
			"222111./2211111/2211111", []string{"landfill", "railway"}, []int64{13, 7}},
		{"one reason twice, another between", []Barrier{{from(dump), 0, "closed"}, {from(rail), 10, "railway"}, {from(dump), 20, "closed"}},
			"222111./2221111/2221111", []string{"closed", "railway"}, []int64{11, 9}},
		// The second well stands 5 m outside the frame.
		{"from outside the frame", []Barrier{{from(wells), 10, "well"}},
			"11...../1.....1/.......", []string{"well"}, []int64{4}},
		{"points at 0", []Barrier{{from(wells), 0, "well"}},
			"1....../......./.......", []string{"well"}, []int64{1}},
		{"a filter", []Barrier{{vector.Query{Path: dump, Where: `"landuse" IN ('landfill')`}, 0, "landfill"}},
			"......./......./....1..", []string{"landfill"}, []int64{1}},
		{"none", nil, "......./......./.......", nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			k, warnings := keepOut(t, f, c.barriers...)
			if got := drawn(t, k.Plane); got != c.want {
				t.Errorf("plane %s, want %s", got, c.want)
			}
			if d := cmp.Diff(c.reasons, k.Reasons); d != "" {
				t.Errorf("reasons (-want +got):\n%s", d)
			}
			if d := cmp.Diff(c.cells, k.Cells); d != "" {
				t.Errorf("cells (-want +got):\n%s", d)
			}
			if warnings != nil {
				t.Errorf("warnings: %q", warnings)
			}
		})
	}
}

func TestKeepOutAddCells(t *testing.T) {
	f := frame(t, 7, 3)
	rail := layer(t, "LineString", "railway", row{shift(orb.LineString{{15, 0}, {15, 40}}), []any{"rail"}})
	crops := raster.PlaneOf(7, 3, []uint8{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0})
	for _, c := range []struct {
		dist  float64
		want  string
		cells []int64
	}{
		{0, "111..../1112.../111....", []int64{9, 1}},
		{9.9, "111..../1112.../111....", []int64{9, 1}},
		{10, "1112.../11122../1112...", []int64{9, 4}},
		{10 * math.Sqrt2, "11122../11122../11122..", []int64{9, 6}},
	} {
		k, _ := keepOut(t, f, Barrier{from(rail), 10, "railway"})
		if err := k.AddCells(context.Background(), crops, c.dist, "ploughed field"); err != nil {
			t.Fatal(err)
		}
		if got := drawn(t, k.Plane); got != c.want {
			t.Errorf("within %g m: plane %s, want %s", c.dist, got, c.want)
		}
		if d := cmp.Diff(c.cells, k.Cells); d != "" {
			t.Errorf("within %g m: cells (-want +got):\n%s", c.dist, d)
		}
		if d := cmp.Diff([]string{"railway", "ploughed field"}, k.Reasons); d != "" {
			t.Errorf("reasons (-want +got):\n%s", d)
		}
	}
	// A cell whose side is no short binary fraction: three cells are still within
	// three cells' distance.
	f.Cell, f.W, f.H = 28.35, 9, 1
	k, _ := keepOut(t, f)
	if err := k.AddCells(context.Background(), raster.PlaneOf(9, 1, []uint8{0, 0, 0, 0, 1, 0, 0, 0, 0}), 3*28.35, "field"); err != nil {
		t.Fatal(err)
	}
	if got := drawn(t, k.Plane); got != ".1111111." {
		t.Errorf("plane %s", got)
	}
}

// Every cell against every marked one, in scratch files too.
func TestKeepOutAddCellsAgainstPlainLoop(t *testing.T) {
	scratch, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer scratch.Close()
	r := newRand(7)
	f := frame(t, 37, 29)
	for i := range 30 {
		cells := make([]uint8, f.Cells())
		var marked []int
		for range r.IntN(12) {
			c := r.IntN(len(cells))
			cells[c] = 1
			marked = append(marked, c)
		}
		dist := float64(r.IntN(80))
		k, _, err := ReadKeepOut(context.Background(), nil, f, scratch, 1+i%3)
		if err != nil {
			t.Fatal(err)
		}
		if err := k.AddCells(context.Background(), raster.PlaneOf(f.W, f.H, cells), dist, "field"); err != nil {
			t.Fatal(err)
		}
		got := strings.ReplaceAll(drawn(t, k.Plane), "/", "")
		total := int64(0)
		for c := range cells {
			want := byte('.')
			for _, m := range marked {
				dx, dy := c%f.W-m%f.W, c/f.W-m/f.W
				if float64(100*(dx*dx+dy*dy)) <= dist*dist {
					want = '1'
				}
			}
			if want == '1' {
				total++
			}
			if got[c] != want {
				t.Fatalf("case %d, within %g m: cell %d is %c, want %c", i, dist, c, got[c], want)
			}
		}
		if k.Cells[0] != total {
			t.Errorf("case %d: %d cells, want %d", i, k.Cells[0], total)
		}
		k.Close()
	}
}

func TestKeepOutIsDeterministic(t *testing.T) {
	f := frame(t, 80, 60)
	r := newRand(8)
	var barriers []Barrier
	for i := range 6 {
		var rows []row
		for range 10 {
			rows = append(rows, row{shift(orb.LineString{{800 * r.Float64(), 600 * r.Float64()}, {800 * r.Float64(), 600 * r.Float64()}}), []any{"x"}})
		}
		barriers = append(barriers, Barrier{from(layer(t, "LineString", "name", rows...)), 5 + 4*float64(i), fmt.Sprint("reason ", i%4)})
	}
	scratch, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer scratch.Close()
	want, _ := keepOut(t, f, barriers...)
	for _, workers := range []int{1, 4} {
		got, _, err := ReadKeepOut(context.Background(), barriers, f, scratch, workers)
		if err != nil {
			t.Fatal(err)
		}
		if drawn(t, got.Plane) != drawn(t, want.Plane) || !slices.Equal(got.Cells, want.Cells) || !slices.Equal(got.Reasons, want.Reasons) {
			t.Errorf("%d workers: another keep-out", workers)
		}
		got.Close()
	}
}
