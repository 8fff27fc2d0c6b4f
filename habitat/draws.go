package habitat

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"rillwood/habitat/access"
	"rillwood/raster"
)

const (
	drawCells  = 48  // cells of a patch that stand for it in the draws
	drawMost   = 400 // patches that take part beside those listed
	drawTop    = 10  // rank confidence: share of draws among so many best
	drawSeed   = 17  // of the draws, fixed: the same inputs give the same map
	drawMiddle = 0.9 // share of the draws between low and high
)

// draw is one set of weights and hit rates out of those that are believable.
type draw struct {
	change termVector // of the weights, from the profile's
	rate   []float64  // by host
}

// drawBeliefs draws weights from their normal posterior, held to the sign
// they must have, and hit rates from their Betas.
func drawBeliefs(p *Profile, flatness bool, n int) ([]draw, error) {
	rng := rand.New(rand.NewPCG(drawSeed, 1))
	var chol mat.Cholesky
	if !chol.Factorize(p.weightCovariance(flatness)) {
		return nil, fmt.Errorf("profile %s: the covariance of the weights is not positive definite", p.Name)
	}
	var lower mat.TriDense
	chol.LTo(&lower)
	weights := p.Bottomland.weights(flatness)
	out := make([]draw, n)
	for d := range out {
		var e termVector
		for i := range e {
			e[i] = rng.NormFloat64()
		}
		for i := range numTerms {
			for k := range i + 1 {
				out[d].change[i] += lower.At(i, k) * e[k]
			}
			if i > 0 { // higher, steeper, farther never raises bottomland
				out[d].change[i] = min(out[d].change[i], -weights[i].Value)
			}
		}
		for _, h := range p.Hosts {
			b := h.HitRate.Beta()
			out[d].rate = append(out[d].rate, distuv.Beta{Alpha: b.A, Beta: b.B, Src: rng}.Rand())
		}
	}
	return out, nil
}

// stand is a cell that stands for its patch.
type stand struct {
	terms termVector
	known bool // whether the terms are
	logit float64
	table *HostTable
	slot  uint8
	dead  []float64 // measured dead trees per hectare by host; nil = by the table
}

// stands picks cells of a patch, evenly through its runs.
func (m *surveyor) stands(c *Candidate, t *tally, r *termRows) ([]stand, error) {
	every := max(1, c.Cells/drawCells)
	next := every / 2
	seen := 0
	var out []stand
	for _, run := range c.patch.Runs {
		n := int(run.X1 - run.X0)
		if seen+n <= next {
			seen += n
			continue
		}
		if err := m.read(t, int(run.X0), int(run.Y), n); err != nil {
			return nil, err
		}
		if err := r.load(int(run.X0), int(run.Y), n); err != nil {
			return nil, err
		}
		for ; next < seen+n; next += every {
			i := next - seen
			if t.bottom[i] == storedNone {
				continue
			}
			slot := NoClass
			if m.g.cover != nil {
				slot = t.cover[i]
			}
			s := stand{table: m.worth.tables.at(t.z[1][i+1]), slot: slot}
			b := min(max(float64(t.bottom[i]), 0.5), bottomUnit-0.5) / bottomUnit
			s.logit = math.Log(b / (1 - b))
			s.terms, s.known = r.at(i)
			if t.worth.known(i) {
				t.worth.stand(i, s.table, Key(bottomStep(t.bottom[i]), slot))
				s.dead = slices.Clone(t.worth.dead)
			}
			out = append(out, s)
		}
		seen += n
	}
	return out, nil
}

