package habitat

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func table(t testing.TB, p *Profile, l *Legend) *HostTable {
	t.Helper()
	h, err := NewHostTable(p, l)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// Weighted geometric mean: the aggregation form of 103 ESM (1981), worked
// case of three factors.
func TestIndexIsTheGeometricMean(t *testing.T) {
	var file struct {
		Aggregate struct {
			Values   []float64 `json:"values"`
			Weights  []float64 `json:"weights"`
			Weighted float64   `json:"weighted_geometric"`
		} `json:"aggregate"`
		Tolerance float64 `json:"tolerance"`
	}
	readCase(t, "hsi_aggregation", &file)
	v, w := file.Aggregate.Values, file.Aggregate.Weights
	// Three factors as two pairs, weights adding up as exponents do.
	inner := (&HostTable{wb: w[1], wh: w[2]}).index(v[1], v[2])
	outer := (&HostTable{wb: w[0], wh: w[1] + w[2]}).index(v[0], inner)
	near(t, "weighted geometric mean", outer, file.Aggregate.Weighted, file.Tolerance)
	near(t, "zero bottomland", (&HostTable{wb: 1, wh: 1}).index(0, 1), 0, 0)
	near(t, "zero hosts", (&HostTable{wb: 1, wh: 1}).index(1, 0), 0, 0)
}

// Common practice, no source: in elm bottomland nine tenths of the finds are
// on elm, and 3 of 40 dead or dying elms carry it.
func TestElmShareAndHitRate(t *testing.T) {
	p := builtin(t)
	us := named(t, "us-30m")
	h := table(t, p, us)
	elm, ok := p.Host("american-elm")
	if !ok {
		t.Fatal("no American elm")
	}
	near(t, "hit rate of elm", elm.HitRate.Beta().Mean(), 3.0/40, 1e-12)
	for _, code := range []int{90, 41} { // woody wetlands, deciduous forest
		slot, _ := us.Slot(code)
		for q := BottomSteps * 4 / 5; q <= BottomSteps; q++ {
			share := 0.0
			for k, s := range h.Shares(uint8(q), slot) {
				if p.Hosts[k].Kin == "elm" {
					share += s
				}
			}
			near(t, "elm's share of finds", share, 0.90, 0.03)
		}
	}
}

// The table against the formulas written out plainly.
func TestTableAgainstFormulas(t *testing.T) {
	p := builtin(t)
	us := named(t, "us-30m")
	h := table(t, p, us)
	for _, c := range us.Classes {
		for q := 0; q <= BottomSteps; q += 7 {
			b := float64(q) / BottomSteps
			e, dead, variance := 0.0, 0.0, 0.0
			for k, host := range p.Hosts {
				likely := host.Bottomland.At(b) * p.CoverOf(host, c.Group)
				if got := float64(h.H[k][Key(uint8(q), c.Slot)]) / BottomSteps; math.Abs(got-likely) > 0.5/BottomSteps+1e-12 {
					t.Fatalf("%s at %g on %s: likelihood %g, want %g", host.ID, b, c.Name, got, likely)
				}
				n := host.DensityHa * likely * host.DeadShare
				dead += n
				e += n * host.HitRate.Hits / host.HitRate.Of
				variance += n * n * math.Pow(host.HitRate.Beta().SD(), 2)
			}
			at := Key(uint8(q), c.Slot)
			near(t, "finds", float64(h.E[at]), e, 1e-6)
			near(t, "dead trees", float64(h.Dead[at]), dead, 1e-5)
			near(t, "doubt", float64(h.ESD[at]), math.Sqrt(variance), 1e-6)
			near(t, "likelihood", float64(h.L[at]), e/h.EMax, 1e-6)
			near(t, "suitability", float64(h.S[at]), math.Sqrt(b*e/h.EMax)*c.Cover, 1e-6)
		}
	}
}

// Every S is in [0,1] and rises with bottomland; S is 0 exactly where cover
// bars it or a factor is nothing; outside the steps there is no data.
func TestTableBounds(t *testing.T) {
	p := builtin(t)
	for _, name := range append(LegendNames(), "") {
		var l *Legend
		if name != "" {
			l = named(t, name)
		}
		h := table(t, p, l)
		best := 0.0
		for slot := range 256 {
			cover := 1.0
			if l != nil {
				c, _ := l.Class(uint8(slot))
				cover = c.Cover
			}
			for q := range 256 {
				at := Key(uint8(q), uint8(slot))
				s := float64(h.S[at])
				if q > BottomSteps {
					if !math.IsNaN(s) || !math.IsNaN(float64(h.E[at])) || h.Limit[at] != 0 {
						t.Fatalf("%s: step %d has values", name, q)
					}
					continue
				}
				if !(s >= 0 && s <= 1) || !(h.L[at] >= 0 && h.L[at] <= 1) {
					t.Fatalf("%s: S %g, L %g at step %d, slot %d", name, s, h.L[at], q, slot)
				}
				if q > 0 && s < float64(h.S[Key(uint8(q-1), uint8(slot))]) {
					t.Fatalf("%s: S falls at step %d of slot %d", name, q, slot)
				}
				if (cover == 0 || q == 0) && s != 0 {
					t.Fatalf("%s: S %g where it must be 0 (step %d, slot %d)", name, s, q, slot)
				}
				best = max(best, s)
			}
		}
		if best < 0.7 {
			t.Errorf("legend %q: no ground does better than %g", name, best)
		}
	}
}

// Without land cover every slot answers alike, and like unknown ground with it.
func TestNeutralCover(t *testing.T) {
	p := builtin(t)
	without, with := table(t, p, nil), table(t, p, named(t, "us-30m"))
	for q := range BottomSteps + 1 {
		want := without.S[Key(uint8(q), NoClass)]
		for slot := range 256 {
			if got := without.S[Key(uint8(q), uint8(slot))]; got != want {
				t.Fatalf("slot %d at step %d: %g, want %g", slot, q, got, want)
			}
		}
		if got := with.S[Key(uint8(q), NoClass)]; got != want {
			t.Fatalf("no class at step %d: %g, want %g", q, got, want)
		}
	}
}

// For profiles at random: S rises with B wherever a table is given out, and
// of two covers with the same factor the one with more finds has the higher S.
func TestTableOrderForAnyProfile(t *testing.T) {
	base := builtin(t)
	us := named(t, "us-30m")
	built := 0
	rapid.Check(t, func(r *rapid.T) {
		p := *base
		p.Suitability.WeightBottomland = rapid.Float64Range(0.05, 5).Draw(r, "wb")
		p.Suitability.WeightHosts = rapid.Float64Range(0.05, 5).Draw(r, "wh")
		p.Hosts = append([]Host(nil), base.Hosts[:rapid.IntRange(1, len(base.Hosts)).Draw(r, "hosts")]...)
		for k := range p.Hosts {
			h := &p.Hosts[k]
			h.DensityHa = rapid.Float64Range(0, 100).Draw(r, "density")
			h.Bottomland = Curve{{0, rapid.Float64Range(0, 1).Draw(r, "y0")}, {0.5, rapid.Float64Range(0, 1).Draw(r, "y1")}, {1, rapid.Float64Range(0, 1).Draw(r, "y2")}}
			h.Cover = CoverTable{Broadleaf: rapid.Float64Range(0, 1).Draw(r, "cover")}
		}
		h, err := NewHostTable(&p, us)
		if err != nil {
			return // nothing grows, or suitability would fall: refused, as it should be
		}
		built++
		for _, c := range us.Classes {
			for q := 1; q <= BottomSteps; q++ {
				if h.S[Key(uint8(q), c.Slot)] < h.S[Key(uint8(q-1), c.Slot)] {
					r.Fatalf("S falls at step %d on %s", q, c.Name)
				}
			}
			for _, d := range us.Classes {
				for q := 0; q <= BottomSteps; q += 25 {
					i, j := Key(uint8(q), c.Slot), Key(uint8(q), d.Slot)
					if c.Cover == d.Cover && h.E[i] > h.E[j] && h.S[i] < h.S[j] {
						r.Fatalf("more finds but less suitability on %s than on %s at step %d", c.Name, d.Name, q)
					}
				}
			}
		}
	})
	if built == 0 {
		t.Error("no profile was built")
	}
}

func TestFallingSuitabilityIsRefused(t *testing.T) {
	p := builtin(t)
	p.Hosts = p.Hosts[:1]
	p.Hosts[0].Bottomland = Curve{{0, 1}, {0.5, 1}, {0.6, 0.01}, {1, 0.01}}
	_, err := NewHostTable(p, nil)
	if err == nil || !strings.Contains(err.Error(), "falls where bottomland rises past 0.50") {
		t.Errorf("got %v", err)
	}
	p.Hosts[0].DensityHa = 0
	if _, err := NewHostTable(p, nil); err == nil || !strings.Contains(err.Error(), "no host can be expected") {
		t.Errorf("no hosts at all: %v", err)
	}
}

func TestLimitingFactor(t *testing.T) {
	us := named(t, "us-30m")
	h := table(t, builtin(t), us)
	for _, c := range []struct {
		name string
		b    float64
		code int
		want Limit
	}{
		{"the best there is", 1, 90, LimitNone},
		{"upland woods", 0.1, 41, LimitBottomland},
		{"a field in the bottom", 1, 82, LimitHosts},
		{"a lake", 1, 11, LimitCover},
		{"a lawn", 0.9, 21, LimitCover},
		{"a hill field", 0, 82, LimitBottomland},
		{"wet woods, doubtful bottom", 0.5, 90, LimitBottomland},
	} {
		slot, ok := us.Slot(c.code)
		if got := Limit(h.Limit[Key(QuantB(c.b), slot)]); !ok || got != c.want {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
	}
}

// An elevation response only ever lowers, by as much as the host's part of the
// finds; where it is 1, the bands answer like the plain table.
func TestElevationBands(t *testing.T) {
	p := builtin(t)
	plain := table(t, p, nil)
	if ts, err := NewHostTables(p, nil, 0, 2000); err != nil || !ts.one() {
		t.Fatalf("the built-in profile goes by elevation (%v)", err)
	}
	// American elm in the southern Appalachians: Silvics of North America (Bey 1990).
	p.Hosts[0].Elevation = Curve{{610, 1}, {760, 0.2}, {900, 0}}
	ts, err := NewHostTables(p, nil, 100, 1100)
	if err != nil {
		t.Fatal(err)
	}
	if len(ts.bands) != 40 {
		t.Fatalf("%d bands over 1000 m, want 40 of 25 m", len(ts.bands))
	}
	at := Key(225, 7)
	elm := plain.finds(0, at)
	last := math.Inf(1)
	for _, z := range []float32{0, 112.5, 612.5, 687.5, 762.5, 837.5, 912.5, 5000} {
		h := ts.at(z)
		if s := float64(h.S[at]); s > last {
			t.Errorf("suitability rises to %g at %g m", s, z)
		} else {
			last = s
		}
		near(t, "finds", float64(h.E[at]), float64(plain.E[at])-elm*(1-p.Hosts[0].Elevation.At(float64(z))), 5e-3)
		near(t, "likelihood", float64(h.L[at]), float64(h.E[at])/plain.EMax, 1e-6)
	}
	if got, want := ts.at(112.5).S[at], plain.S[at]; got != want {
		t.Errorf("suitability low down: got %v, want %v", got, want)
	}
	if wide, err := NewHostTables(p, nil, -100, 6000); err != nil || len(wide.bands) != maxBands {
		t.Errorf("bands over 6100 m: %d (%v), want %d", len(wide.bands), err, maxBands)
	}
}

func TestQuantB(t *testing.T) {
	for b, want := range map[float64]uint8{0: 0, 1: 250, 0.5: 125, -1: 0, 7: 250, 0.0019: 0, 0.0021: 1} {
		if got := QuantB(b); got != want {
			t.Errorf("%g: got %d, want %d", b, got, want)
		}
	}
	if got := QuantB(math.NaN()); got != NoBottom {
		t.Errorf("unknown: got %d", got)
	}
}

func TestTreesOfAnEntry(t *testing.T) {
	p := builtin(t)
	h := table(t, p, nil)
	trees, dead := h.Trees(BottomSteps, NoClass), h.DeadTrees(BottomSteps, NoClass)
	near(t, "elms per hectare", trees[0], p.Hosts[0].DensityHa*p.Cover[Unknown], 0.1)
	near(t, "dead elms per hectare", dead[0], trees[0]*p.Hosts[0].DeadShare, 1e-12)
	for _, v := range [][]float64{h.Trees(NoBottom, 1), h.DeadTrees(NoBottom, 1), h.Shares(NoBottom, 1), h.Shares(0, 1)} {
		if len(v) != len(p.Hosts) {
			t.Fatalf("got %d hosts, want %d", len(v), len(p.Hosts))
		}
	}
	sum := 0.0
	for _, s := range h.Shares(100, NoClass) {
		sum += s
	}
	near(t, "shares", sum, 1, 1e-12)
}

func BenchmarkNewHostTable(b *testing.B) {
	p, us := builtin(b), named(b, "us-30m")
	for b.Loop() {
		if _, err := NewHostTable(p, us); err != nil {
			b.Fatal(err)
		}
	}
}
