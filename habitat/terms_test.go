package habitat

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// madeRun writes a run's folder without a run: layers whose stored numbers are
// functions of the cell. Cells where hole says so have no data.
func madeRun(tb testing.TB, w, h int, layers map[string]func(x, y int) uint16, hole func(x, y int) bool, change func(*Record)) string {
	tb.Helper()
	dir := tb.TempDir()
	crs, err := raster.UTM(-83, 41)
	if err != nil {
		tb.Fatal(err)
	}
	f := raster.Frame{W: w, H: h, X0: 300000, Y0: 4600000, Cell: 10, WKT: crs.WKT, EPSG: crs.EPSG, Name: crs.Name}
	if err := os.MkdirAll(filepath.Join(dir, "layers"), 0o755); err != nil {
		tb.Fatal(err)
	}
	none := float64(storedNone)
	unit := map[string]float64{"relative-height": ratioUnit, "brook-height": ratioUnit, "slope": slopeUnit, "stream-distance": distanceUnit, "bottomland": bottomUnit, "expected-finds": findsUnit, "confidence": 1}
	p, err := LoadProfile(DefaultProfile)
	if err != nil {
		tb.Fatal(err)
	}
	rec := Record{Format: runFormat, Run: "made", Frame: recordFrame{Cell: f.Cell, Cols: w, Rows: h, Window: [4]int{0, 0, w, h}},
		Profile: recordProfile{Name: p.Name, Bottomland: p.Bottomland}, Outputs: []string{"suitability.tif"}}
	write := func(path string, scale float64, v func(x, y int) uint16) {
		o := raster.TIFFOptions{NoData: &none, Scale: scale, Workers: 2}
		err := raster.WriteCOG(tb.Context(), path, f, o, func(y, n int, dst []uint16) error {
			for i := range dst[:n*w] {
				if dst[i] = v(i%w, y+i/w); hole != nil && hole(i%w, y+i/w) {
					dst[i] = storedNone
				}
			}
			return nil
		})
		if err != nil {
			tb.Fatal(err)
		}
	}
	write(filepath.Join(dir, "suitability.tif"), 1.0/1024, func(x, y int) uint16 { return uint16((x + y) % 1025) })
	names := make([]string, 0, len(layers))
	for name := range layers {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		write(filepath.Join(dir, "layers", name+".tif"), 1/unit[name], layers[name])
		rec.Outputs = append(rec.Outputs, "layers/"+name+".tif")
	}
	if change != nil {
		change(&rec)
	}
	data, err := json.Marshal(rec)
	if err != nil {
		tb.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, recordName), data, 0o644); err != nil {
		tb.Fatal(err)
	}
	return dir
}

// roughLayers are layers whose neighbours differ, so that a cell read in the
// wrong place shows.
func roughLayers() map[string]func(x, y int) uint16 {
	return map[string]func(x, y int) uint16{
		"relative-height": func(x, y int) uint16 { return uint16(64 + (x*7+y*13)%5000) },
		"brook-height":    func(x, y int) uint16 { return uint16((x*11 + y*3) % 3000) },
		"slope":           func(x, y int) uint16 { return uint16((x*5 + y*17) % 4000) },
		"stream-distance": func(x, y int) uint16 { return uint16((x*2 + y*19) % 60000) },
		"bottomland":      func(x, y int) uint16 { return uint16((x + 3*y) % 16385) },
		"expected-finds":  func(x, y int) uint16 { return uint16((2*x + y) % 9000) },
		"confidence":      func(x, y int) uint16 { return uint16((x + y) % 3) },
	}
}

func openRun(tb testing.TB, dir string) *Run {
	tb.Helper()
	r, err := OpenRun(dir)
	if err != nil {
		tb.Fatal(err)
	}
	return r
}