// worthIn is suitability and expected finds per hectare of a cell under a draw.
func (s *stand) worthIn(d *draw) (suit, finds float64) {
	logit := s.logit
	if s.known {
		for i, v := range s.terms {
			logit += d.change[i] * v
		}
	}
	b := Logistic(logit)
	key := Key(QuantB(b), s.slot)
	for k, h := range s.table.Hosts {
		dead := 0.0
		if s.dead != nil {
			dead = s.dead[k]
		} else {
			dead = h.DensityHa * h.DeadShare * float64(s.table.H[k][key]) / BottomSteps
		}
		finds += dead * d.rate[k] * s.table.rateFactor(k, key>>8)
	}
	return s.table.index(b, min(1, finds/s.table.EMax)) * s.table.cover[s.slot], finds
}

// doubts gives the candidates intervals of their expected finds and the
// confidence of their ranks, from draws of the weights and hit rates. Patches
// far down the list take no part: theirs stay unknown.
func (m *surveyor) doubts(ctx context.Context, all []Candidate, spec ShortlistSpec, o runOptions) error {
	for i := range all {
		all[i].FindsLow, all[i].FindsHigh, all[i].RankShare = math.NaN(), math.NaN(), math.NaN()
	}
	if spec.Draws == 0 || len(all) == 0 {
		return nil
	}
	n := len(all)
	if spec.Top > 0 {
		n = min(n, spec.Top+drawMost)
	}
	draws, err := drawBeliefs(m.p, m.g.flatness != nil, spec.Draws)
	if err != nil {
		return err
	}
	scores := make([][]float64, n)
	err = raster.Parallel(ctx, o.workers, n, func(_, i int) error {
		t := tally{worth: m.worth.reader()}
		stands, err := m.stands(&all[i], &t, &termRows{g: m.g, j: m.j})
		if err != nil {
			return err
		}
		scores[i] = m.drawn(&all[i], stands, draws, uint64(i))
		return nil
	})
	if err != nil {
		return err
	}
	order := make([]int, n)
	among := make([]int, n)
	for d := range draws {
		for i := range order {
			order[i] = i
		}
		slices.SortStableFunc(order, func(a, b int) int {
			if oa, ob := access.Order(all[a].Access), access.Order(all[b].Access); oa != ob {
				return oa - ob
			}
			switch {
			case scores[a][d] > scores[b][d]:
				return -1
			case scores[a][d] < scores[b][d]:
				return 1
			}
			return 0
		})
		for _, i := range order[:min(drawTop, n)] {
			among[i]++
		}
	}
	for i := range n {
		all[i].RankShare = float64(among[i]) / float64(len(draws))
	}
	return nil
}

// drawn fills the interval of a candidate's expected finds, the doubt in its
// trees included, and gives its score under each draw.
func (m *surveyor) drawn(c *Candidate, stands []stand, draws []draw, id uint64) []float64 {
	scores, finds := make([]float64, len(draws)), make([]float64, len(draws))
	if len(stands) == 0 {
		return scores
	}
	rng := rand.New(rand.NewPCG(drawSeed, 1000+id))
	base := 0.0
	mean := draw{rate: m.p.Rates()}
	for i := range stands {
		_, e := stands[i].worthIn(&mean)
		base += e
	}
	scale := c.AreaHa / float64(len(stands))
	if base > 0 { // the cells that stand for the patch may be a little better or worse than it
		scale = c.Finds / base
	}
	for d := range draws {
		s, e := 0.0, 0.0
		for i := range stands {
			si, ei := stands[i].worthIn(&draws[d])
			s, e = s+si, e+ei
		}
		e *= scale
		scores[d] = s / float64(len(stands)) * -math.Expm1(-e)
		if cv := m.p.DensityCV; cv > 0 {
			shape := 1 / (cv * cv)
			e *= distuv.Gamma{Alpha: shape, Beta: shape, Src: rng}.Rand()
		}
		finds[d] = e
	}
	slices.Sort(finds)
	at := func(p float64) float64 { return finds[min(int(p*float64(len(finds))), len(finds)-1)] }
	c.FindsLow, c.FindsHigh = at((1-drawMiddle)/2), at((1+drawMiddle)/2)
	return scores
}
