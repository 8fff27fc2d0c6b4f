package inventory

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// utm is the system of the test frame.
const utm = "EPSG:32617"

func read(t testing.TB, s TreeSource, f raster.Frame) ([]Measured, []string) {
	t.Helper()
	out, notes, err := ReadTrees(context.Background(), s, woods(), f, nil, 2)
	if err != nil {
		t.Fatal(err)
	}
	return out, notes
}

// of finds a host among what was measured.
func of(t testing.TB, all []Measured, id string) Measured {
	t.Helper()
	for _, m := range all {
		if woods()[m.Host].ID == id {
			return m
		}
	}
	t.Fatalf("%s is not among what was measured", id)
	return Measured{}
}

// A regular wood in a rectangle has one density, in its corners as in its
// middle.
func TestEdgeCorrectionOfAnEvenWood(t *testing.T) {
	f := ground(t, 140, 120, 10)
	var b strings.Builder
	b.WriteString("x,y,spcd,trees\n")
	for x := 500200.; x < 501100; x += 30 { // four trees for every 900 m²: 44.4 a hectare
		for y := 4398900.; y < 4399800; y += 30 {
			fmt.Fprintf(&b, "%g,%g,972,4\n", x+15, y+15)
		}
	}
	csv := write(t, "wood.csv", b.String())
	all, _ := read(t, TreeSource{CSV: csv, CRS: utm, Extent: vector.Query{Path: square(t, [4]float64{500200, 4398900, 501100, 4399800}), CRS: utm}, BandwidthM: 60}, f)
	m := of(t, all, "american-elm")
	trees, weight := cellsOf(t, m.TreesHa), cellsOf(t, m.Weight)
	for _, p := range [][2]int{{60, 60}, {20, 20}, {109, 20}, {20, 109}, {109, 109}, {60, 20}, {20, 60}, {22, 107}} {
		if got := float64(trees[p[1]*f.W+p[0]]) / TreesUnit; math.Abs(got-4/0.09) > 0.01*4/0.09 {
			t.Errorf("cell %v: %.3f trees per hectare, want 44.44 within 1 %%", p, got)
		}
	}
	if got := weight[60*f.W+60]; got != WeightUnit {
		t.Errorf("weight in the middle: %d, want %d", got, WeightUnit)
	}
	for i, w := range weight {
		x, y := i%f.W, i/f.W
		in := x >= 20 && x < 110 && y >= 20 && y < 110
		if !in && (w != 0 || trees[i] != 0) {
			t.Fatalf("cell %d,%d outside: weight %d, trees %d", x, y, w, trees[i])
		}
		// 30 m is half the bandwidth; the middle of cell k from the border lies k + ½ cells inside.
		if in {
			d := float64(min(x-20, 109-x, y-20, 109-y)) + 0.5
			want := math.Min(d/3, 1)
			if want = math.Round(250 * want * want * (3 - 2*want)); float64(w) != want {
				t.Fatalf("cell %d,%d, %g cells inside: weight %d, want %g", x, y, d, w, want)
			}
		}
	}
	if want := int64(90 * 90); m.Cells != want {
		t.Errorf("%d cells with a weight, want %d", m.Cells, want)
	}
}

// Trees far from the border and from each other's ends are all found again in
// the density; none is made, none lost. Trees outside the map but near count
// for the cells inside.
func TestTotalsAreKept(t *testing.T) {
	f := ground(t, 100, 100, 10)
	rng := rand.New(rand.NewPCG(3, 3))
	var b strings.Builder
	b.WriteString("x,y,species,expansion\n")
	total := 0
	for range 600 {
		n := 1 + rng.IntN(4)
		total += n
		fmt.Fprintf(&b, "%.2f,%.2f,Ulmus americana,%d\n", 500300+400*rng.Float64(), 4399300+400*rng.Float64(), n)
	}
	s := TreeSource{CSV: write(t, "t.csv", b.String()), CRS: utm, BandwidthM: 50, Extent: vector.Query{Path: square(t, [4]float64{499000, 4398000, 502000, 4401000}), CRS: utm}}
	all, _ := read(t, s, f)
	sum := 0.0
	for _, v := range cellsOf(t, all[0].TreesHa) {
		sum += float64(v) / TreesUnit * f.CellHa()
	}
	if math.Abs(sum-float64(total)) > 0.005*float64(total) {
		t.Errorf("the density holds %.1f trees, the records %d", sum, total)
	}
	// Cut the frame: its cells must not notice.
	whole := cellsOf(t, all[0].TreesHa)
	cut, _ := read(t, s, f.Cut(35, 40, 30, 20))
	for i, v := range cellsOf(t, cut[0].TreesHa) {
		if want := whole[(40+i/30)*f.W+35+i%30]; v != want {
			t.Fatalf("cell %d of the cut map: %d, want %d", i, v, want)
		}
	}
	for i, v := range cellsOf(t, cut[0].Weight) {
		if v != WeightUnit {
			t.Fatalf("cell %d of the cut map: weight %d, want %d", i, v, WeightUnit)
		}
	}
}

