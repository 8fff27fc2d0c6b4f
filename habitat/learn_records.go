package habitat

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"rillwood/habitat/field"
	"rillwood/habitat/learn"
)

// learnLevel is the chance of the intervals that learning tells.
const learnLevel = 0.9

// WeightChange is one weight before and after.
type WeightChange struct {
	Name    string  `json:"name"`
	Before  float64 `json:"before"`
	SD      float64 `json:"sd_before"`
	After   float64 `json:"after"`
	Low     float64 `json:"low"`
	High    float64 `json:"high"`
	SDAfter float64 `json:"sd_after"`
	Records int     `json:"records"` // that bear on it
}

// RateChange is the hit rate of one host before and after.
type RateChange struct {
	Host      string     `json:"host"`
	Condition string     `json:"condition,omitempty"`
	Common    string     `json:"common"`
	Before    [3]float64 `json:"before"` // mean, low, high
	After     [3]float64 `json:"after"`
	Inspected int        `json:"inspected"`
	Found     int        `json:"found"`
	Sites     int        `json:"sites"`
}

// Learned is what field records changed.
type Learned struct {
	Profile     *Profile       `json:"-"` // the new one
	Weights     []WeightChange `json:"weights"`
	Rates       []RateChange   `json:"rates"`
	ByCondition []RateChange   `json:"by_condition"`
	Rho         [3]float64     `json:"overdispersion"` // between sites: mean, low, high
	RhoTold     bool           `json:"overdispersion_told"`
	Detection   *Detection     `json:"detection,omitempty"`
	Records     int            `json:"records"`
	Used        int            `json:"used"`
	Trees       int            `json:"trees"`
	Found       int            `json:"found"`
	Stops       int            `json:"stops"`
	StopsWith   int            `json:"stops_with_host"`
	Left        []string       `json:"left_out"`
	Notes       []string       `json:"notes"`
	How         string         `json:"how"`
}

// LearnFromRecords turns field records into a new profile: where bottomland
// hosts stood moves the weights of bottomland, what their dead trees carried
// moves the hit rates. Each starts from what the profile believes, with the
// doubt it states, so that few records move little.
//
// Weights: logistic regression of "a host of the first host's kin stood there"
// on the terms of the bottomland model, Gaussian prior from the profile, mode
// and Laplace covariance; weights keep their sign. Rates: see
// learn.FitFinds, which also learns how they change with bottomland.
func LearnFromRecords(ctx context.Context, run *Run, p *Profile, recs []field.Record, o LearnOptions) (*Learned, error) {
	o.Learned = p.Posterior // records are not learned twice
	if err := run.Need(run.judgedBy()...); err != nil {
		return nil, err
	}
	d, err := prepare(run, p, recs, o)
	if err != nil {
		return nil, err
	}
	l := &Learned{Records: len(recs), Used: d.used, Stops: len(d.stops), Left: d.left, Notes: []string{}}
	q := *p
	q.Hosts = slices.Clone(p.Hosts)
	q.Provenance = slices.Clone(p.Provenance)
	l.Profile = &q
	if err := l.weights(p, d); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := l.rates(p, d); err != nil {
		return nil, err
	}
	l.remark(p)
	if d.used > 0 {
		q.Provenance = append(q.Provenance, fmt.Sprintf("learned from %d field records up to %s (%d trees, %d with finds; %d stops) on run %s, from profile %s",
			d.used, d.last.Format(time.DateOnly), l.Trees, l.Found, l.Stops, run.Record.Run, p.Name))
	}
	if err := q.Validate(); err != nil {
		return nil, fmt.Errorf("the learned profile does not hold together: %w", err)
	}
	return l, nil
}

