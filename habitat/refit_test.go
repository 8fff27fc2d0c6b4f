package habitat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"rillwood/raster"
)

// hillLayers are the terms of an invented ground: waves of several lengths, so
// that no term is another in disguise.
func hillLayers() map[string]func(x, y int) uint16 {
	wave := func(x, y int, l, m float64) float64 {
		return 0.5 + 0.25*(math.Sin(float64(x)/l)+math.Cos(float64(y)/m))
	}
	return map[string]func(x, y int) uint16{
		"relative-height": func(x, y int) uint16 { return uint16(256 * math.Exp(-1.3+4*wave(x, y, 7, 11))) },
		"brook-height":    func(x, y int) uint16 { return uint16(256 * math.Exp(-1.3+4*wave(x, y, 13, 5))) },
		"slope":           func(x, y int) uint16 { return uint16(64 * 40 * wave(x, y, 3, 17)) },
		"stream-distance": func(x, y int) uint16 { return uint16(4 * 1500 * wave(x, y, 23, 29)) },
	}
}

// drawnReference writes a raster of codes, 7 = bottom and 3 = not, drawn with
// given weights; beyond column 380 nothing is mapped (code 99).
func drawnReference(t *testing.T, r *Run, weights []float64, flip bool) string {
	t.Helper()
	cells := make([]int, r.Frame.Cells())
	for i := range cells {
		cells[i] = i
	}
	terms, err := r.TermsOf(t.Context(), cells)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(11, 7))
	path := filepath.Join(t.TempDir(), "alluvium.tif")
	err = raster.WriteCOG(t.Context(), path, r.Frame, raster.TIFFOptions{Workers: 1, Nearest: true}, func(y, n int, dst []uint8) error {
		for i := range dst[:n*r.Frame.W] {
			v := terms[y*r.Frame.W+i].vector()
			dst[i] = 3
			if rng.Float64() < Logistic(sumProduct(weights, v[:])) != flip {
				dst[i] = 7
			}
			if i%r.Frame.W > 380 {
				dst[i] = 99
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// A layer drawn with known weights gives those weights back within their
// doubt, and beats the profile on blocks that were not fitted on.
func TestRefitFindsKnownWeights(t *testing.T) {
	r := openRun(t, madeRun(t, 400, 400, hillLayers(), nil, nil))
	truth := []float64{2.5, -0.9, -0.6, -1.1, -0.4}
	ref := Reference{Path: drawnReference(t, r, truth, false), Values: []string{"7"}, Known: []string{"3", "5-9"}}
	f, err := Refit(t.Context(), r, ref, RefitOptions{BlockM: 400, MaxCells: 20000})
	if err != nil {
		t.Fatal(err)
	}
	if f.Cells > 20000 || f.Cells < 12000 || f.Step != 3 || f.Blocks != 100 {
		t.Errorf("%d cells, step %d, %d blocks", f.Cells, f.Step, f.Blocks)
	}
	// The draws are independent: nothing is to be discounted.
	if f.CellWeight < 0.6 {
		t.Errorf("independent cells count %.3f each", f.CellWeight)
	}
	for i, w := range f.Weights {
		if d := math.Abs(w.After - truth[i]); d > 4*w.SD {
			t.Errorf("%s: %.3f, drawn with %.3f, sd %.3f", w.Name, w.After, truth[i], w.SD)
		}
		if !(w.Low < w.After && w.After < w.High && w.SD < w.BeforeSD) {
			t.Errorf("%s: %.3f in %.3f to %.3f, sd %.3f, before %.3f", w.Name, w.After, w.Low, w.High, w.SD, w.BeforeSD)
		}
	}
	for k, h := range f.Halves {
		if !(h.AUCFitted > h.AUCBefore && h.LossFitted < h.LossBefore) {
			t.Errorf("half %d: %+v", k+1, h)
		}
	}
	for _, line := range strings.Split(f.Text(), "\n") {
		if len([]rune(line)) > 80 {
			t.Errorf("wider than 80 columns: %q", line)
		}
	}
	p := f.Profile
	if p.Name != "elm-bottoms-refitted" || p.Posterior == nil || p.Posterior.Records != f.Effective || p.Bottomland.WeightSlope.Value != f.Weights[3].After {
		t.Errorf("new profile %q, posterior %+v", p.Name, p.Posterior)
	}
	if last := p.Provenance[len(p.Provenance)-1]; !strings.Contains(last, `fitted to "alluvium.tif", codes 7 of 3, 5-9, on run made`) || strings.Contains(last, os.TempDir()) {
		t.Errorf("provenance %q", last)
	}
	// It is read back as it was written, an old file is left alone, and the
	// same layer again is noticed.
	file := filepath.Join(t.TempDir(), "new.yaml")
	if err := p.Write(file); err != nil {
		t.Fatal(err)
	}
	if _, err := LoadProfile(file); err != nil {
		t.Error(err)
	}
	if err := p.Write(file); err == nil {
		t.Error("an old profile was overwritten")
	}
	r.Record.Profile.Bottomland = p.Bottomland
	g, err := Refit(t.Context(), r, ref, RefitOptions{BlockM: 400, MaxCells: 20000, Profile: file})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(g.Notes, func(n string) bool { return strings.Contains(n, "counts twice") }) || g.Profile.Name != p.Name {
		t.Errorf("fitted twice: %q", g.Notes)
	}
	// The same run and layer give the same bits.
	r = openRun(t, r.Folder)
	again, err := Refit(t.Context(), r, ref, RefitOptions{BlockM: 400, MaxCells: 20000, Workers: 1})
	if err != nil || fmt.Sprint(again.Profile.Posterior) != fmt.Sprint(p.Posterior) || fmt.Sprint(again.Weights) != fmt.Sprint(f.Weights) {
		t.Errorf("another answer the second time: %v, %v", again.Weights, err)
	}
}

// A layer that calls high ground bottom cannot turn a weight's sign.
func TestRefitKeepsSigns(t *testing.T) {
	r := openRun(t, madeRun(t, 400, 400, hillLayers(), nil, nil))
	ref := Reference{Path: drawnReference(t, r, []float64{2.5, -0.9, -0.6, -1.1, -0.4}, true), Values: []string{"7"}, Known: []string{"3", "7"}}
	f, err := Refit(t.Context(), r, ref, RefitOptions{BlockM: 400})
	if err != nil {
		t.Fatal(err)
	}
	held := 0
	for _, w := range f.Weights[1:] {
		if w.After > 0 || w.High > 0 {
			t.Errorf("%s rises to %.3f (%.3f to %.3f)", w.Name, w.After, w.Low, w.High)
		}
		if w.Held {
			held++
		}
	}
	if held < 3 || !strings.Contains(f.Text(), "held at 0") {
		t.Errorf("%d weights held: %s", held, f.Text())
	}
}

func TestRefitRefuses(t *testing.T) {
	r := openRun(t, madeRun(t, 60, 60, hillLayers(), nil, nil))
	codes := filepath.Join(t.TempDir(), "codes.tif")
	err := raster.WriteCOG(t.Context(), codes, r.Frame, raster.TIFFOptions{Workers: 1, Nearest: true}, func(y, n int, dst []uint8) error {
		for i := range dst[:n*60] {
			dst[i] = uint8(1 + (y+i/60+i%60)%2)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	shapes := filepath.Join(t.TempDir(), "shapes.geojson")
	text := `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"unit":"Qal"},"geometry":{"type":"Polygon","coordinates":[[[-84,41],[-82,41],[-82,42],[-84,42],[-84,41]]]}}]}`
	if err := os.WriteFile(shapes, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		ref  Reference
		o    RefitOptions
		want string
	}{
		{"no file", Reference{Path: "none.tif", Values: []string{"1"}}, RefitOptions{}, "none.tif"},
		{"field of a raster", Reference{Path: codes, Field: "unit", Values: []string{"1"}}, RefitOptions{}, "a raster has no field"},
		{"inside of a raster", Reference{Path: codes, Inside: true}, RefitOptions{}, "in place of --inside"},
		{"no codes", Reference{Path: codes}, RefitOptions{}, "which codes are bottom"},
		{"no number", Reference{Path: codes, Values: []string{"Qal"}}, RefitOptions{}, `found "Qal"`},
		{"range turned round", Reference{Path: codes, Values: []string{"9-1"}}, RefitOptions{}, `found "9-1"`},
		{"codes elsewhere", Reference{Path: codes, Values: []string{"40"}}, RefitOptions{}, "codes there: 1, 2"},
		{"blocks too large", Reference{Path: codes, Values: []string{"1"}}, RefitOptions{BlockM: 300}, "smaller blocks with --block"},
		{"blocks too small", Reference{Path: codes, Values: []string{"1"}}, RefitOptions{BlockM: 5}, "block: 5 m"},
		{"no field", Reference{Path: shapes}, RefitOptions{}, "which polygons are bottom"},
		{"inside and field", Reference{Path: shapes, Inside: true, Field: "unit"}, RefitOptions{}, "leave out --field"},
		{"values elsewhere", Reference{Path: shapes, Field: "unit", Values: []string{"Qt"}}, RefitOptions{}, "values there: Qal"},
		{"one kind", Reference{Path: shapes, Field: "unit", Values: []string{"Qal"}}, RefitOptions{BlockM: 100}, "0 of other ground"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Refit(t.Context(), r, c.ref, c.o)
			if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("got %v, want one line with %q", err, c.want)
			}
		})
	}
	layers := hillLayers()
	delete(layers, "slope")
	short := openRun(t, madeRun(t, 60, 60, layers, nil, nil))
	if _, err := Refit(t.Context(), short, Reference{Path: codes, Values: []string{"1"}}, RefitOptions{}); err == nil || !strings.Contains(err.Error(), "no layer slope; add it to output.layers") {
		t.Errorf("a run without its terms: %v", err)
	}
}

// AUC through the library against mid-ranks, ties and all, and the mean
// logarithmic loss by its definition.
func TestRefitScores(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 50 {
		d := &refitData{blocks: 1}
		var cases, others []float32
		want := 0.0
		for i := range 40 + rng.IntN(100) {
			v, is := float64(rng.IntN(12))/4-1.5, i == 0 || i > 1 && rng.IntN(3) == 0
			d.add([]float64{v}, is, 0, 0)
			p := 1 / (1 + math.Exp(-v))
			if is {
				cases = append(cases, float32(v))
				want -= math.Log(p)
			} else {
				others = append(others, float32(v))
				want -= math.Log(1 - p)
			}
		}
		got, loss := d.judged([]float64{1})
		if math.Abs(got-auc(cases, others)) > 1e-9 || math.Abs(loss-want/float64(len(d.x))) > 1e-9 {
			t.Fatalf("AUC %.6f, want %.6f; loss %.6f, want %.6f", got, auc(cases, others), loss, want/float64(len(d.x)))
		}
	}
}

// Cells that are copies of one another count as one.
func TestBlockEffectOfCopies(t *testing.T) {
	const copies, blocks = 25, 3000
	rng := rand.New(rand.NewPCG(9, 9))
	d := &refitData{blocks: blocks}
	beta := []float64{0.3, -0.5, -0.2, -0.4, -0.6}
	information := mat.NewSymDense(numTerms, nil)
	for b := range blocks {
		x := []float64{1, rng.NormFloat64(), rng.NormFloat64(), rng.Float64(), rng.Float64()}
		p := Logistic(sumProduct(beta, x))
		is := rng.Float64() < p
		for range copies {
			d.add(x, is, b, 0)
		}
		information.SymRankOne(information, copies*p*(1-p), mat.NewVecDense(numTerms, x))
	}
	var c mat.Cholesky
	if !c.Factorize(information) {
		t.Fatal("singular")
	}
	inverse := mat.NewSymDense(numTerms, nil)
	if err := c.InverseTo(inverse); err != nil {
		t.Fatal(err)
	}
	if got := d.blockEffect(beta, inverse); math.Abs(got-copies) > 2 {
		t.Errorf("design effect %.2f, want about %d", got, copies)
	}
}

// Polygons: inside ones are bottom, the rest of the box is not, beyond it
// nothing is known; by field, overlaps are bottom and gaps are not known.
func TestReferencePolygons(t *testing.T) {
	crs, err := raster.UTM(-83, 41)
	if err != nil {
		t.Fatal(err)
	}
	f := raster.Frame{W: 10, H: 10, X0: 300000, Y0: 4600100, Cell: 10, WKT: crs.WKT, EPSG: crs.EPSG, Name: crs.Name}
	box := func(unit string, x0, y0, x1, y1 int) string {
		c := func(x, y int) string { return fmt.Sprintf("[%d,%d]", 300000+10*x, 4600000+10*y) }
		return fmt.Sprintf(`{"type":"Feature","properties":{"unit":%q},"geometry":{"type":"Polygon","coordinates":[[%s,%s,%s,%s,%s]]}}`, unit, c(x0, y0), c(x1, y0), c(x1, y1), c(x0, y1), c(x0, y0))
	}
	path := filepath.Join(t.TempDir(), "units.geojson")
	text := fmt.Sprintf(`{"type":"FeatureCollection","features":[%s,%s,%s]}`, box("Qal", 0, 0, 4, 4), box("Qt", 2, 2, 8, 8), box("water", 8, 0, 9, 1))
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	count := func(ref Reference) (n [3]int) {
		ref.Path, ref.CRS = path, fmt.Sprintf("EPSG:%d", f.EPSG)
		marks, _, err := referenceOn(t.Context(), ref, f, 1)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range marks.Mem() {
			n[m]++
		}
		return n
	}
	for _, c := range []struct {
		name string
		ref  Reference
		want [3]int // unknown, other, bottom
	}{
		{"by field", Reference{Field: "unit", Values: []string{"Qal"}}, [3]int{51, 33, 16}},
		{"known only", Reference{Field: "unit", Values: []string{"Qal"}, Known: []string{"Qt"}}, [3]int{52, 32, 16}},
		{"inside, box 9 × 8", Reference{Inside: true}, [3]int{28, 23, 49}},
		{"where", Reference{Inside: true, Where: "unit = 'Qal'"}, [3]int{28, 56, 16}},
	} {
		if got := count(c.ref); got != c.want {
			t.Errorf("%s: unknown, other, bottom %v, want %v", c.name, got, c.want)
		}
	}
}