// Terms read through blocks are those of the stored numbers, at cells of every
// block, at its corners, in any order and more than once.
func TestTermsAtEveryBlock(t *testing.T) {
	layers := roughLayers()
	hole := func(x, y int) bool { return x > 900 && y < 30 }
	r := openRun(t, madeRun(t, 1100, 700, layers, hole, nil))
	if len(r.Missing) > 0 {
		t.Errorf("missing %v, want none", r.Missing)
	}
	var cells [][2]int
	for _, x := range []int{0, 511, 512, 1023, 1024, 1099} {
		for _, y := range []int{0, 511, 512, 699} {
			cells = append(cells, [2]int{x, y})
		}
	}
	rng := rand.New(rand.NewPCG(5, 8))
	for range 500 {
		cells = append(cells, [2]int{rng.IntN(1100), rng.IntN(700)})
	}
	cells = append(cells, cells[3], cells[100])
	rng.Shuffle(len(cells), func(a, b int) { cells[a], cells[b] = cells[b], cells[a] })
	to, err := vector.ToWGS84(r.Frame.WKT)
	if err != nil {
		t.Fatal(err)
	}
	points := make([]orb.Point, len(cells))
	for i, c := range cells {
		e, n := r.Frame.Center(c[0], c[1])
		if points[i], err = to.Point(orb.Point{e + 3*rng.Float64(), n - 3*rng.Float64()}); err != nil {
			t.Fatal(err)
		}
	}
	got, err := r.TermsAt(points)
	if err != nil {
		t.Fatal(err)
	}
	b := r.Record.Profile.Bottomland
	holes := 0
	for i, c := range cells {
		x, y := c[0], c[1]
		g := got[i]
		if g.Cell != y*1100+x {
			t.Fatalf("place %d: cell %d, want %d", i, g.Cell, y*1100+x)
		}
		if hole(x, y) {
			holes++
			if g.OK || g.Why == "" || !math.IsNaN(g.Suitability) || g.Confidence != -1 {
				t.Errorf("cell %d, %d has no data, got %+v", x, y, g)
			}
			continue
		}
		v := func(layer string, unit float64) float64 { return float64(layers[layer](x, y)) / unit }
		lnR, lnSmall := math.Log(v("relative-height", 256)), math.Log(max(v("brook-height", 256), 1.0/512))
		slope, m := v("slope", 64), v("stream-distance", 4)
		for _, q := range []struct {
			name      string
			got, want float64
		}{
			{"LnR", g.LnR, lnR}, {"LnSmall", g.LnSmall, lnSmall}, {"LnSlope", g.LnSlope, math.Log(1 + slope)}, {"Km", g.Km, m / 1000},
			{"Logit", g.Logit, b.Logit(lnR, lnSmall, slope, m)}, {"B", g.B, v("bottomland", 16384)},
			{"Suitability", g.Suitability, float64((x+y)%1025) / 1024}, {"ExpectedFinds", g.ExpectedFinds, v("expected-finds", 4096)},
			{"Confidence", float64(g.Confidence), float64((x + y) % 3)}, {"Shift", g.Shift, 0},
		} {
			if !(math.Abs(q.got-q.want) < 1e-5) {
				t.Fatalf("cell %d, %d: %s %.7f, want %.7f", x, y, q.name, q.got, q.want)
			}
		}
		if !g.OK || g.Why != "" || !math.IsNaN(g.Flatness) {
			t.Errorf("cell %d, %d: OK %v, %q, flatness %v", x, y, g.OK, g.Why, g.Flatness)
		}
	}
	if holes == 0 {
		t.Error("no place fell where there is no data")
	}
}

func TestTermsOutside(t *testing.T) {
	layers := roughLayers()
	delete(layers, "bottomland")
	r := openRun(t, madeRun(t, 40, 30, layers, nil, nil))
	got, err := r.TermsAt([]orb.Point{{-83.4, 41.5}, {0, 0}, {math.NaN(), 41}, {41, -83}, {-83, 900}})
	if err != nil {
		t.Fatal(err)
	}
	for i, g := range got {
		if g.OK || g.Cell != -1 || g.Why == "" {
			t.Errorf("place %d: %+v, want it outside", i, g)
		}
	}
	if len(got) != 5 || !strings.Contains(got[4].Why, "degrees") || !strings.Contains(got[1].Why, "outside") {
		t.Errorf("got %+v", got)
	}
	if got, err := r.TermsAt(nil); err != nil || len(got) != 0 {
		t.Errorf("no place: %v, %v", got, err)
	}
	one, err := r.TermsOf(t.Context(), []int{77})
	if err != nil || !one[0].OK || one[0].B != Logistic(one[0].Logit) {
		t.Errorf("without the layer B is that of the terms: %+v, %v", one, err)
	}
}

