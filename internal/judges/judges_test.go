package judges

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rillwood/raster"
)

// recorder keeps what a judge finds instead of failing.
type recorder struct {
	testing.TB
	found []string
}

func (r *recorder) Helper() {}
func (r *recorder) Errorf(format string, args ...any) {
	r.found = append(r.found, fmt.Sprintf(format, args...))
}

// A judge that finds nothing wrong with what is wrong is no judge.
func TestJudgesFindFault(t *testing.T) {
	text := filepath.Join(t.TempDir(), "text.tif")
	if err := os.WriteFile(text, []byte("no raster\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for name, judge := range map[string]func(testing.TB, ...string){"COG": COG, "Quiet": Quiet} {
		t.Run(name, func(t *testing.T) {
			r := &recorder{TB: t}
			judge(r, text)
			if len(r.found) == 0 || !strings.Contains(strings.Join(r.found, " "), "text.tif") {
				t.Errorf("a text file passes: %q", r.found)
			}
		})
	}
}

func TestPatchesByHand(t *testing.T) {
	dir := t.TempDir()
	crs, err := raster.UTM(15, 0)
	if err != nil {
		t.Fatal(err)
	}
	// 4 × 4 cells of 1 km east and north of 500 000, 0; value = 4·row + column.
	f := raster.Frame{W: 4, H: 4, X0: 500000, Y0: 4000, Cell: 1000, WKT: crs.WKT}
	s, err := raster.CreateTIFF[float32](filepath.Join(dir, "value.tif"), f, raster.TIFFOptions{})
	if err != nil {
		t.Fatal(err)
	}
	cells := make([]float32, 16)
	for i := range cells {
		cells[i] = float32(i)
	}
	if err := s.WriteRows(0, 4, cells); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	// In steps of 0.009 degrees from the corner. On the equator a degree is
	// 111.320 km east and 110.574 km north (WGS 84), and the middle of a UTM zone
	// has scale 0.9996, so a step is 1.0015 by 0.9948 km: 99.62 ha.
	ring := func(id int, steps ...[2]float64) string {
		var pos []string
		for _, p := range steps {
			pos = append(pos, fmt.Sprintf("[%.7f,%.7f]", 15+p[0]*0.009, p[1]*0.009))
		}
		return fmt.Sprintf(`{"type":"Feature","id":%d,"properties":{},"geometry":{"type":"Polygon","coordinates":[[%s]]}}`, id, strings.Join(append(pos, pos[0]), ","))
	}
	list := filepath.Join(dir, "list.geojson")
	text := `{"type":"FeatureCollection","features":[` + strings.Join([]string{
		ring(1, [2]float64{0, 0}, [2]float64{2, 0}, [2]float64{2, 2}, [2]float64{0, 2}), // the four cells in the south-west
		ring(2, [2]float64{1, 1}, [2]float64{2, 1}, [2]float64{2, 2}, [2]float64{1, 2}), // one of them
		ring(3, [2]float64{2, 2}, [2]float64{4, 4}, [2]float64{4, 2}, [2]float64{2, 4}), // a bow tie
	}, ",") + `]}`
	if err := os.WriteFile(list, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	p := Patches(t, list, filepath.Join(dir, "value.tif"))
	if len(p) != 3 {
		t.Fatalf("%d patches, want 3", len(p))
	}
	// Rows 2 and 3 of columns 0 and 1: 8, 9, 12, 13.
	if p[0].Cells != 4 || p[0].Mean != 10.5 || p[0].CellsHa != 400 || p[0].ShapeHa < 4*99.6 || p[0].ShapeHa > 4*99.65 || p[0].Invalid != "" {
		t.Errorf("a square of four cells: %+v", p[0])
	}
	if len(p[0].Overlaps) != 1 || p[0].Overlaps[0] != 2 || p[0].SharedM2 < 0.996e6 || p[0].SharedM2 > 0.9965e6 {
		t.Errorf("a square that covers another: %+v", p[0])
	}
	if p[1].Cells != 1 || p[1].Mean != 9 {
		t.Errorf("a square of one cell: %+v", p[1])
	}
	if p[2].Invalid == "" {
		t.Errorf("a bow tie passes: %+v", p[2])
	}
}
