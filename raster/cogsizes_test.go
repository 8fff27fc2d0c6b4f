package raster

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/airbusgeo/godal"
)

// halfOf is the overview of a map by its definition: each cell the mean of the
// cells with data among the four it covers (the edge's stand for those beyond),
// or the north-west one.
func halfOf(in []float64, w, h int, missing func(float64) bool, none float64, whole, nearest bool) (out []float64, ow, oh int) {
	ow, oh = (w+1)/2, (h+1)/2
	for y := range oh {
		for x := range ow {
			sum, n := 0.0, 0
			for k := range 4 {
				v := in[min(2*y+k/2, h-1)*w+min(2*x+k%2, w-1)]
				if !missing(v) {
					sum += v
					n++
				}
			}
			switch {
			case nearest:
				out = append(out, in[2*y*w+2*x])
			case n == 0:
				out = append(out, none)
			case whole:
				out = append(out, math.Floor(sum/float64(n)+0.5))
			default:
				out = append(out, float64(float32(sum/float64(n))))
			}
		}
	}
	return out, ow, oh
}

// checkCOG writes a map and compares it and its overviews, read by GDAL, with the definition.
func checkCOG[T CanCOG](t *testing.T, path string, w, h int, nodata *float64, nearest bool, cell func(i int) T) {
	t.Helper()
	f := utm17(t, w, h, 500000, 4e6, 10)
	o := TIFFOptions{NoData: nodata, Nearest: nearest, Workers: 2}
	err := WriteCOG(t.Context(), path, f, o, func(y, n int, dst []T) error {
		for i := range dst {
			dst[i] = cell(y*w + i)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	want := make([]float64, w*h)
	for i := range want {
		want[i] = float64(cell(i))
	}
	none := math.NaN()
	if nodata != nil {
		none = *nodata
	}
	missing := func(v float64) bool { return v != v || nodata != nil && v == *nodata }
	_, real := any(cell(0)).(float32)
	ds, err := godal.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer ds.Close()
	band := ds.Bands()[0]
	overviews := band.Overviews()
	for k := 0; ; k++ {
		if st := band.Structure(); st.SizeX != w || st.SizeY != h {
			t.Fatalf("level %d has %d × %d cells, want %d × %d", k, st.SizeX, st.SizeY, w, h)
		}
		got := make([]float64, w*h)
		if err := band.Read(0, 0, got, w, h); err != nil {
			t.Fatalf("level %d: %v", k, err)
		}
		for i := range got {
			if got[i] != want[i] && (got[i] == got[i] || want[i] == want[i]) {
				t.Fatalf("level %d, cell %d,%d: got %v, want %v", k, i%w, i/w, got[i], want[i])
			}
		}
		if k == len(overviews) {
			break
		}
		band = overviews[k]
		want, w, h = halfOf(want, w, h, missing, none, !real, nearest)
	}
	if w > cogTile || h > cogTile {
		t.Errorf("the last overview still has %d × %d cells", w, h)
	}
}

func rough(i int) uint32 { return uint32(i) * 2654435761 >> 9 }

func TestCOGOfEverySize(t *testing.T) {
	dir := t.TempDir()
	sizes := [][2]int{{1, 1}, {1, 600}, {600, 1}, {512, 512}, {513, 512}, {512, 513}, {511, 1025}, {1537, 515}, {3, 2049}}
	var paths []string
	for _, big := range []bool{false, true} {
		if big {
			sizes = [][2]int{{1, 1}, {512, 513}, {1025, 1300}}
		}
		for _, s := range sizes {
			w, h := s[0], s[1]
			name := fmt.Sprintf("%dx%d-big=%v", w, h, big)
			t.Run(name, func(t *testing.T) {
				if big {
					defer func(old int64) { classicLimit = old }(classicLimit)
					classicLimit = 0
				}
				path := func(kind string) string {
					p := filepath.Join(dir, name+kind+".tif")
					paths = append(paths, p)
					return p
				}
				holes := func(i int) float32 {
					if rough(i)%3 == 0 || i/w%16 < 4 {
						return nan32
					}
					return float32(rough(i)%1000) / 7
				}
				checkCOG(t, path("-float"), w, h, value(math.NaN()), false, holes)
				checkCOG(t, path("-undeclared"), w, h, nil, false, holes)
				checkCOG(t, path("-mark"), w, h, value(-9999), false, func(i int) float32 {
					if v := holes(i); v == v {
						return v
					}
					return -9999
				})
				checkCOG(t, path("-short"), w, h, value(65535), false, func(i int) uint16 { return uint16(65535 - rough(i)%4) })
				checkCOG(t, path("-byte"), w, h, value(0), false, func(i int) uint8 { return uint8(rough(i) % 5) })
				checkCOG(t, path("-class"), w, h, nil, true, func(i int) uint8 { return uint8(rough(i) % 250) })
				b, err := os.ReadFile(paths[len(paths)-1])
				if err != nil {
					t.Fatal(err)
				}
				if mark := map[bool]byte{false: 42, true: 43}[big]; b[2] != mark {
					t.Errorf("form %d of the format, want %d", b[2], mark)
				}
			})
		}
	}
	if err := exec.Command(python, "-c", "import osgeo_utils.samples.validate_cloud_optimized_geotiff").Run(); err != nil {
		t.Skipf("the checker of Cloud Optimized GeoTIFFs is not installed: %v", err)
	}
	script := "import sys\nfrom osgeo_utils.samples.validate_cloud_optimized_geotiff import validate\nfor p in sys.argv[1:]:\n    w, e, d = validate(p, full_check=True)\n    if w or e: print(p, w, e)\n"
	if out, err := exec.Command(python, append([]string{"-c", script}, paths...)...).CombinedOutput(); err != nil || strings.Contains(string(out), dir) {
		t.Errorf("%v: %s", err, out)
	}
}

func TestTilesOfOneValueDoNotDependOnWorkers(t *testing.T) {
	dir := t.TempDir()
	f := utm17(t, 512, 4*512, 500000, 4e6, 10)
	var want []byte
	for _, workers := range []int{1, 2, 4} {
		path := filepath.Join(dir, "flat.tif")
		err := WriteCOG(t.Context(), path, f, TIFFOptions{Workers: workers}, func(y, n int, dst []float32) error {
			v := float32(0)
			if y < 512 {
				v = float32(math.Copysign(0, -1)) // equals 0, in other bytes
			}
			for i := range dst {
				dst[i] = v
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		got, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if want == nil {
			want = got
		} else if !bytes.Equal(got, want) {
			t.Errorf("%d workers write other bytes than one", workers)
		}
		ds, err := godal.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		cells := make([]float32, f.Cells())
		if err := ds.Read(0, 0, cells, f.W, f.H); err != nil {
			t.Fatal(err)
		}
		ds.Close()
		for i, v := range cells {
			if math.Signbit(float64(v)) != (i < 512*512) {
				t.Fatalf("cell %d lost its sign", i)
			}
		}
	}
}
