package raster

import (
	"maps"
	"path/filepath"
	"slices"
	"testing"
)

const noneIndex = 0

// byCode is an index that gives each listed code its place, counted from 1.
func byCode(codes ...int) *[65536]uint8 {
	var index [65536]uint8
	for i := range index {
		index[i] = 99
	}
	for k, c := range codes {
		index[c] = uint8(k + 1)
	}
	return &index
}

func classes(t *testing.T, s Source, f Frame, index *[65536]uint8) ([]uint8, map[int]int64, string) {
	t.Helper()
	p := PlaneOf(f.W, f.H, make([]uint8, f.Cells()))
	how, counts, err := ReadClasses(t.Context(), s, f, index, noneIndex, 2, p, func(float64) {})
	if err != nil {
		t.Fatal(err)
	}
	found := map[int]int64{}
	for c, n := range counts {
		if n > 0 {
			found[c] = n
		}
	}
	return p.Mem(), found, how
}

func TestClassesOnTheirOwnGrid(t *testing.T) {
	// Codes beyond a byte, as national legends have them.
	path := makeTIFF(t, filepath.Join(t.TempDir(), "cover.tif"), tiff{w: 3, h: 2, geo: northUp(500000, 4e6, 30), crs: "EPSG:32617", nodata: value(0)},
		[]uint16{90, 1101, 0, 11, 1101, 4000})
	got, counts, how := classes(t, Source{Paths: []string{path}}, utm17(t, 3, 2, 500000, 4e6, 30), byCode(11, 90, 1101))
	if how != HowCopied {
		t.Errorf("landed %q, want %q", how, HowCopied)
	}
	if want := []uint8{2, 3, noneIndex, 1, 3, 99}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if want := (map[int]int64{11: 1, 90: 1, 1101: 2, 4000: 1}); !maps.Equal(counts, want) {
		t.Errorf("counts %v, want %v", counts, want)
	}
}

func TestClassesOntoSmallerCellsAreTheNearest(t *testing.T) {
	path := makeTIFF(t, filepath.Join(t.TempDir(), "cover.tif"), tiff{w: 2, h: 2, geo: northUp(500000, 4e6, 30), crs: "EPSG:32617"}, []uint8{1, 2, 3, 4})
	f := utm17(t, 8, 6, 500000-10, 4e6, 10) // one column west of it, one east
	got, _, how := classes(t, Source{Paths: []string{path}}, f, byCode(1, 2, 3, 4))
	if how != HowSampled {
		t.Errorf("landed %q, want %q", how, HowSampled)
	}
	want := slices.Concat(slices.Repeat([]uint8{0, 1, 1, 1, 2, 2, 2, 0}, 3), slices.Repeat([]uint8{0, 3, 3, 3, 4, 4, 4, 0}, 3))
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestClassesOntoLargerCellsAreTheCommonest(t *testing.T) {
	path := makeTIFF(t, filepath.Join(t.TempDir(), "cover.tif"), tiff{w: 6, h: 3, geo: northUp(500000, 4e6, 10), crs: "EPSG:32617", nodata: value(255)}, []uint8{
		7, 7, 9, 255, 255, 255,
		7, 9, 7, 255, 255, 5,
		9, 9, 7, 255, 5, 8,
	})
	got, counts, how := classes(t, Source{Paths: []string{path}}, utm17(t, 2, 1, 500000, 4e6, 30), byCode(5, 7, 8, 9))
	if how != HowMode {
		t.Errorf("landed %q, want %q", how, HowMode)
	}
	if want := []uint8{2, 1}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v (7 and 5)", got, want)
	}
	if want := (map[int]int64{7: 1, 5: 1}); !maps.Equal(counts, want) {
		t.Errorf("counts %v, want %v", counts, want)
	}
}

