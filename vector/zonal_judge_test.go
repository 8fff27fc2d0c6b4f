package vector

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/raster/region"
)

// Statistics of a plane over polygons with holes and of several parts: filled
// here and summed by region, against rasterio's rasterize (cells by their
// centres) and numpy.
func TestZonalStatisticsAgainstRasterio(t *testing.T) {
	r := rand.New(rand.NewPCG(111, 112))
	f := small(90, 70)
	values := make([]float32, f.Cells())
	for i := range values {
		values[i] = float32(r.NormFloat64() * 100)
		switch r.IntN(40) {
		case 0:
			values[i] = float32(math.NaN())
		case 1:
			values[i] = -9999
		}
	}
	var shapes []string
	var patches []region.Patch
	for i := range 150 {
		reach := 20 + 180*r.Float64()
		cx, cy := 1000*r.Float64()-50, 800*r.Float64()-50
		var g orb.Geometry = orb.Polygon{star(r, cx, cy, reach), star(r, cx, cy, reach/8)}
		if i%3 == 0 {
			g = orb.MultiPolygon{{star(r, cx, cy, reach)}, {star(r, cx+2*reach, cy, reach), star(r, cx+2*reach, cy, reach/8)}}
		}
		if g, _, _ = mend(g); g == nil {
			t.Fatal("a star without ground")
		}
		shapes = append(shapes, hexOf(t, g))
		patches = append(patches, region.Patch{ID: i, Runs: runsOf(f, filled(t, f, nil, g))})
	}
	got, err := region.Zonal(t.Context(), raster.PlaneOf(f.W, f.H, values), patches, -9999)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "values")
	data := make([]byte, 0, 4*len(values))
	for _, v := range values {
		data = binary.LittleEndian.AppendUint32(data, math.Float32bits(v))
	}
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	var want []struct {
		Cells, Count int
		Mean         float64
		Min, Max     float64
	}
	heard(t, "rasterio.features, shapely.wkb, numpy", `
import json, sys
import numpy as np
from rasterio.features import rasterize
from rasterio.transform import Affine
from shapely import wkb
ask = json.load(sys.stdin)
v = np.fromfile(ask["path"], "<f4").reshape(ask["h"], ask["w"])
to = Affine(ask["cell"], 0, ask["x0"], 0, -ask["cell"], ask["y0"])
out = []
for s in ask["shapes"]:
    mask = rasterize([(wkb.loads(s, hex=True), 1)], out_shape=v.shape, transform=to, all_touched=False, dtype="uint8") == 1
    x = v[mask].astype("f8")
    x = x[~np.isnan(x) & (x != -9999)]
    ok = len(x) > 0
    out.append({"cells": int(mask.sum()), "count": len(x), "mean": x.mean() if ok else 0.0, "min": x.min() if ok else 0.0, "max": x.max() if ok else 0.0})
json.dump(out, sys.stdout)`, map[string]any{
		"path": path, "w": f.W, "h": f.H, "x0": f.X0, "y0": f.Y0, "cell": f.Cell, "shapes": shapes,
	}, &want)
	if len(want) != len(got) {
		t.Fatalf("%d answers to %d shapes", len(want), len(got))
	}
	full := 0
	for i, w := range want {
		g := got[i]
		if patches[i].Cells() != w.Cells || g.Count != w.Count {
			t.Errorf("shape %d: %d cells, %d counted; rasterio %d and %d", i, patches[i].Cells(), g.Count, w.Cells, w.Count)
			continue
		}
		if g.Count == 0 {
			continue
		}
		full++
		// numpy sums pairwise, region compensates: they part in the last bits.
		if g.Min != w.Min || g.Max != w.Max || math.Abs(g.Mean()-w.Mean) > 1e-10*(1+math.Abs(w.Mean)) {
			t.Errorf("shape %d: mean %v, %v to %v; numpy %v, %v to %v", i, g.Mean(), g.Min, g.Max, w.Mean, w.Min, w.Max)
		}
	}
	if full < 100 {
		t.Errorf("only %d shapes held a value", full)
	}
}

// runsOf gives the cells that are set, as runs.
func runsOf(f raster.Frame, cells []uint8) []region.Run {
	var runs []region.Run
	for y := range f.H {
		for x := 0; x < f.W; x++ {
			x0 := x
			for x < f.W && cells[y*f.W+x] != 0 {
				x++
			}
			if x > x0 {
				runs = append(runs, region.Run{Y: int32(y), X0: int32(x0), X1: int32(x)})
			}
		}
	}
	return runs
}
