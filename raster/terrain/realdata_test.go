package terrain

import (
	"math"
	"os/exec"
	"path/filepath"
	"testing"

	"rillwood/internal/shareddata"
	"rillwood/raster"
)

// framed makes the frame of a raster's own cells.
func framed(t *testing.T, path string) raster.Frame {
	t.Helper()
	in, err := raster.Describe(path, "")
	if err != nil {
		t.Fatal(err)
	}
	return raster.Frame{W: in.W, H: in.H, X0: in.Geo[0], Y0: in.Geo[3], Cell: in.Geo[1], WKT: in.CRS.WKT, EPSG: in.CRS.EPSG, Name: in.CRS.Name}
}

// own reads a raster cell by cell.
func own(t *testing.T, path string) ([]float32, raster.Frame) {
	t.Helper()
	f := framed(t, path)
	p := raster.PlaneOf(f.W, f.H, make([]float32, f.Cells()))
	how, err := raster.ReadSurface(t.Context(), raster.Source{Paths: []string{path}}, f, 1, 2, p, func(float64) {})
	if err != nil {
		t.Fatal(err)
	}
	if how != raster.HowCopied {
		t.Fatalf("%q was %s", path, how)
	}
	return p.Mem(), f
}

// A 97 × 136 tile of a radar elevation model, with the fill and accumulation
// another program made of it (KennethTM/flowdem, MIT).
func TestFillEqualsThePublishedFill(t *testing.T) {
	z, f := own(t, shareddata.Path(t, "realdata", "12-flowdem-srtm", "dem.tif"))
	want, _ := own(t, shareddata.Path(t, "realdata", "12-flowdem-srtm", "filled.tif"))
	for _, tile := range []int{0, 16} {
		got := filled(t, raster.PlaneOf(f.W, f.H, z), Options{Tile: tile, Workers: 2})
		if i := sameBits(got, want); i >= 0 {
			t.Errorf("tile %d, cell %d: got %v, want %v", tile, i, got[i], want[i])
		}
	}
}

func TestAccumulationEqualsThePublishedOne(t *testing.T) {
	path := shareddata.Path(t, "realdata", "12-flowdem-srtm", "dirs.tif")
	want, f := own(t, shareddata.Path(t, "realdata", "12-flowdem-srtm", "accum.tif"))
	// Published: 1 = W 2 = NW 3 = N 4 = NE 5 = E 6 = SE 7 = S 8 = SW.
	var index [65536]uint8
	for code := range index {
		index[code] = Out
		if code >= 1 && code <= 8 {
			index[code] = uint8((code + 3) % 8)
		}
	}
	dir := raster.PlaneOf(f.W, f.H, make([]uint8, f.Cells()))
	if _, _, err := raster.ReadClasses(t.Context(), raster.Source{Paths: []string{path}}, f, &index, NoData, 2, dir, func(float64) {}); err != nil {
		t.Fatal(err)
	}
	// A direction that leads off the map is an outlet here.
	g := ground{w: f.W, h: f.H}
	for i, d := range dir.Mem() {
		if d < 8 {
			if j, ok := g.step(i, int(d)); !ok || dir.Mem()[j] == NoData {
				dir.Mem()[i] = Out
			}
		}
	}
	for _, tile := range []int{0, 16} {
		r := &Routing{Dir: dir, Tiles: raster.NewTiling(f.W, f.H, tile)}
		a, err := Accumulate(t.Context(), r, 1, nil, Options{Workers: 2})
		if err != nil {
			t.Fatal(err)
		}
		if i := sameBits(a.Mem(), want); i >= 0 {
			t.Errorf("tile %d, cell %d: got %v, want %v", tile, i, a.Mem()[i], want[i])
		}
	}
}

// Slopes of a lidar terrain on 50 m cells against GDAL's own tool.
func TestSlopeEqualsGDALs(t *testing.T) {
	tool, err := exec.LookPath("gdaldem")
	if err != nil {
		t.Skip("gdaldem is not on the PATH")
	}
	path := shareddata.Path(t, "realdata", "02-neversink-ny", "top_50m_from_lidar.tif")
	z, f := own(t, path)
	out := filepath.Join(t.TempDir(), "slope.tif")
	if msg, err := exec.Command(tool, "slope", path, out).CombinedOutput(); err != nil {
		t.Fatalf("gdaldem: %v: %s", err, msg)
	}
	want, _ := own(t, out)
	got, err := Slope(t.Context(), raster.PlaneOf(f.W, f.H, z), f.Cell, Options{Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	n, worst := 0, 0.0
	for i, v := range got.Mem() {
		if (v != v) != (want[i] != want[i]) {
			t.Fatalf("cell %d: got %v, gdaldem has %v", i, v, want[i])
		}
		if v == v {
			n++
			worst = max(worst, math.Abs(float64(v)-float64(want[i])))
		}
	}
	if n == 0 || worst > 1e-4 {
		t.Errorf("largest difference of %d cells: %v°", n, worst)
	}
	t.Logf("%d cells, largest difference %.2g°", n, worst)
}
