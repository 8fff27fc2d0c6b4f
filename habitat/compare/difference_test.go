package compare

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"rillwood/internal/judges"
	"rillwood/raster"
)

// Four by two cells worked out by hand.
func TestDifferenceByHand(t *testing.T) {
	nan := float32(math.NaN())
	before := []float32{0.5, 0.5, 0.7, 0.75, nan, nan, 0.25, 0.625}
	after := []float32{0.75, 0.5, 0.5, nan, nan, 0.5, 0.25, 0.5}
	at := func(v []float32) func(x, y int) float32 { return func(x, y int) float32 { return v[y*4+x] } }
	r := compared(t, made{run: "a", w: 4, h: 2, suit: at(before)}.write(t), made{run: "b", w: 4, h: 2, suit: at(after)}.write(t))
	// Compared: +0.25, 0, −0.2, 0, −0.125 on 5 cells of 0.01 ha.
	d := r.Raster
	if d.ComparedHa != 0.05 || d.OnlyAHa != 0.01 || d.OnlyBHa != 0.01 || d.RaisedHa != 0.01 || d.LoweredHa != 0.02 || d.GainedHa != 0.01 || d.LostHa != 0.02 {
		t.Errorf("areas %+v", d)
	}
	if math.Abs(d.Mean+0.015) > 1e-6 || math.Abs(d.MeanAbs-0.115) > 1e-6 || math.Abs(d.Least+0.2) > 1e-6 || d.Most != 0.25 {
		t.Errorf("mean %g, absolute %g, from %g to %g", d.Mean, d.MeanAbs, d.Least, d.Most)
	}
	if r.Same {
		t.Error("two maps that differ are called the same")
	}
}

// Shifted by whole cells the overlap is compared; by parts of cells, in other
// cells or where nothing is shared, candidates alone are.
func TestFramesThatDiffer(t *testing.T) {
	base := made{run: "a", w: 20, h: 10, suit: func(x, y int) float32 { return float32(x) / 32 }, patches: []patch{square(0, 0, 0.9)}}
	for _, c := range []struct {
		name   string
		dx, dy float64
		ha     float64 // compared; 0 = none
		note   string
	}{
		{"same", 0, 0, 2, ""},
		{"five columns east, two rows south", 50, -20, 1.2, "suitability is compared where both lie"},
		{"half a cell", 5, 0, 0, "lie beside each other"},
		{"elsewhere", 5000, 0, 0, "share no ground"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := base
			b.run, b.x0, b.y0 = "b", madeX0+c.dx, madeY0+c.dy
			if c.dx == 0 {
				b.x0 = 0
			}
			b.suit = func(x, y int) float32 { return float32(x)/32 + float32(c.dx)/320 + 0.125 }
			r := compared(t, base.write(t), b.write(t))
			if (r.Raster != nil) != (c.ha > 0) || c.note != "" && !strings.Contains(strings.Join(r.Notes, "\n"), c.note) {
				t.Fatalf("raster %+v, notes %q", r.Raster, r.Notes)
			}
			if c.ha > 0 && (r.Raster.ComparedHa != c.ha || r.Raster.Least != 0.125 || r.Raster.Most != 0.125) {
				t.Errorf("%+v", r.Raster)
			}
			if r.Counts.Stayed != 1 {
				t.Errorf("candidates %+v", r.Counts)
			}
			checkText(t, r)
		})
	}
}

// The difference holds up before GDAL's own judges, and numpy finds the same
// figures in the two maps and in what was written. The grid is larger than a
// tile and than a band of rows.
func TestDifferenceBeforeJudges(t *testing.T) {
	wave := func(k float64) func(x, y int) float32 {
		return func(x, y int) float32 {
			if (x+y)%53 == int(k)%53 {
				return float32(math.NaN())
			}
			return float32(0.5 + 0.5*math.Sin(float64(x)/17/k+float64(y)/29))
		}
	}
	a := made{run: "a", w: 530, h: 600, suit: wave(1)}.write(t)
	b := made{run: "b", w: 530, h: 600, suit: wave(2)}.write(t)
	r := compared(t, a, b)
	path := filepath.Join(t.TempDir(), "difference.tif")
	var bytes [2]string
	for i, workers := range []int{1, 3} {
		if err := r.Raster.Write(t.Context(), path, workers); err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		bytes[i] = string(data)
	}
	if bytes[0] != bytes[1] {
		t.Error("other bytes with other workers")
	}
	info, err := raster.Describe(path, "")
	if err != nil || info.Type != "Float32" || info.NoData == nil || *info.NoData != -9999 || info.W != 530 {
		t.Errorf("%+v, %v", info, err)
	}
	judges.COG(t, path)
	judges.Quiet(t, path)
	got := python(t, `
import sys, numpy
from osgeo import gdal
def read(path):
    data = gdal.Open(path) # a band without its dataset is no band
    band = data.GetRasterBand(1)
    return numpy.ma.masked_equal(band.ReadAsArray().astype('f8'), band.GetNoDataValue())
a, b, d = [read(p) for p in sys.argv[1:4]]
e = b - a
assert (e.mask == d.mask).all() and abs(e - d).max() < 1e-6
print(round(float(e.mean()), 6), round(float(abs(e).mean()), 6), int(e.count()), int((e >= 0.05).sum()), int((e <= -0.05).sum()), int(((a < 0.6) & (b >= 0.6)).sum()))
`, filepath.Join(a, "suitability.tif"), filepath.Join(b, "suitability.tif"), path)
	var mean, abs, n, up, down, gain float64
	if _, err := fmt.Sscan(got, &mean, &abs, &n, &up, &down, &gain); err != nil {
		t.Fatal(err)
	}
	d := r.Raster
	for _, f := range []struct {
		name            string
		got, want, most float64
	}{
		{"mean", d.Mean, mean, 2e-6}, {"mean of absolutes", d.MeanAbs, abs, 2e-6}, {"cells compared", d.ComparedHa * 100, n, 1e-6},
		{"cells raised", d.RaisedHa * 100, up, 1e-6}, {"cells lowered", d.LoweredHa * 100, down, 1e-6}, {"cells gained", d.GainedHa * 100, gain, 1e-6},
	} {
		if math.Abs(f.got-f.want) > f.most {
			t.Errorf("%s: numpy finds %g, we %g", f.name, f.want, f.got)
		}
	}
}

// python runs a script, or skips where a module is missing.
func python(t *testing.T, script string, args ...string) string {
	t.Helper()
	out, err := exec.Command("/usr/bin/python3", append([]string{"-c", script}, args...)...).CombinedOutput()
	switch {
	case errors.Is(err, fs.ErrNotExist):
		t.Skip("no /usr/bin/python3 here: this judge is not heard")
	case err != nil && strings.Contains(string(out), "ModuleNotFoundError"):
		t.Skipf("this judge is not heard: %s", out[strings.LastIndex(strings.TrimSpace(string(out)), "\n")+1:])
	case err != nil:
		t.Fatalf("judge: %v\n%s", err, out)
	}
	return string(out)
}
