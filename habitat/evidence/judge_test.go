package evidence

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/internal/shareddata"
	"rillwood/raster"
)

// Taken before anything sets up GDAL, whose settings are this program's own.
var environment = os.Environ()

// noModule is how a judge's script ends where a module is missing.
const noModule = 77

// python runs a script with a Python that has the modules, or skips the test.
func python(t *testing.T, modules, script string, args ...string) []byte {
	t.Helper()
	guarded := fmt.Sprintf("import sys\ntry:\n import %s\nexcept ImportError:\n sys.exit(%d)\n%s", modules, noModule, script)
	for _, name := range []string{"python3", "/usr/bin/python3"} {
		cmd := exec.Command(name, append([]string{"-c", guarded}, args...)...)
		cmd.Env = environment
		var diagnostics strings.Builder
		cmd.Stderr = &diagnostics
		out, err := cmd.Output()
		if err == nil {
			return out
		}
		if cmd.ProcessState != nil && cmd.ProcessState.ExitCode() != noModule {
			t.Fatalf("judge failed: %v\n%s", err, diagnostics.String())
		}
	}
	t.Skipf("no python3 with %s here: this judge is not heard", modules)
	return nil
}

// Polygons burnt one after the other by rasterio (GDAL's own rasterising,
// centre rule): first those of shift 0, then the others. Prints the cells as bytes.
const burnScript = `
path, w, h, north = sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), float(sys.argv[4])
place = {"none": 1, "occasional": 2, "very rare": 3}
shapes = [({"type": "Polygon", "coordinates": g}, place[v]) for g, v in json.load(open(path)) if v in place]
shapes = [s for s in shapes if s[1] == 3] + [s for s in shapes if s[1] != 3]
sys.stdout.buffer.write(rasterio.features.rasterize(shapes, out_shape=(h, w), transform=affine.Affine(10, 0, 500000, 0, -10, north), dtype="uint8").tobytes())
`

// Random overlapping triangles and quadrangles, corners off the cells' centres.
func TestPolygonsAgainstRasterio(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 4))
	f := utm(t, 83, 71)
	var shapes []shape
	for range 60 {
		x, y := rng.Float64()*900-50, rng.Float64()*800-50
		ring := orb.Ring{}
		for _, turn := range [][2]float64{{0, 0}, {1, 0.1}, {1.1, 1}, {0.2, 0.9}} {
			ring = append(ring, orb.Point{500000 + x + turn[0]*200*rng.Float64(), 4000000 + y + turn[1]*200*rng.Float64()})
		}
		shapes = append(shapes, shape{orb.Polygon{append(ring, ring[0])}, []any{[]any{"none", "occasional", "very rare", nil, "odd"}[rng.IntN(5)]}})
	}
	q := layer(t, f, "Polygon", []string{"flooding"}, shapes...)
	table := mustTable(t, header+"\nflooding,None,-1,,\nflooding,Occasional,2,,\nflooding,Very rare,0,,\n")
	items, _ := read(t, Source{Name: "soils", Query: q, Table: table}, f)
	got := cellsOf(t, items[0].Plane)
	var drawn [][2]any
	for _, s := range shapes {
		drawn = append(drawn, [2]any{s.g, s.values[0]})
	}
	text, err := json.Marshal(drawn)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "drawn.json")
	if err := os.WriteFile(path, text, 0o644); err != nil {
		t.Fatal(err)
	}
	want := python(t, "json, affine, rasterio.features", burnScript, path, fmt.Sprint(f.W), fmt.Sprint(f.H), fmt.Sprint(f.Y0))
	if len(want) != len(got) {
		t.Fatalf("the judge gave %d cells of %d", len(want), len(got))
	}
	kinds := map[uint8]int{}
	for i := range got {
		kinds[got[i]]++
		if got[i] != want[i] {
			t.Fatalf("cell %d, %d is %d, rasterio has %d", i%f.W, i/f.W, got[i], want[i])
		}
	}
	if len(kinds) != 4 {
		t.Errorf("cells by place: %v; the test means to have all four", kinds)
	}
	// In files and with other workers the same.
	scratch, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer scratch.Close()
	again, _, err := Read(t.Context(), Source{Name: "soils", Query: q, Table: table}, f, scratch, 5)
	if err != nil {
		t.Fatal(err)
	}
	if again[0].Plane.Mem() != nil || !slices.Equal(cellsOf(t, again[0].Plane), got) || !slices.Equal(again[0].Classes, items[0].Classes) {
		t.Errorf("in files: other cells or counts")
	}
	again[0].Close()
}

// CombinePlanes against the rule written with numpy, in double precision.
const weighScript = `
np = numpy
n, t, cap = int(sys.argv[2]), float(sys.argv[3]), float(sys.argv[4])
s = np.fromfile(sys.argv[1]).reshape(n, -1)
w = (t ** np.arange(n))[:, None]
up = (np.sort(np.maximum(s, 0), axis=0)[::-1] * w).sum(axis=0)
down = (np.sort(np.maximum(-s, 0), axis=0)[::-1] * w).sum(axis=0)
v = np.clip(up - down, -cap, cap) * 16
sys.stdout.buffer.write(np.trunc(v + np.copysign(.5, v)).astype("int8").tobytes())
`

func TestCombinePlanesAgainstNumpy(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 28))
	f := raster.Frame{W: 300, H: 200, Cell: 10}
	items := randomItems(rng, f, 5, 9, false)
	data := make([]byte, 0, 8*5*f.Cells())
	for _, it := range items {
		for _, v := range it.Plane.Mem() {
			s := 0.0
			if v > 0 {
				s = it.Classes[v-1].Shift
			}
			var err error
			if data, err = binary.Append(data, binary.NativeEndian, s); err != nil {
				t.Fatal(err)
			}
		}
	}
	path := filepath.Join(t.TempDir(), "shifts.bin")
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	// A quarter and a whole cap: sums stay exact, so that halves of a step agree.
	want := python(t, "numpy", weighScript, path, "5", "0.25", "4")
	p, _, err := CombinePlanes(t.Context(), items, Rule{Temper: 0.25, Cap: 4, Certainty: 3}, f, nil, 2)
	if err != nil {
		t.Fatal(err)
	}
	got := cellsOf(t, p)
	if len(want) != len(got) {
		t.Fatalf("the judge gave %d cells of %d", len(want), len(got))
	}
	for i := range got {
		if got[i] != int8(want[i]) {
			t.Fatalf("cell %d is %d steps, numpy has %d", i, got[i], int8(want[i]))
		}
	}
}

// A published raster of flooding frequency (Meuse at Stein: once in 2, 10, 50
// years; Rikken and Van Rijn 1993), on its own grid: as many cells of each class
// as rasterio counts in the file.
func TestRealFloodingFrequency(t *testing.T) {
	path := shareddata.Path(t, "realdata", "08-meuse-nl", "meuse_ffreq.tif")
	info, err := raster.Describe(path, "")
	if err != nil {
		t.Fatal(err)
	}
	f := raster.Frame{W: info.W, H: info.H, X0: info.Geo[0], Y0: info.Geo[3], Cell: info.Geo[1], WKT: info.CRS.WKT, EPSG: info.CRS.EPSG}
	table := mustTable(t, header+"\nflooding,1,2,once in 2 years,\nflooding,2,2,once in 10 years,\nflooding,3,1,once in 50 years,\n")
	items, warnings := read(t, Source{Name: "flooding", Raster: &raster.Source{Paths: []string{path}}, Table: table, Unknown: UnknownStop}, f)
	if len(warnings) > 0 {
		t.Errorf("warnings %q", warnings)
	}
	c := counts(items[0])
	if got, want := fmt.Sprint(c["1"], c["2"], c["3"]), "779 1335 989"; got != want {
		t.Errorf("cells %s, want %s", got, want)
	}
}