func TestOpenRunSaysWhatIsMissing(t *testing.T) {
	layers := roughLayers()
	delete(layers, "slope")
	delete(layers, "brook-height")
	r := openRun(t, madeRun(t, 20, 20, layers, nil, func(rec *Record) { rec.Survey.Evidence.ValleyFlatness = true }))
	want := []string{"no layer brook-height: add brook-height to output.layers", "no layer slope: add slope to output.layers", "no layer valley-flatness: add valley-flatness to output.layers"}
	if len(r.Missing) != len(want) {
		t.Fatalf("missing %q", r.Missing)
	}
	for i, m := range r.Missing {
		if !strings.HasPrefix(m, want[i]) {
			t.Errorf("line %d: %q, want %q …", i, m, want[i])
		}
	}
	if err := r.Need(); err == nil || !strings.Contains(err.Error(), "no layers brook-height, slope; add them") {
		t.Errorf("Need: %v", err)
	}
	if err := r.Need("slope"); err == nil || !strings.Contains(err.Error(), "no layer slope; add it") {
		t.Errorf("Need(slope): %v", err)
	}
	if err := r.Need("bottomland"); err != nil {
		t.Errorf("Need(bottomland): %v", err)
	}
	got, err := r.TermsOf(t.Context(), []int{5})
	if err != nil || got[0].OK || got[0].Why != "the run has no layer brook-height" || math.IsNaN(got[0].LnR) {
		t.Errorf("got %+v, %v", got, err)
	}
}

func TestOpenRunRefuses(t *testing.T) {
	if _, err := OpenRun(filepath.Join(t.TempDir(), "none")); err == nil || !strings.Contains(err.Error(), "no such file") {
		t.Errorf("no folder: %v", err)
	}
	if _, err := OpenRun(t.TempDir()); err == nil || !strings.Contains(err.Error(), "holds no run.json") {
		t.Errorf("empty folder: %v", err)
	}
	for _, c := range []struct {
		name, record, want string
	}{
		{"not JSON", "{", "not the record of a run"},
		{"other format", `{"format": "other"}`, `format "other"`},
		{"other window", "", "not of one run"},
		{"other grid", "", "another grid"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := madeRun(t, 20, 20, roughLayers(), nil, func(rec *Record) {
				if c.name == "other window" {
					rec.Frame.Window[2] = 21
				}
			})
			if c.record != "" {
				if err := os.WriteFile(filepath.Join(dir, recordName), []byte(c.record), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			if c.name == "other grid" {
				data, err := os.ReadFile(filepath.Join(madeRun(t, 21, 20, roughLayers(), nil, nil), "layers", "slope.tif"))
				if err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(filepath.Join(dir, "layers", "slope.tif"), data, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			if _, err := OpenRun(dir); err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("got %v, want one line with %q", err, c.want)
			}
		})
	}
}

func TestRunProfile(t *testing.T) {
	r := openRun(t, madeRun(t, 20, 20, roughLayers(), nil, nil))
	if p, err := r.LoadProfile(""); err != nil || p.Name != DefaultProfile {
		t.Errorf("built-in profile: %v", err)
	}
	own := openRun(t, madeRun(t, 20, 20, roughLayers(), nil, func(rec *Record) { rec.Profile.Name = "own"; rec.Profile.Bottomland.WeightR.Value = -2 }))
	if _, err := own.LoadProfile(""); err == nil || !strings.Contains(err.Error(), "--profile") {
		t.Errorf("a profile that is not built in: %v", err)
	}
	if _, err := own.LoadProfile(DefaultProfile); err == nil || !strings.Contains(err.Error(), "not those the run") {
		t.Errorf("another profile: %v", err)
	}
}

// 10,000 places all over 20 million cells.
func BenchmarkTermsAt(b *testing.B) {
	r := openRun(b, madeRun(b, 5000, 4000, roughLayers(), nil, nil))
	rng := rand.New(rand.NewPCG(1, 2))
	cells := make([]int, 10000)
	for i := range cells {
		cells[i] = rng.IntN(r.Frame.Cells())
	}
	for b.Loop() {
		if _, err := r.TermsOf(b.Context(), cells); err != nil {
			b.Fatal(err)
		}
	}
}
