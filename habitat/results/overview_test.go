package results

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

func overview(t testing.TB, r *Run, side int) *Ground {
	t.Helper()
	g, err := r.Overview(context.Background(), side)
	if err != nil {
		t.Fatal(err)
	}
	if len(g.Suitability) != g.W*g.H || g.Relief != nil && len(g.Relief) != g.W*g.H {
		t.Fatalf("%d × %d cells, %d of suitability, %d of relief", g.W, g.H, len(g.Suitability), len(g.Relief))
	}
	return g
}

// Cells are square, the longer side has what was asked for, and what is
// bright on the ground is bright at the place that PROJ says.
func TestOverviewLiesWhereItShould(t *testing.T) {
	lit := func(x, y int) bool { return x >= 200 && x < 240 && y >= 100 && y < 120 }
	dir := made{w: 300, h: 150,
		suitability: func(x, y int) float32 {
			if lit(x, y) {
				return 1
			}
			return 0
		},
		relief: func(x, y int) uint8 {
			if lit(x, y) {
				return 255
			}
			return 1
		}}.write(t)
	r := opened(t, dir)
	for _, side := range []int{30, 75, 100, 299} {
		g := overview(t, r, side)
		if g.W != side || math.Abs(float64(g.H)-float64(side)/2) > 2 { // the grid lies a little askew
			t.Errorf("side %d: %d × %d cells of a map of 300 × 150", side, g.W, g.H)
		}
		if a, b := (g.Bound.Max[0]-g.Bound.Min[0])/float64(g.W), (g.Bound.Max[1]-g.Bound.Min[1])/float64(g.H); math.Abs(a-b) > 1e-9*a {
			t.Errorf("side %d: cells of %g × %g m", side, a, b)
		}
		to, err := vector.NewTransformer(r.Frame.WKT, g.Frame.WKT)
		if err != nil {
			t.Fatal(err)
		}
		e, n := r.Frame.Corner(220, 110)
		want, err := to.Point(orb.Point{e, n})
		if err != nil {
			t.Fatal(err)
		}
		for name, cells := range map[string][]float32{"suitability": g.Suitability, "relief": g.Relief} {
			var x, y, sum float64
			for i, v := range cells {
				if v == v {
					cx, cy := g.Frame.Center(i%g.W, i/g.W)
					x, y, sum = x+cx*float64(v), y+cy*float64(v), sum+float64(v)
				}
			}
			if d := math.Hypot(x/sum-want[0], y/sum-want[1]); !(d < 0.1*g.Frame.Cell) {
				t.Errorf("side %d, %s: its middle lies %.2f cells off", side, name, d/g.Frame.Cell)
			}
		}
	}
}

// A map is never shown finer than it is, nor larger than asked for.
func TestOverviewIsNoFinerThanTheMap(t *testing.T) {
	r := opened(t, made{w: 60, h: 90}.write(t))
	for _, c := range []struct{ side, most int }{{5000, 93}, {1 << 40, 93}, {90, 90}, {7, 7}, {1, 1}, {0, 1}, {-4, 1}} {
		if g := overview(t, r, c.side); max(g.W, g.H) > c.most || c.side > 90 && g.H < 88 {
			t.Errorf("side %d: %d × %d cells of a map of 60 × 90", c.side, g.W, g.H)
		}
	}
}

// Fine stripes become grey, not broad stripes, and gaps take nothing from the
// cells beside them.
func TestOverviewAverages(t *testing.T) {
	dir := made{w: 1300, h: 900, suitability: func(x, y int) float32 {
		switch {
		case y < 450 && x%3 == 0:
			return 1
		case y < 450:
			return 0
		case (x+y)%2 == 0:
			return float32(math.NaN())
		}
		return 0.75
	}}.write(t)
	r := opened(t, dir)
	for _, side := range []int{40, 130, 200, 400, 433, 650} {
		g := overview(t, r, side)
		// Stripes that cells of a size cut unevenly keep a little of their beat: a
		// cell k wide holds k/3 stripes, one more or less at its edges.
		wide := 1300 / float64(side)
		for y := range g.H {
			for x := range g.W {
				v, share := float64(g.Suitability[y*g.W+x]), (float64(y)+0.5)/float64(g.H)
				if x < 2 || y < 2 || x > g.W-3 || y > g.H-3 || math.Abs(share-0.5) < 0.05 {
					continue
				}
				want, most := 1.0/3, 1/wide
				if share > 0.5 {
					want, most = 0.75, 1e-6
				}
				if !(math.Abs(v-want) <= most) {
					t.Fatalf("side %d, cell %d, %d: %g, want %.3f ± %.3f", side, x, y, v, want, most)
				}
			}
		}
	}
}

