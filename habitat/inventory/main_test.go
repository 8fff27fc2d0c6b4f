package inventory

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"rillwood/raster"
)

// woods are hosts as the built-in profile has them, densities and shares too.
func woods() []Host {
	return []Host{
		{"american-elm", "American elm", "Ulmus americana", 972, 30, 0.3},
		{"slippery-elm", "slippery elm", "Ulmus rubra", 975, 10, 0.3},
		{"eastern-cottonwood", "eastern cottonwood", "Populus deltoides", 742, 25, 0.1},
		{"quaking-aspen", "quaking aspen", "Populus tremuloides", 746, 75, 0.1},
		{"black-willow", "black willow", "Salix nigra", 922, 40, 0.1},
		{"green-ash", "green ash", "Fraxinus pennsylvanica", 544, 40, 0.5},
		{"silver-maple", "silver maple", "Acer saccharinum", 317, 80, 0.05},
	}
}

// ground is a frame in UTM zone 17 north whose north-west corner is (500000, 4400000).
func ground(t testing.TB, w, h int, cell float64) raster.Frame {
	t.Helper()
	c, err := raster.ParseCRS("EPSG:32617")
	if err != nil {
		t.Fatal(err)
	}
	return raster.Frame{W: w, H: h, X0: 500000, Y0: 4400000, Cell: cell, WKT: c.WKT, EPSG: c.EPSG, Name: c.Name}
}

func write(t testing.TB, name, text string) string {
	t.Helper()
	p := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return p
}

// square is a GeoJSON file of rectangles (west, south, east, north in the
// frame's metres); tests name its system.
func square(t testing.TB, boxes ...[4]float64) string {
	t.Helper()
	var parts []string
	for _, b := range boxes {
		parts = append(parts, fmt.Sprintf(`{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[%[1]v,%[2]v],[%[3]v,%[2]v],[%[3]v,%[4]v],[%[1]v,%[4]v],[%[1]v,%[2]v]]]}}`, b[0], b[1], b[2], b[3]))
	}
	return write(t, "ground.geojson", `{"type":"FeatureCollection","features":[`+strings.Join(parts, ",")+`]}`)
}

func cellsOf[T raster.Elem](t testing.TB, p *raster.Plane[T]) []T {
	t.Helper()
	w, h := p.Size()
	out := make([]T, w*h)
	if err := p.Read(0, 0, w, h, out); err != nil {
		t.Fatal(err)
	}
	return out
}

// some fails unless one of the notes holds every word.
func some(t testing.TB, notes []string, words ...string) {
	t.Helper()
next:
	for _, n := range notes {
		for _, w := range words {
			if !strings.Contains(n, w) {
				continue next
			}
		}
		return
	}
	t.Errorf("no note with %q among:\n%s", words, strings.Join(notes, "\n"))
}

// python runs a script with a Python that has the module.
func python(t *testing.T, module, script string, args ...string) string {
	t.Helper()
	for _, p := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(p, "-c", "import "+module).Run() != nil {
			continue
		}
		out, err := exec.Command(p, append([]string{"-c", script}, args...)...).CombinedOutput()
		if err != nil {
			t.Fatalf("%s: %v\n%s", module, err, out)
		}
		return string(out)
	}
	t.Skipf("no python3 with %s here: the comparison with it is not run", module)
	return ""
}
