package inventory

import (
	"math"
	"strings"
	"testing"

	"rillwood/vector"
)

// Diameters in inches against the least diameter in centimetres: 3.9 in is 9.9 cm, 4 in is 10.2 cm.
func TestDiameterUnits(t *testing.T) {
	f := ground(t, 40, 30, 10)
	for _, c := range []struct {
		name, column, value, unit string
		min                       float64
		want                      int
	}{
		{"just too thin in inches", "dia", "3.9", "in", 0, 0},
		{"just thick enough in inches", "dia", "4", "in", 0, 1},
		{"inches by the column's name", "DBH_in", "4", "", 0, 1},
		{"centimetres by the column's name", "dbh_cm", "4", "", 0, 0},
		{"centimetres", "dbh", "10", "cm", 0, 1},
		{"a least diameter of one's own", "dbh", "10", "cm", 12, 0},
		{"none", "dbh", "1", "cm", -1, 1},
	} {
		all, _ := read(t, TreeSource{CSV: write(t, "t.csv", "x,y,spcd,"+c.column+"\n500100,4399900,742,"+c.value+"\n"), CRS: utm, DiameterUnit: c.unit, MinCm: c.min}, f)
		if got := of(t, all, "eastern-cottonwood").Records; got != c.want {
			t.Errorf("%s: %d records, want %d", c.name, got, c.want)
		}
	}
}

// Surveyed ground in two pieces: a tree in the gap, and one beyond, count for
// nothing, and the gap is not measured. The density of one tree alone is the
// kernel by its mass on the ground.
func TestTreesOffTheSurveyedGround(t *testing.T) {
	f := ground(t, 40, 30, 10)
	s := TreeSource{
		CSV: write(t, "t.csv", "x,y,spcd\n500055,4399895,742\n500195,4399895,742\n500355,4399695,742\n"), CRS: utm, BandwidthM: 10, BlendM: -1,
		Extent: vector.Query{Path: square(t, [4]float64{500050, 4399800, 500150, 4400000}, [4]float64{500250, 4399800, 500350, 4400000}), CRS: utm},
	}
	all, notes := read(t, s, f)
	m := of(t, all, "eastern-cottonwood")
	some(t, notes, "2 records of hosts outside the surveyed ground")
	if m.Records != 1 || m.Cells != 2*10*20 {
		t.Errorf("%d records on %d cells, want 1 on 400", m.Records, m.Cells)
	}
	trees, weight := cellsOf(t, m.TreesHa), cellsOf(t, m.Weight)
	k := gaussian(1)
	// Column 5 is the western border: k₀ + k₁ + … lies on the ground, half and half of the middle.
	mass := (1 + k[0]) / 2
	want := math.Round(k[0] * k[0] / mass / 0.01 * TreesUnit)
	if got := trees[10*f.W+5]; float64(got) != want {
		t.Errorf("on the tree: stored %d, want %g", got, want)
	}
	for x := 15; x < 25; x++ {
		if i := 10*f.W + x; trees[i] != 0 || weight[i] != 0 {
			t.Errorf("column %d, in the gap: trees %d, weight %d", x, trees[i], weight[i])
		}
	}
	if i := 10*f.W + 25; trees[i] != 0 || weight[i] != WeightUnit {
		t.Errorf("the second piece: trees %d, weight %d; want 0, %d", trees[i], weight[i], WeightUnit)
	}
}

// A blend wider than the kernel sees a border that lies beyond the map.
func TestWideBlendSeesBeyondTheMap(t *testing.T) {
	f := ground(t, 10, 10, 10)
	all, _ := read(t, TreeSource{
		CSV: write(t, "t.csv", "x,y,spcd\n500055,4399995,742\n"), CRS: utm, BandwidthM: 5, BlendM: 400,
		Extent: vector.Query{Path: square(t, [4]float64{490000, 4390000, 500200, 4410000}), CRS: utm},
	}, f)
	weight := cellsOf(t, all[0].Weight)
	for x := range f.W {
		// The border stands 200 m east of the map's western edge.
		if want := storeWeight(200-float64(x)*10-5, 400); weight[x] != want {
			t.Errorf("column %d: weight %d, want %d", x, weight[x], want)
		}
	}
}

// The limit is on one record, not on the file.
func TestLongFileOfShortLines(t *testing.T) {
	f := ground(t, 40, 30, 10)
	all, _ := read(t, TreeSource{CSV: write(t, "t.csv", "x,y,spcd\n"+strings.Repeat("500100,4399900,742\n", 80000)), CRS: utm}, f)
	if got := all[0].Records; got != 80000 {
		t.Errorf("%d records, want 80000", got)
	}
}