// gdalwarp averages the same map onto the same grid from its full cells; ours
// may read the file's overviews. GDAL's "average" weighs cells by the part that
// lies under the new one.
func TestOverviewAgainstGdalwarp(t *testing.T) {
	dir := made{w: 1100, h: 800,
		suitability: func(x, y int) float32 {
			if math.Hypot(float64(x-500), float64(y-400)) > 380 {
				return float32(math.NaN())
			}
			return float32(0.5 + 0.3*math.Sin(float64(x)/40)*math.Cos(float64(y)/25) + 0.15*math.Sin(float64(x)/6)*math.Cos(float64(y)/5))
		},
		relief: func(x, y int) uint8 { return uint8(128 + 120*math.Sin(float64(x)/9+float64(y)/13)) }}.write(t)
	r := opened(t, dir)
	type layer struct {
		name        string
		none        float64
		scale, base float64 // light = (stored − base) / scale
	}
	var args []string
	var names []string
	for _, side := range []int{90, 250, 480} { // from 12, 4 and 2 cells
		g := overview(t, r, side)
		for _, c := range []layer{{"suitability", -9999, 1, 0}, {"relief", 0, 254, 1}} {
			cells := g.Suitability
			if c.name == "relief" {
				cells = g.Relief
			}
			path := filepath.Join(t.TempDir(), "ours.tif")
			writeRaster(t, path, g.Frame, -9999, func(x, y int) float32 {
				if v := cells[y*g.W+x]; v == v {
					return v
				}
				return -9999
			})
			args = append(args, path, filepath.Join(dir, c.name+".tif"), num(c.none), num(c.scale), num(c.base))
			names = append(names, fmt.Sprintf("%s, %d cells", c.name, side))
		}
	}
	var got []struct {
		Both, Ours, Theirs, Cells float64
		Mean, Want, RMS           float64
	}
	judge(t, &got, `
import json, sys, numpy
from osgeo import gdal
gdal.UseExceptions()
out = []
for i in range(1, len(sys.argv), 5):
    ours = gdal.Open(sys.argv[i]); o = ours.ReadAsArray().astype('f8'); g = ours.GetGeoTransform()
    none, scale, base = map(float, sys.argv[i+2:i+5])
    w, h = ours.RasterXSize, ours.RasterYSize
    warped = gdal.Warp('', sys.argv[i+1], format='MEM', dstSRS='EPSG:3857', outputBounds=[g[0], g[3]+h*g[5], g[0]+w*g[1], g[3]], width=w, height=h,
        resampleAlg='average', srcNodata=none, dstNodata=-9999, outputType=gdal.GDT_Float64, overviewLevel='NONE')
    t = warped.ReadAsArray(); a, b = o != -9999, t != -9999
    t = (t - base) / scale; both = a & b; d = o[both] - t[both]
    out.append(dict(Both=float(both.sum()), Ours=float((a & ~b).sum()), Theirs=float((b & ~a).sum()), Cells=float(w*h), Mean=o[a].mean(), Want=t[b].mean(), RMS=float(numpy.sqrt((d*d).mean()))))
print(json.dumps(out))
`, args...)
	if len(got) != len(names) {
		t.Fatalf("%d answers of %d", len(got), len(names))
	}
	for i, g := range got {
		// At edges a cell of an overview reaches a little farther than the ground.
		if edge := 4 * math.Sqrt(g.Cells); g.Ours+g.Theirs > edge || g.Both < g.Cells/2 || math.Abs(g.Mean-g.Want) > 0.001 || g.RMS > 0.015 {
			t.Errorf("%s: %+v", names[i], g)
		}
	}
}

