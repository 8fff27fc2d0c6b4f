package region

import (
	"encoding/binary"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"rillwood/raster"
)

// Reference library: scipy.ndimage's labelled statistics (whatever version is
// installed), on a plane in memory and on one in a scratch file.
func TestZonalAgainstSciPy(t *testing.T) {
	py := python(t, "scipy.ndimage")
	rng := rand.New(rand.NewPCG(17, 18))
	l := labels{w: 230, h: 170}
	l.cell = make([]int, l.w*l.h)
	for n := range 60 {
		x, y, w, h := rng.IntN(l.w), rng.IntN(l.h), 1+rng.IntN(50), 1+rng.IntN(30)
		for i := range l.cell {
			if cx, cy := i%l.w, i/l.w; cx >= x && cx < x+w && cy >= y && cy < y+h && rng.IntN(8) > 0 {
				l.cell[i] = n + 1
			}
		}
	}
	values := make([]float32, len(l.cell))
	dir := t.TempDir()
	var data []byte
	for i := range values {
		values[i] = float32(rng.NormFloat64()*50 + 1000)
		if rng.IntN(30) == 0 {
			values[i] = float32(math.NaN())
		}
		data = binary.LittleEndian.AppendUint32(data, math.Float32bits(values[i]))
		data = binary.LittleEndian.AppendUint32(data, uint32(l.cell[i]))
	}
	path := filepath.Join(dir, "cells")
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	script := `import json, sys, numpy as np
from scipy import ndimage as nd
a = np.fromfile(sys.argv[1], [("v", "<f4"), ("l", "<i4")])
a = a[~np.isnan(a["v"])]
v, l = a["v"].astype("f8"), a["l"]
n = int(sys.argv[2])
counts = np.bincount(l, minlength=n + 1)[1:]
i = np.nonzero(counts)[0] + 1
rows = np.zeros((n, 3))
rows[i - 1] = np.array([nd.mean(v, l, i), nd.minimum(v, l, i), nd.maximum(v, l, i)]).T
json.dump([[int(c)] + list(r) for c, r in zip(counts, rows)], sys.stdout)`
	out, err := exec.Command(py, "-c", script, path, "60").Output()
	if err != nil {
		t.Fatalf("scipy: %v", err)
	}
	var want [][4]float64
	if err := json.Unmarshal(out, &want); err != nil || len(want) != 60 {
		t.Fatalf("scipy gave %d rows, %v", len(want), err)
	}
	patches := make([]Patch, len(want))
	for _, r := range l.runs() {
		patches[r.Group-1].Runs = append(patches[r.Group-1].Runs, r)
	}
	s, err := raster.NewScratch(dir, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	file, err := raster.NewPlane[float32](l.w, l.h, s)
	if err != nil {
		t.Fatal(err)
	}
	if err := file.Write(0, 0, l.w, l.h, values); err != nil {
		t.Fatal(err)
	}
	for name, plane := range map[string]*raster.Plane[float32]{"memory": raster.PlaneOf(l.w, l.h, values), "scratch": file} {
		got, err := Zonal(t.Context(), plane, patches)
		if err != nil {
			t.Fatal(err)
		}
		full := 0
		for i, w := range want {
			g := got[i]
			if float64(g.Count) != w[0] {
				t.Errorf("%s, patch %d: %d cells, scipy %v", name, i, g.Count, w[0])
				continue
			}
			if g.Count == 0 {
				continue
			}
			full++
			if g.Min != w[2] || g.Max != w[3] || math.Abs(g.Mean()-w[1]) > 1e-9 {
				t.Errorf("%s, patch %d: mean %v, %v to %v; scipy %v", name, i, g.Mean(), g.Min, g.Max, w[1:])
			}
		}
		if full < 40 {
			t.Errorf("%s: only %d patches held a value", name, full)
		}
	}
}
