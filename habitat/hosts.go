package habitat

import (
	"fmt"
	"math"
)

const (
	// BottomSteps is the quantum of bottomland probability: B = q/BottomSteps
	// for q from 0 to BottomSteps. Higher q mean no data.
	BottomSteps = 250
	// NoBottom is the q of a cell whose bottomland probability is not known.
	NoBottom uint8 = 255

	maxHosts = 64
)

// Limit names the factor that holds suitability down in a cell.
type Limit uint8

// The classes of the limiting-factor layer.
const (
	LimitNone Limit = iota // no data, or good ground with little to gain
	LimitBottomland
	LimitHosts
	LimitCover
)

// LimitNames are the category names of the limiting-factor layer, by class.
var LimitNames = [...]string{"none", "bottomland", "hosts", "cover"}

func (l Limit) String() string {
	if int(l) < len(LimitNames) {
		return LimitNames[l]
	}
	return fmt.Sprintf("limit %d", uint8(l))
}

// HostTable answers, for every pair of bottomland step and land-cover slot,
// what the hosts there are worth. All slices have 65 536 entries in the
// order of Key; entries without data are NaN, or 0 in H and Limit.
//
// Likelihood of host k: H_k = bottomland response × cover response, 0–1.
// Expected finds per hectare in season: E = Σ density_k · H_k · dead share_k
// · hit rate_k. Host likelihood weighted by fruiting: L = E over the best E
// to be had anywhere, 0–1. Suitability: S = (B^wb · L^wh)^(1/(wb+wh)) × cover
// factor, the geometric mean of the US Fish and Wildlife Service standards
// (103 ESM, 1981): zero in either gives zero.
type HostTable struct {
	Hosts []Host
	S     []float32 // suitability, 0–1
	E     []float32 // expected finds per hectare in season
	ESD   []float32 // standard deviation of E from the doubt in the hit rates alone
	L     []float32 // fruiting-weighted host likelihood, 0–1
	Dead  []float32 // dead or dying host trees per hectare
	H     [][]uint8 // for each host, likelihood × BottomSteps
	Limit []uint8   // Limit

	EMax float64 // the E that L = 1 stands for

	wb, wh                  float64
	limitingGain, threshold float64
	factor                  [][]float64 // see rateFactors
	falling                 bool        // hit rates fall as bottomland rises
	cover                   [256]float64
}

// Key is the index of a pair in the slices of a HostTable. q is the
// bottomland step, slot the land-cover slot of the legend or NoClass.
func Key(q, slot uint8) int { return int(q)<<8 | int(slot) }

// QuantB turns a bottomland probability into its step; NaN becomes NoBottom.
func QuantB(b float64) uint8 {
	if math.IsNaN(b) {
		return NoBottom
	}
	return uint8(math.Round(min(max(b, 0), 1) * BottomSteps))
}

// NewHostTable works the table out. A nil legend means there is no land
// cover: every slot then answers like ground of unknown cover.
// Elevation responses of hosts are left out: see NewHostTables.
func NewHostTable(p *Profile, legend *Legend) (*HostTable, error) {
	return newHostTable(p, legend, math.NaN())
}

func newHostTable(p *Profile, legend *Legend, elevM float64) (*HostTable, error) {
	t := &HostTable{Hosts: p.Hosts, wb: p.Suitability.WeightBottomland, wh: p.Suitability.WeightHosts,
		limitingGain: p.Suitability.LimitingGain, threshold: p.Suitability.Threshold,
		factor: rateFactors(p), falling: p.RateByBottomland.Value < 0}
	for _, s := range []*[]float32{&t.S, &t.E, &t.ESD, &t.L, &t.Dead} {
		*s = make([]float32, 1<<16)
	}
	t.Limit = make([]uint8, 1<<16)
	t.H = make([][]uint8, len(p.Hosts))
	for k := range p.Hosts {
		t.H[k] = make([]uint8, 1<<16)
	}
	m := newHostModel(p, math.NaN())
	if m.best <= 0 {
		return nil, fmt.Errorf("profile %s: no host can be expected anywhere, so nothing can be mapped; check density_ha, dead_share and the responses", p.Name)
	}
	t.EMax = m.best
	if !math.IsNaN(elevM) {
		m = newHostModel(p, elevM)
		m.best = t.EMax // likelihood is measured against the best ground at any height
	}
	type ground struct {
		group CoverGroup
		cover float64
	}
	done := map[ground]int{}
	for slot := range 256 {
		class := Class{Group: Unknown, Cover: Unknown.DefaultCover()}
		if legend != nil {
			class, _ = legend.Class(uint8(slot))
		}
		t.cover[slot] = class.Cover
		if like, ok := done[ground{class.Group, class.Cover}]; ok {
			t.copySlot(uint8(slot), uint8(like))
			continue
		}
		done[ground{class.Group, class.Cover}] = slot
		if err := t.fillSlot(m, uint8(slot), class, !math.IsNaN(elevM)); err != nil {
			return nil, fmt.Errorf("profile %s: %w", p.Name, err)
		}
	}
	return t, nil
}

// copySlot makes one column answer like another.
func (t *HostTable) copySlot(to, from uint8) {
	for q := range 256 {
		a, b := Key(uint8(q), to), Key(uint8(q), from)
		t.S[a], t.E[a], t.ESD[a], t.L[a], t.Dead[a], t.Limit[a] = t.S[b], t.E[b], t.ESD[b], t.L[b], t.Dead[b], t.Limit[b]
		for k := range t.H {
			t.H[k][a] = t.H[k][b]
		}
	}
}

// fillSlot writes one land-cover column of the table, and makes sure that
// more bottomland never means less suitability in it.
func (t *HostTable) fillSlot(m *hostModel, slot uint8, class Class, band bool) error {
	last := 0.0
	for q := range 256 {
		at := Key(uint8(q), slot)
		if q > BottomSteps {
			nan := float32(math.NaN())
			t.S[at], t.E[at], t.ESD[at], t.L[at], t.Dead[at] = nan, nan, nan, nan, nan
			continue
		}
		b := float64(q) / BottomSteps
		c := m.cells[class.Group][q]
		bare := t.index(b, c.finds/m.best)
		s := bare * class.Cover
		if band || t.falling {
			// High up, where the first hosts are gone, the others' curves may
			// fall a little towards the wettest ground, as do hit rates that fields
			// found lower there: held level.
			s = max(s, last)
		}
		if s < last-1e-9 {
			return wrong("hosts", "suitability on %s falls where bottomland rises past %.2f; flatten the falling bottomland curves of hosts, or give suitability.weight_bottomland more weight", class.Group, b)
		}
		s = max(s, last) // rounding aside
		last = s
		t.S[at], t.E[at], t.L[at] = float32(s), float32(c.finds), float32(c.finds/m.best)
		t.ESD[at], t.Dead[at] = float32(c.findsSD), float32(c.dead)
		for k := range t.H {
			t.H[k][at] = uint8(math.Round(m.likelihood(k, q, class.Group) * BottomSteps))
		}
		t.Limit[at] = uint8(t.limiting(m, bare, q, class))
	}
	return nil
}

// index is suitability before the cover factor.
func (t *HostTable) index(b, l float64) float64 {
	if b <= 0 || l <= 0 {
		return 0
	}
	return math.Exp((t.wb*math.Log(b) + t.wh*math.Log(l)) / (t.wb + t.wh))
}

// limiting finds the factor whose mending, alone, would raise suitability
// most: bottomland made certain, the class traded for the best one for
// hosts, or the cover factor made 1. Ground of at least the threshold where
// nothing gains limiting_gain has no limit; a cover factor of zero always is
// one; where no mending helps alone, bottomland is named.
func (t *HostTable) limiting(m *hostModel, bare float64, q int, class Class) Limit {
	if class.Cover == 0 {
		return LimitCover
	}
	b := float64(q) / BottomSteps
	gains := [...]float64{
		LimitNone:       0,
		LimitBottomland: (t.index(1, m.cells[class.Group][BottomSteps].finds/m.best) - bare) * class.Cover,
		LimitHosts:      (t.index(b, m.bestAt[q]/m.best) - bare) * class.Cover,
		LimitCover:      bare * (1 - class.Cover),
	}
	most := LimitBottomland
	for _, f := range []Limit{LimitHosts, LimitCover} {
		if gains[f] > gains[most] {
			most = f
		}
	}
	s := m.p.Suitability
	if gains[most] < s.LimitingGain && bare*class.Cover >= s.Threshold {
		return LimitNone
	}
	return most
}

// rateFactor is the hit rate of host k at a bottomland step over its own.
func (t *HostTable) rateFactor(k, q int) float64 {
	if t.factor == nil || q > BottomSteps {
		return 1
	}
	return t.factor[k][q]
}

// finds are the expected finds per hectare of one host at a table entry.
func (t *HostTable) finds(k, at int) float64 {
	h := &t.Hosts[k]
	return h.DensityHa * h.DeadShare * h.HitRate.Hits / h.HitRate.Of * t.rateFactor(k, at>>8) * float64(t.H[k][at]) / BottomSteps
}

// Trees gives, for each host, living and dead trees per hectare at an entry.
func (t *HostTable) Trees(q, slot uint8) []float64 {
	trees := make([]float64, len(t.Hosts))
	if q > BottomSteps {
		return trees
	}
	for k, h := range t.Hosts {
		trees[k] = h.DensityHa * float64(t.H[k][Key(q, slot)]) / BottomSteps
	}
	return trees
}

// DeadTrees gives, for each host, dead or dying trees per hectare at an entry.
func (t *HostTable) DeadTrees(q, slot uint8) []float64 {
	trees := t.Trees(q, slot)
	for k := range trees {
		trees[k] *= t.Hosts[k].DeadShare
	}
	return trees
}

// Shares gives each host's part of the expected finds at an entry; all zero
// where none are expected.
func (t *HostTable) Shares(q, slot uint8) []float64 {
	shares := make([]float64, len(t.Hosts))
	if q > BottomSteps {
		return shares
	}
	sum := 0.0
	for k := range t.Hosts {
		shares[k] = t.finds(k, Key(q, slot))
		sum += shares[k]
	}
	for k := range shares {
		if sum > 0 {
			shares[k] /= sum
		}
	}
	return shares
}