// weights fits the bottomland weights to where bottomland hosts stood.
func (l *Learned) weights(p *Profile, d *fieldData) error {
	flat := d.flatness
	w := p.Bottomland.weights(flat)
	cov := p.weightCovariance(flat)
	prior := learn.Prior{Cov: cov, Sign: []int8{0, -1, -1, -1, -1}}
	var x [][]float64
	var n, y, offset []float64
	for i := range w {
		prior.Mean = append(prior.Mean, w[i].Value)
	}
	for i := range d.stops {
		s := &d.stops[i]
		t := s.terms.vector()
		own := 0.0
		for k := range t {
			own += w[k].Value * t[k]
		}
		x = append(x, slices.Clone(t[:]))
		n, y = append(n, s.yes+s.no), append(y, s.yes)
		// What flatness and evidence add to the terrain is taken as it was.
		offset = append(offset, s.terms.Logit-own)
		l.StopsWith += int(s.yes)
	}
	fit := learn.Fit{Beta: slices.Clone(prior.Mean), Cov: cov, Converged: true}
	if len(x) > 0 {
		var err error
		fit, err = learn.Logistic(x, n, y, offset, prior)
		if err != nil && !errors.Is(err, learn.ErrSeparated) {
			return fmt.Errorf("learning the weights of bottomland: %w", err)
		}
	}
	b := &l.Profile.Bottomland
	targets := []*Weight{&b.Intercept, &b.WeightR, &b.WeightSmall, &b.WeightSlope, &b.WeightDistance}
	if flat { // a survey with valley flatness has an intercept and a slope weight of its own
		targets[0], targets[3] = &b.Flatness.Intercept, &b.Flatness.WeightSlope
	}
	for i, target := range targets {
		c := WeightChange{Name: WeightNames()[i], Before: w[i].Value, SD: math.Sqrt(cov.At(i, i)), After: fit.Beta[i], SDAfter: math.Sqrt(fit.Cov.At(i, i)), Records: len(x)}
		if len(x) > 0 {
			c.Low, c.High = fit.Interval(i, learnLevel)
			target.Value, target.SD = round(fit.Beta[i], 6), max(round(c.SDAfter, 6), 1e-3)
			target.Source = fmt.Sprintf("learned from %d stops; before %.4g ± %.2g", len(x), c.Before, c.SD)
		} else {
			c.Low, c.High = c.Before-1.645*c.SD, c.Before+1.645*c.SD
		}
		l.Weights = append(l.Weights, c)
	}
	b.follow(w, flat)
	l.Profile.Posterior = posteriorAfter(p, d, fit.Cov)
	return nil
}

// posteriorAfter is what is kept of the doubt after learning. Records that
// moved hit rates alone leave the weights' doubt as it was, but are in the
// profile now and are marked so.
func posteriorAfter(p *Profile, d *fieldData, cov *mat.SymDense) *Posterior {
	if d.used == 0 {
		return p.Posterior
	}
	out := &Posterior{Weights: WeightNames(), Covariance: rowsOf(cov), Flatness: d.flatness, Source: "Laplace approximation at the mode"}
	if len(d.stops) == 0 {
		if p.Posterior != nil {
			*out = *p.Posterior
			out.Seen = ""
		} else {
			out.Source = "as the weights' standard deviations have it: only hit rates were learned"
		}
	}
	out.mark(p.Posterior, d)
	return out
}

func rowsOf(c *mat.SymDense) [][]float64 {
	n := c.SymmetricDim()
	out := make([][]float64, n)
	for i := range out {
		for k := range n {
			out[i] = append(out[i], c.At(i, k))
		}
	}
	return out
}

