package habitat

import "math"

// hostModel holds the hosts worked out for every bottomland step on every
// cover group.
type hostModel struct {
	p      *Profile
	bottom [][]float64                         // [host][q] response to bottomland
	cover  map[CoverGroup][]float64            // [host] response to cover
	cells  map[CoverGroup]*[hostSteps]hostCell // [q] what the ground holds
	factor [][]float64                         // [host][q] hit rate there over the host's own; nil = 1 everywhere
	best   float64                             // most finds per hectare over all q and groups
	bestAt [hostSteps]float64                  // most finds per hectare over the groups, by q
}

const hostSteps = BottomSteps + 1

// hostCell is what one kind of ground holds, per hectare.
type hostCell struct{ finds, findsSD, dead float64 }

// newHostModel works the hosts out for ground elevM metres above the sea; NaN
// leaves their elevation responses out.
func newHostModel(p *Profile, elevM float64) *hostModel {
	m := &hostModel{p: p, cover: map[CoverGroup][]float64{}, cells: map[CoverGroup]*[hostSteps]hostCell{}}
	var rate, sd []float64
	for _, h := range p.Hosts {
		curve := make([]float64, hostSteps)
		for q := range curve {
			curve[q] = h.Bottomland.At(float64(q) / BottomSteps)
		}
		beta := h.HitRate.Beta()
		m.bottom, rate, sd = append(m.bottom, curve), append(rate, beta.Mean()), append(sd, beta.SD())
	}
	m.factor = rateFactors(p)
	for _, g := range CoverGroups() {
		for _, h := range p.Hosts {
			response := p.CoverOf(h, g)
			if !math.IsNaN(elevM) {
				response *= h.Elevation.At(elevM)
			}
			m.cover[g] = append(m.cover[g], response)
		}
		m.cells[g] = new([hostSteps]hostCell)
		for q := range hostSteps {
			c := m.add(q, m.cover[g], rate, sd)
			m.cells[g][q] = c
			m.bestAt[q] = max(m.bestAt[q], c.finds)
			m.best = max(m.best, c.finds)
		}
	}
	return m
}

func (m *hostModel) likelihood(k, q int, g CoverGroup) float64 {
	return m.bottom[k][q] * m.cover[g][k]
}

// add sums the hosts up. Hit rates of different hosts are taken as
// independent, so their variances add.
func (m *hostModel) add(q int, cover, rate, sd []float64) hostCell {
	var c hostCell
	variance := 0.0
	for k, h := range m.p.Hosts {
		dead := h.DensityHa * m.bottom[k][q] * cover[k] * h.DeadShare
		c.dead += dead
		f := 1.0
		if m.factor != nil {
			f = m.factor[k][q]
		}
		c.finds += dead * rate[k] * f
		variance += dead * dead * sd[k] * sd[k] * f * f
	}
	c.findsSD = math.Sqrt(variance)
	return c
}

const (
	rateLogit = 2 // log-odds of bottomland where the hosts' hit rates hold: good ground, where records come from
	rateReach = 3 // log-odds of bottomland beyond which hit rates change no more
)

// rateFactors are the hit rates by bottomland step over the hosts' own; nil
// where a profile has them all alike.
func rateFactors(p *Profile) [][]float64 {
	g := p.RateByBottomland.Value
	if g == 0 {
		return nil
	}
	out := make([][]float64, len(p.Hosts))
	for k, h := range p.Hosts {
		own := h.HitRate.Hits / h.HitRate.Of
		out[k] = make([]float64, hostSteps)
		for q := range out[k] {
			b := float64(q) / BottomSteps
			x := min(max(math.Log(b/(1-b)), -rateReach), rateReach) // ±Inf at the ends is held too
			out[k][q] = 1
			if own > 0 && own < 1 {
				out[k][q] = Logistic(math.Log(own/(1-own))+g*(x-rateLogit)) / own
			}
		}
	}
	return out
}