func TestClassesReprojectedAndSouthUpKeepTheirCodes(t *testing.T) {
	dir := t.TempDir()
	south := makeTIFF(t, filepath.Join(dir, "south.tif"), tiff{w: 2, h: 2, geo: [6]float64{0, 10, 0, -20, 0, 10}, crs: "EPSG:32617"}, []uint16{300, 301, 302, 303})
	got, _, how := classes(t, Source{Paths: []string{south}}, utm17(t, 2, 2, 0, 0, 10), byCode(300, 301, 302, 303))
	if want := []uint8{3, 4, 1, 2}; how != HowNearest || !slices.Equal(got, want) {
		t.Errorf("south-up: got %v %q, want %v %q", got, how, want, HowNearest)
	}
	cells := make([]uint16, 100*100)
	for i := range cells {
		cells[i] = uint16(500 + i%100/50)
	}
	degrees := makeTIFF(t, filepath.Join(dir, "degrees.tif"), tiff{w: 100, h: 100, geo: northUp(-81.005, 40.005, 0.0001), crs: "EPSG:4326"}, cells)
	xs, ys := []float64{-81}, []float64{40} // the classes meet at 81° W
	if _, err := TransformPoints(xs, ys, WGS84(), wktOf(t, "EPSG:32617")); err != nil {
		t.Fatal(err)
	}
	got, _, how = classes(t, Source{Paths: []string{degrees}}, utm17(t, 10, 1, xs[0]-50, ys[0]+5, 10), byCode(500, 501))
	if want := []uint8{1, 1, 1, 1, 1, 2, 2, 2, 2, 2}; how != HowNearest || !slices.Equal(got, want) {
		t.Errorf("reprojected: got %v %q, want %v %q", got, how, want, HowNearest)
	}
}

func TestClassTilesThatOverlapGiveTheFirst(t *testing.T) {
	dir := t.TempDir()
	a := makeTIFF(t, filepath.Join(dir, "a.tif"), tiff{w: 3, h: 1, geo: northUp(0, 0, 10), crs: "EPSG:32617", nodata: value(0)}, []uint8{1, 0, 1})
	b := makeTIFF(t, filepath.Join(dir, "b.tif"), tiff{w: 3, h: 1, geo: northUp(10, 0, 10), crs: "EPSG:32617", nodata: value(255)}, []uint8{2, 2, 2})
	got, counts, _ := classes(t, Source{Paths: []string{a, b}}, utm17(t, 4, 1, 0, 0, 10), byCode(1, 2))
	if want := []uint8{1, 2, 1, 2}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if want := (map[int]int64{1: 2, 2: 2}); !maps.Equal(counts, want) {
		t.Errorf("counts %v, want %v", counts, want)
	}
}

func TestCodesAreCountedInsideTheBounds(t *testing.T) {
	path := makeTIFF(t, filepath.Join(t.TempDir(), "cover.tif"), tiff{w: 4, h: 2, geo: northUp(500000, 4e6, 10), crs: "EPSG:32617", nodata: value(0)},
		[]uint16{1101, 90, 90, 0, 1101, 11, 90, 0})
	s := Source{Paths: []string{path}}
	all, err := Codes(t.Context(), s, nil, "")
	if want := (map[int]int64{11: 1, 90: 3, 1101: 2}); err != nil || !maps.Equal(all, want) {
		t.Errorf("got %v (%v), want %v", all, err, want)
	}
	b := [4]float64{500010, 4e6 - 20, 500030, 4e6 - 10} // the middle of the lower row
	some, err := Codes(t.Context(), s, &b, wktOf(t, "EPSG:32617"))
	if want := (map[int]int64{11: 1, 90: 1}); err != nil || !maps.Equal(some, want) {
		t.Errorf("got %v (%v), want %v", some, err, want)
	}
	away := [4]float64{0, 0, 10, 10}
	none, err := Codes(t.Context(), s, &away, wktOf(t, "EPSG:32617"))
	if err != nil || len(none) != 0 {
		t.Errorf("got %v (%v), want none", none, err)
	}
}