func TestNoTreeOnSurveyedGroundIsMeasured(t *testing.T) {
	f := ground(t, 100, 50, 10)
	s := TreeSource{
		CSV: write(t, "t.csv", "x,y,species\n500055,4399945,elm\n500055,4399955,Norway spruce\n"), CRS: utm, BandwidthM: 20,
		Extent: vector.Query{Path: square(t, [4]float64{500000, 4399500, 501000, 4400000}), CRS: utm},
	}
	all, notes := read(t, s, f)
	if len(all) != 2 {
		t.Fatalf("%d hosts measured, want the two elms that share the record", len(all))
	}
	m := of(t, all, "american-elm")
	i := 25*f.W + 70
	if trees, weight := cellsOf(t, m.TreesHa)[i], cellsOf(t, m.Weight)[i]; trees != 0 || weight != WeightUnit {
		t.Errorf("far from the tree: %d trees with weight %d, want 0 with %d", trees, weight, WeightUnit)
	}
	some(t, notes, "1 record of no host", "norway spruce")
	some(t, notes, "no record of eastern cottonwood", "left to the model")
	s.Covers = []string{"green-ash", "american-elm"}
	all, _ = read(t, s, f)
	ash := of(t, all, "green-ash")
	if v := slices.Max(cellsOf(t, ash.TreesHa)); len(all) != 2 || v != 0 || ash.Cells == 0 {
		t.Errorf("ash looked for and not found: %d hosts, most %d, %d cells; want 2, 0 and some", len(all), v, ash.Cells)
	}
	s.Covers = []string{"all"}
	if all, _ = read(t, s, f); len(all) != len(woods()) {
		t.Errorf("all hosts looked for: %d measured", len(all))
	}
}

// A tree known by genus counts for each host of it by its density: 30 to 10.
func TestGenusIsSharedByDensity(t *testing.T) {
	f := ground(t, 61, 61, 10)
	all, _ := read(t, TreeSource{
		CSV: write(t, "t.csv", "x,y,spcd,expansion\n500305,4399695,970,100\n"), CRS: utm, BandwidthM: 30,
		Extent: vector.Query{Path: square(t, [4]float64{490000, 4390000, 510000, 4410000}), CRS: utm},
	}, f)
	a, b := cellsOf(t, of(t, all, "american-elm").TreesHa), cellsOf(t, of(t, all, "slippery-elm").TreesHa)
	i := 30*f.W + 30
	// 75 and 25 trees under a kernel of 3 cells: k₀² of them in each 0.01 ha.
	k := gaussian(3)[0]
	for n, v := range map[float64]uint16{75: a[i], 25: b[i]} {
		if want := math.Round(n * k * k / 0.01 * TreesUnit); float64(v) != want {
			t.Errorf("%g trees: stored %d, want %g", n, v, want)
		}
	}
}

func TestSourcesOfPointsAndCSVAgree(t *testing.T) {
	f := ground(t, 70, 60, 10)
	rng := rand.New(rand.NewPCG(8, 1))
	layer := vector.OutLayer{Name: "trees", Geometry: "Point", Fields: []vector.FieldInfo{{Name: "SPCD", Type: "Integer64"}, {Name: "DIA", Type: "Real"}, {Name: "STATUSCD", Type: "Integer64"}}}
	var b strings.Builder
	b.WriteString("Lon,Lat,SPCD,DIA,STATUSCD\n")
	back, err := vector.ToWGS84(f.WKT)
	if err != nil {
		t.Fatal(err)
	}
	for range 200 {
		p := orb.Point{500000 + 700*rng.Float64(), 4399400 + 600*rng.Float64()}
		code, inches, status := []int64{972, 544, 131, 970}[rng.IntN(4)], 1+20*rng.Float64(), int64(rng.IntN(4))
		layer.Features = append(layer.Features, vector.Feature{Geometry: p, Values: []vector.Value{vector.IntValue(code), vector.FloatValue(inches), vector.IntValue(status)}})
		g, err := back.Point(p)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&b, "%.12f,%.12f,%d,%v,%d\n", g[0], g[1], code, inches, status)
	}
	file := t.TempDir() + "/trees.gpkg"
	if err := vector.WriteGeoPackage(file, f.WKT, []vector.OutLayer{layer}); err != nil {
		t.Fatal(err)
	}
	extent := vector.Query{Path: square(t, [4]float64{500100, 4399450, 500600, 4399900}), CRS: utm}
	one, notes := read(t, TreeSource{Points: vector.Query{Path: file}, DiameterUnit: "in", Extent: extent}, f)
	two, _ := read(t, TreeSource{CSV: write(t, "trees.csv", b.String()), DiameterUnit: "in", Extent: extent}, f)
	some(t, notes, "under 10 cm not counted")
	some(t, notes, "removed trees not counted")
	some(t, notes, "outside the surveyed ground not counted")
	if len(one) != 3 || len(two) != 3 {
		t.Fatalf("%d and %d hosts, want 3", len(one), len(two))
	}
	for i := range one {
		if one[i].Records != two[i].Records || one[i].Records == 0 {
			t.Errorf("host %d: %d records from the layer, %d from the CSV", i, one[i].Records, two[i].Records)
		}
		if !slices.Equal(cellsOf(t, one[i].TreesHa), cellsOf(t, two[i].TreesHa)) || !slices.Equal(cellsOf(t, one[i].DeadShare), cellsOf(t, two[i].DeadShare)) {
			t.Errorf("host %d: layer and CSV differ", i)
		}
	}
}
