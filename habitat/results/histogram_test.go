package results

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
)

// numpy counts the same cells into the same bins. Its histogram takes edges as
// ours, the last one in the last bin; it is given the edges in the raster's
// own precision.
func TestHistogramAgainstNumpy(t *testing.T) {
	dir := made{w: 777, h: 1300, suitability: func(x, y int) float32 {
		switch k := x*1009 + y*9176; {
		case k%17 == 0:
			return float32(math.NaN())
		case k%3 == 0: // edges of 5, 7, 20 and 100 bins
			return []float32{0, 0.6, 0.7, 3.0 / 7, 0.35, 0.29, 0.57, 0.99, 1}[k%9]
		default:
			return float32(k%100003) / 100003
		}
	}}.write(t)
	r := opened(t, dir)
	sizes := []int{1, 5, 7, 20, 100, 1000}
	var want [][]float64
	judge(t, &want, `
import json, sys, numpy
from osgeo import gdal
a = gdal.Open(sys.argv[1]).ReadAsArray()
print(json.dumps([numpy.histogram(a[a != -9999], bins=(numpy.arange(n + 1) / n).astype('f4'))[0].tolist() for n in json.loads(sys.argv[2])]))
`, filepath.Join(dir, "suitability.tif"), strings.ReplaceAll(fmt.Sprint(sizes), " ", ","))
	for k, n := range sizes {
		bins, err := r.Histogram(context.Background(), n)
		if err != nil {
			t.Fatal(err)
		}
		if len(bins) != n || len(want[k]) != n || bins[0].From != 0 || bins[n-1].To != 1 {
			t.Fatalf("%d bins from %g to %g, numpy has %d", len(bins), bins[0].From, bins[n-1].To, len(want[k]))
		}
		for i, b := range bins {
			if i > 0 && b.From != bins[i-1].To {
				t.Errorf("bin %d begins at %g, the one before ends at %g", i, b.From, bins[i-1].To)
			}
			if math.Abs(b.Ha*100-want[k][i]) > 1e-6 {
				t.Errorf("%d bins, %g to %g: %g ha, numpy counts %g cells of 100 m²", n, b.From, b.To, b.Ha, want[k][i])
			}
		}
	}
}

// Ground at a threshold that is an edge stands in the bins from there on, as it
// stands in the shortlist's patches, and what is a hair less in the one before.
func TestHistogramPutsTheThresholdAbove(t *testing.T) {
	for _, n := range []int{5, 10, 20, 100} {
		edge := func(i int) float32 { return float32(float64(i) / float64(n)) }
		r := opened(t, made{w: n, h: 2, suitability: func(x, y int) float32 {
			if y == 0 {
				return edge(x)
			}
			return math.Nextafter32(edge(x+1), 0)
		}}.alone(t))
		bins, err := r.Histogram(context.Background(), n)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range bins {
			if b.Ha != 0.02 {
				t.Errorf("%d bins: %v, want the two cells of each", n, b)
			}
		}
	}
}

func TestHistogramOfNothing(t *testing.T) {
	r := opened(t, made{suitability: func(x, y int) float32 { return float32(math.NaN()) }}.write(t))
	bins, err := r.Histogram(context.Background(), 3)
	if err != nil || len(bins) != 3 || bins[0].Ha+bins[1].Ha+bins[2].Ha != 0 {
		t.Errorf("%v, %v", bins, err)
	}
	for _, n := range []int{0, -1, 1 << 40} {
		if bins, err := r.Histogram(context.Background(), n); err == nil {
			t.Errorf("%d bins: %v", n, bins)
		}
	}
}
