package habitat

import (
	"math"
	"math/rand/v2"
	"testing"

	"rillwood/habitat/inventory"
	"rillwood/raster"
)

// Measured ground against a plain calculation with numbers written out here;
// where nothing was measured, the host table to the bit.
func TestAppraisalOfMeasuredGround(t *testing.T) {
	p, err := LoadProfile(DefaultProfile)
	if err != nil {
		t.Fatal(err)
	}
	legend, err := LoadLegend("us-30m")
	if err != nil {
		t.Fatal(err)
	}
	tables, err := NewHostTables(p, legend, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	const w, h = 37, 23
	r := rand.New(rand.NewPCG(81, 82))
	var measured []inventory.Measured
	var trees [2][]uint16
	var weight [2][]uint8
	dead := make([]uint8, w*h)
	hosts := [2]int{0, 3}
	for m := range hosts {
		trees[m], weight[m] = make([]uint16, w*h), make([]uint8, w*h)
		for i := range trees[m] {
			trees[m][i] = uint16(r.IntN(32 * 40))
			if r.IntN(3) > 0 {
				weight[m][i] = uint8(r.IntN(251))
			}
			if dead[i] = 255; r.IntN(2) == 0 {
				dead[i] = uint8(r.IntN(251))
			}
		}
		one := inventory.Measured{Host: hosts[m], TreesHa: raster.PlaneOf(w, h, trees[m]), Weight: raster.PlaneOf(w, h, weight[m])}
		if m == 1 {
			one.DeadShare = raster.PlaneOf(w, h, dead)
		}
		measured = append(measured, one)
	}
	reader := newAppraisal(p, tables, measured).reader()
	table := tables.any()
	slots := make([]uint8, w)
	same, other := 0, 0
	for y := range h {
		x0 := r.IntN(w)
		n := 1 + r.IntN(w-x0)
		for i := range slots {
			slots[i] = uint8(r.IntN(256))
		}
		if err := reader.load(x0, y, n); err != nil {
			t.Fatal(err)
		}
		for i := range n {
			q, slot, cell := uint8(r.IntN(BottomSteps+1)), slots[i], y*w+x0+i
			key := Key(q, slot)
			got := reader.at(i, 0, q, slot)
			if weight[0][cell] == 0 && weight[1][cell] == 0 {
				same++
				want := site{table.S[key], table.E[key], table.ESD[key], table.L[key], table.Dead[key], table.Limit[key]}
				if got != want {
					t.Fatalf("cell %d, nothing measured: %+v, the table has %+v", cell, got, want)
				}
				for k := range p.Hosts {
					if l := reader.likelihood(k, i, 0, q, slot); l != table.H[k][key] {
						t.Fatalf("cell %d, nothing measured: likelihood %d, the table has %d", cell, l, table.H[k][key])
					}
				}
				continue
			}
			other++
			finds, variance, deadHa := 0.0, 0.0, 0.0
			for k, host := range p.Hosts {
				all := host.DensityHa * float64(table.H[k][key]) / 250
				gone := all * host.DeadShare
				for m := range hosts {
					if hosts[m] != k || weight[m][cell] == 0 {
						continue
					}
					part, found, share := float64(weight[m][cell])/250, float64(trees[m][cell])/32, host.DeadShare
					if m == 1 && dead[cell] != 255 {
						share = float64(dead[cell]) / 250
					}
					all, gone = (1-part)*all+part*found, (1-part)*gone+part*found*share
				}
				beta := host.HitRate.Beta()
				finds += gone * beta.Mean()
				variance += gone * beta.SD() * gone * beta.SD()
				deadHa += gone
				if l := float64(reader.likelihood(k, i, 0, q, slot)); math.Abs(l-250*min(1, all/host.DensityHa)) > 0.5001 {
					t.Fatalf("cell %d, host %s: likelihood %v for %v of %v trees/ha", cell, host.ID, l, all, host.DensityHa)
				}
			}
			class, _ := legend.Class(slot)
			l, b, s := min(1, finds/table.EMax), float64(q)/250, p.Suitability
			index := math.Pow(math.Pow(b, s.WeightBottomland)*math.Pow(l, s.WeightHosts), 1/(s.WeightBottomland+s.WeightHosts)) * class.Cover
			for _, c := range []struct {
				what      string
				got, want float64
			}{{"S", float64(got.S), index}, {"finds", float64(got.E), finds}, {"doubt", float64(got.ESD), math.Sqrt(variance)},
				{"L", float64(got.L), l}, {"dead", float64(got.Dead), deadHa}} {
				if math.Abs(c.got-c.want) > 1e-5*(1+c.want) {
					t.Fatalf("cell %d, q %d: %s %v, by hand %v", cell, q, c.what, c.got, c.want)
				}
			}
		}
	}
	if same < 20 || other < 100 {
		t.Fatalf("%d cells without and %d with measured trees: too few", same, other)
	}
}

// A stretch without data stays without, measured or not.
func TestAppraisalWithoutBottomland(t *testing.T) {
	p, err := LoadProfile(DefaultProfile)
	if err != nil {
		t.Fatal(err)
	}
	tables, err := NewHostTables(p, nil, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	m := inventory.Measured{Host: 0, TreesHa: raster.PlaneOf(1, 1, []uint16{320}), Weight: raster.PlaneOf(1, 1, []uint8{inventory.WeightUnit})}
	r := newAppraisal(p, tables, []inventory.Measured{m}).reader()
	if err := r.load(0, 0, 1); err != nil {
		t.Fatal(err)
	}
	if s := r.at(0, 0, NoBottom, NoClass); s.S == s.S || s.E == s.E {
		t.Errorf("ground without bottomland is worth %+v", s)
	}
}