// rates learns the hit rates, by host for the profile, by host and condition
// for the account.
func (l *Learned) rates(p *Profile, d *fieldData) error {
	how := learn.DefaultPooling()
	how.Level = learnLevel
	groups, err := rateGroups(p)
	if err != nil {
		return err
	}
	var finds []learn.FindRow
	if l.Detection, err = detection(d); err != nil {
		return err
	}
	looked := map[string]int{} // trees, by host and by host and condition
	byCondition := map[string]*learn.Group{}
	var conditions []string
	for i := range d.rows {
		r := &d.rows[i]
		looks := l.Detection.effort(r)
		l.Trees += r.inspected
		l.Found += r.found
		finds = append(finds, learn.FindRow{Host: r.host, N: looks, X: r.found, LogitB: min(max(r.terms.Logit, -rateReach), rateReach), Site: r.cell})
		name := p.Hosts[r.host].ID + "/" + r.condition
		looked[p.Hosts[r.host].ID] += r.inspected
		looked[name] += r.inspected
		g := byCondition[name]
		if g == nil {
			b := p.Hosts[r.host].HitRate.Beta()
			g = &learn.Group{Key: name, Kin: p.Hosts[r.host].Kin, Prior: learn.Beta{A: b.A, B: b.B}}
			byCondition[name] = g
			conditions = append(conditions, name)
		}
		g.Sites = append(g.Sites, learn.Count{X: r.found, N: looks})
	}
	prior := learn.FindsPrior{Pooling: how, SlopeMean: p.RateByBottomland.Value, SlopeSD: p.RateByBottomland.SD, Centre: rateLogit}
	rates, err := learn.FitFinds(groups, finds, prior)
	if err != nil {
		return fmt.Errorf("learning hit rates: %w", err)
	}
	l.How = rates.How
	l.Rho, l.RhoTold = [3]float64{rates.Rho.Mean, rates.Rho.Low, rates.Rho.High}, rates.RhoTold
	g := WeightChange{Name: "rate_by_bottomland", Before: p.RateByBottomland.Value, SD: p.RateByBottomland.SD,
		After: rates.Slope.Mean, Low: rates.Slope.Low, High: rates.Slope.High, Records: len(finds)}
	// A Gaussian: from the interval's half-width.
	g.SDAfter = (g.High - g.Low) / 2 / normalQuantile((1+learnLevel)/2)
	if len(finds) > 0 && p.RateByBottomland.SD > 0 {
		l.Profile.RateByBottomland = Weight{Value: round(g.After, 6), SD: max(round(g.SDAfter, 6), 1e-3),
			Source: fmt.Sprintf("learned from %d rows; before %.4g ± %.2g", len(finds), g.Before, g.SD)}
	}
	l.Weights = append(l.Weights, g)
	for k, r := range rates.Hosts {
		h := &l.Profile.Hosts[k]
		if l.Trees == 0 { // nothing learned: as it was, to the last digit
			b := p.Hosts[k].HitRate.Beta()
			r.Mean, r.Low, r.High = b.Mean(), b.Quantile((1-learnLevel)/2), b.Quantile((1+learnLevel)/2)
		}
		r.N = looked[h.ID] // not the looks they count for
		l.Rates = append(l.Rates, rateChange(p.Hosts[k], "", r))
		if l.Trees > 0 && r.Beta.A > 0 && r.Beta.B > 0 {
			n := r.Beta.A + r.Beta.B
			h.HitRate.Hits, h.HitRate.Of, h.HitRate.Weight = significant(r.Beta.A), significant(n), significant(n)
			if r.N > 0 {
				before := fmt.Sprintf("%.4g", p.Hosts[k].HitRate.Hits/p.Hosts[k].HitRate.Of)
				if was := p.Hosts[k].HitRate.Source; !strings.HasPrefix(was, "learned") { // else it would grow by the year
					before += " (" + was + ")"
				}
				h.HitRate.Source = fmt.Sprintf("learned: %d of %d trees at %d places; before %s", r.X, r.N, r.Sites, before)
			}
		}
	}
	if len(conditions) == 0 {
		return nil
	}
	slices.Sort(conditions)
	var list []learn.Group
	var ids []string
	for _, name := range conditions {
		list = append(list, *byCondition[name])
		ids = append(ids, name)
	}
	split, err := learn.PooledRates(list, how)
	if err != nil {
		return fmt.Errorf("learning hit rates by condition: %w", err)
	}
	for i, r := range split.Groups {
		r.N = looked[ids[i]]
		for k := range p.Hosts {
			if id := p.Hosts[k].ID + "/"; len(ids[i]) >= len(id) && ids[i][:len(id)] == id {
				condition := ids[i][len(id):]
				if condition == "" {
					condition = "not told"
				}
				l.ByCondition = append(l.ByCondition, rateChange(p.Hosts[k], condition, r))
			}
		}
	}
	return nil
}

// rateGroups are the hosts with what is believed of them beforehand. The shift
// that kin share lifts the mean of a small rate; the groups' own priors are
// lowered by as much, so that without records each has the profile's rate.
func rateGroups(p *Profile) ([]learn.Group, error) {
	groups := make([]learn.Group, len(p.Hosts))
	for k, h := range p.Hosts {
		b := h.HitRate.Beta()
		groups[k] = learn.Group{Key: h.ID, Kin: h.Kin, Prior: learn.Beta{A: b.A, B: b.B}}
	}
	how := learn.DefaultFinds()
	none, err := learn.FitFinds(groups, nil, how)
	if err != nil {
		return nil, fmt.Errorf("hit rates of profile %s: %w", p.Name, err)
	}
	for k := range groups {
		g := &groups[k].Prior
		w, m := g.Weight(), g.Mean()
		lowered := m * m / none.Hosts[k].Mean
		g.A, g.B = w*lowered, w*(1-lowered)
	}
	return groups, nil
}

func rateChange(h Host, condition string, r learn.Rate) RateChange {
	b := h.HitRate.Beta()
	return RateChange{Host: h.ID, Condition: condition, Common: h.Common, Inspected: r.N, Found: r.X, Sites: r.Sites,
		Before: [3]float64{b.Mean(), b.Quantile((1 - learnLevel) / 2), b.Quantile((1 + learnLevel) / 2)},
		After:  [3]float64{r.Mean, r.Low, r.High}}
}

// significant keeps six digits, so that a written profile reads well.
func significant(v float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	p := math.Pow(10, 5-math.Floor(math.Log10(math.Abs(v))))
	return math.Round(v*p) / p
}

func normalQuantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }
