package habitat

import "math"

// hostModel holds the host responses sampled at every bottomland step.
type hostModel struct {
	p      *Profile
	bottom [][]float64              // [host][q] response to bottomland
	cover  []map[CoverGroup]float64 // [host] response to cover
	rate   []float64                // mean hit rate
	rateSD []float64
	best   float64                  // most finds per hectare over all q and groups
	bestAt [BottomSteps + 1]float64 // most finds per hectare over the groups, by q
}

// cellHosts is what one kind of ground holds, per hectare.
type cellHosts struct{ finds, findsSD, dead float64 }

func newHostModel(p *Profile) *hostModel {
	m := &hostModel{p: p}
	for _, h := range p.Hosts {
		curve := make([]float64, BottomSteps+1)
		for q := range curve {
			curve[q] = h.Bottomland.At(float64(q) / BottomSteps)
		}
		cover := map[CoverGroup]float64{}
		for _, g := range CoverGroups() {
			cover[g] = p.CoverOf(h, g)
		}
		beta := h.HitRate.Beta()
		m.bottom, m.cover = append(m.bottom, curve), append(m.cover, cover)
		m.rate, m.rateSD = append(m.rate, beta.Mean()), append(m.rateSD, beta.SD())
	}
	for q := range m.bestAt {
		for _, g := range CoverGroups() {
			m.bestAt[q] = max(m.bestAt[q], m.cell(q, g).finds)
		}
		m.best = max(m.best, m.bestAt[q])
	}
	return m
}

func (m *hostModel) likelihood(k, q int, g CoverGroup) float64 {
	return m.bottom[k][q] * m.cover[k][g]
}

// cell adds the hosts up. Hit rates of different hosts are taken as
// independent, so their variances add.
func (m *hostModel) cell(q int, g CoverGroup) cellHosts {
	var c cellHosts
	variance := 0.0
	for k, h := range m.p.Hosts {
		dead := h.DensityHa * m.likelihood(k, q, g) * h.DeadShare
		c.dead += dead
		c.finds += dead * m.rate[k]
		variance += dead * dead * m.rateSD[k] * m.rateSD[k]
	}
	c.findsSD = math.Sqrt(variance)
	return c
}
