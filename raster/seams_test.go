package raster

import (
	"maps"
	"math"
	"path/filepath"
	"slices"
	"testing"
)

// What files declare, and where they overlap, in the corners of a layer.

func TestTilesThatOverlapInOneMosaicGiveTheFirst(t *testing.T) {
	dir := t.TempDir()
	tile := func(name string, x, cell float64, v float32) string {
		return makeTIFF(t, filepath.Join(dir, name), tiff{w: 3, h: 3, geo: northUp(x, 0, cell), crs: "EPSG:32617", nodata: value(-9999)}, slices.Repeat([]float32{v}, 9))
	}
	west, east, wide := tile("west.tif", 0, 10, 1), tile("east.tif", 10, 10, 2), tile("wide.tif", 0, 30, 3)
	f := utm17(t, 6, 1, 0, 0, 10)
	for _, c := range []struct {
		paths []string
		want  []float32
	}{
		{[]string{west, east}, []float32{1, 1, 1, 2, nan32, nan32}},
		{[]string{east, west}, []float32{1, 2, 2, 2, nan32, nan32}},
		// Tiles of another cell size land on their own: no mean of the two sizes.
		{[]string{west, wide}, []float32{1, 1, 1, 3, 3, 3}},
		{[]string{wide, west}, []float32{3, 3, 3, 3, 3, 3}},
	} {
		got, _ := surface(t, Source{Paths: c.paths}, f, 1)
		for i, v := range got {
			if v != c.want[i] && (v == v || c.want[i] == c.want[i]) {
				t.Errorf("%s: got %v, want %v", filepath.Base(c.paths[0]), got, c.want)
				break
			}
		}
	}
}

func TestNegativeAndMissingMarksAreNotClassZero(t *testing.T) {
	dir := t.TempDir()
	o := tiff{w: 4, h: 2, geo: northUp(0, 0, 10), crs: "EPSG:32617", nodata: value(-9999)}
	whole := makeTIFF(t, filepath.Join(dir, "int16.tif"), o, []int16{-9999, 0, 1, 2, 2, -1, 0, -9999})
	o.nodata = value(math.NaN())
	real := makeTIFF(t, filepath.Join(dir, "float32.tif"), o, []float32{nan32, 0, 1, 2, 2, -1, 0, 70000})
	for _, path := range []string{whole, real} {
		for _, side := range []int{1, 2} { // copied, sampled
			f := utm17(t, 4*side, 2*side, 0, 0, 10/float64(side))
			got, counts, how := classes(t, Source{Paths: []string{path}}, f, byCode(0, 1, 2))
			want := []uint8{0, 1, 2, 3, 3, 0, 1, 0} // one more than the code; none is 0
			for i, v := range got {
				if x, y := i%f.W/side, i/f.W/side; v != want[y*4+x] {
					t.Errorf("%s %s: cell %d is %d, want %d", filepath.Base(path), how, i, v, want[y*4+x])
				}
			}
			n := int64(side * side)
			if want := (map[int]int64{0: 2 * n, 1: n, 2: 2 * n}); !maps.Equal(counts, want) {
				t.Errorf("%s %s: counts %v, want %v", filepath.Base(path), how, counts, want)
			}
		}
		got, err := Codes(t.Context(), Source{Paths: []string{path}}, nil, "")
		if want := (map[int]int64{0: 2, 1: 1, 2: 2}); err != nil || !maps.Equal(got, want) {
			t.Errorf("%s: codes %v (%v), want %v", filepath.Base(path), got, err, want)
		}
	}
}

func TestCodesOfOneFileSurviveTheNodataOfAnother(t *testing.T) {
	dir := t.TempDir()
	o := tiff{w: 2, h: 1, geo: northUp(0, 0, 10), crs: "EPSG:32617"}
	a := makeTIFF(t, filepath.Join(dir, "a.tif"), o, []uint8{0, 5})
	o.nodata = value(0)
	b := makeTIFF(t, filepath.Join(dir, "b.tif"), o, []uint8{0, 7})
	got, err := Codes(t.Context(), Source{Paths: []string{a, b}}, nil, "")
	if want := (map[int]int64{0: 1, 5: 1, 7: 1}); err != nil || !maps.Equal(got, want) {
		t.Errorf("got %v (%v), want %v", got, err, want)
	}
}

func TestNoPlaceIsInsideNoFrame(t *testing.T) {
	f := utm17(t, 3, 2, 0, 20, 10)
	for _, p := range [][2]float64{{math.NaN(), 5}, {5, math.NaN()}, {1e300, 5}, {5, math.Inf(-1)}} {
		if _, _, ok := f.At(p[0], p[1]); ok {
			t.Errorf("%v is said to be inside", p)
		}
	}
}