// The same map gives the same picture, however many read it.
func TestOverviewIsTheSameTwice(t *testing.T) {
	r := opened(t, made{w: 900, h: 700, suitability: func(x, y int) float32 { return float32(x*31%97+y%3) / 100 }, relief: func(x, y int) uint8 { return uint8(x + y) }}.write(t))
	a := overview(t, r, 300)
	for range 3 {
		b := overview(t, r, 300)
		for i := range a.Suitability {
			if math.Float32bits(a.Suitability[i]) != math.Float32bits(b.Suitability[i]) || math.Float32bits(a.Relief[i]) != math.Float32bits(b.Relief[i]) {
				t.Fatalf("cell %d differs", i)
			}
		}
	}
}

// Numbers that are no suitability are shown as not mapped.
func TestStrangeNumbersAreNone(t *testing.T) {
	strange := []float32{float32(math.Inf(1)), float32(math.Inf(-1)), -0.5, 1.5, 1e30, -9999, float32(math.NaN()), 0, 1, 0.25}
	r := opened(t, made{suitability: func(x, y int) float32 { return strange[x%len(strange)] }}.write(t))
	f := r.Frame
	w, s, e, n := f.Bounds()
	g, err := r.Crop(context.Background(), orb.Bound{Min: orb.Point{w, s}, Max: orb.Point{e, n}})
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range g.Suitability {
		if k := i % f.W % len(strange); k < 7 && v == v || k >= 7 && v != strange[k] {
			t.Fatalf("%g is shown as %g", strange[k], v)
		}
	}
	bins, err := r.Histogram(context.Background(), 4)
	if err != nil {
		t.Fatal(err)
	}
	if each := float64(f.Cells()/len(strange)) / 100; bins[0].Ha != each || bins[1].Ha != each || bins[3].Ha != each || bins[2].Ha != 0 {
		t.Errorf("%v, want %g each in three bins", bins, each)
	}
}

// 20 million cells are looked over in about a second on a common machine.
func BenchmarkTwentyMillionCells(b *testing.B) {
	dir := made{w: 5000, h: 4000, suitability: func(x, y int) float32 {
		if (x+y)%1300 < 300 {
			return float32(math.NaN())
		}
		return float32(0.5 + 0.5*math.Sin(float64(x)/170)*math.Cos(float64(y)/90))
	}, relief: func(x, y int) uint8 { return uint8(128 + 120*math.Sin(float64(x)/9+float64(y)/13)) }}.write(b)
	r := opened(b, dir)
	for _, c := range []struct {
		name string
		run  func() error
	}{
		{"overview", func() error { _, err := r.Overview(context.Background(), 1600); return err }},
		{"histogram", func() error { _, err := r.Histogram(context.Background(), 20); return err }},
		{"crop", func() error {
			_, err := r.Crop(context.Background(), orb.Bound{Min: orb.Point{madeX0 + 2e4, madeY0 - 3e4}, Max: orb.Point{madeX0 + 2.2e4, madeY0 - 2.8e4}})
			return err
		}},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if err := c.run(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A run that is stopped stops here, too.
func TestStopped(t *testing.T) {
	r := opened(t, made{access: func(x, y int) uint8 { return 1 }}.write(t))
	ctx, stop := context.WithTimeout(context.Background(), -time.Second)
	defer stop()
	w, s, e, n := r.Frame.Bounds()
	all := orb.Bound{Min: orb.Point{w, s}, Max: orb.Point{e, n}}
	for name, run := range map[string]func() error{
		"overview":  func() error { _, err := r.Overview(ctx, 30); return err },
		"crop":      func() error { _, err := r.Crop(ctx, all); return err },
		"histogram": func() error { _, err := r.Histogram(ctx, 5); return err },
		"access":    func() error { _, err := r.AccessAreas(ctx, all); return err },
	} {
		if err := run(); err == nil {
			t.Errorf("%s went on", name)
		}
	}
}

// A grid at the pole lies on no web map: an error, no endless picture.
func TestOverviewOfThePole(t *testing.T) {
	crs, err := raster.ParseCRS("EPSG:3413") // polar stereographic
	if err != nil {
		t.Fatal(err)
	}
	r := &Run{Folder: t.TempDir(), Frame: raster.Frame{W: 100, H: 100, X0: -500, Y0: 500, Cell: 10, WKT: crs.WKT}}
	if g, err := r.Overview(context.Background(), 50); err == nil && max(g.W, g.H) > 50 {
		t.Errorf("%d × %d cells", g.W, g.H)
	} else if err == nil {
		t.Error("the pole is shown")
	}
}
