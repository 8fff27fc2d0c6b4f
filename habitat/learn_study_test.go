package habitat

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"rillwood/fixtures"
	"rillwood/habitat/field"
	"rillwood/vector"
)

var studySeed = flag.Uint64("county", 5, "seed of the invented county in TestLearningStudy")

var studySims = flag.Int("sims", 24, "simulated foragers in TestLearningStudy")

// studyCounty is a mapped invented county with what it truly holds.
type studyCounty struct {
	run    *Run
	p      *Profile
	cells  []int   // good ground, where records come from
	terms  []Terms // of cells
	lonlat []orb.Point

	lattice []int // cells of the map as a whole
	ground  []Terms
	cover   [][]float64 // [host][lattice] response to land cover
	truth   []float64   // true finds per hectare on the lattice

	density [][]float64 // [host][cells] true trees per hectare
	dead    [][]float64 // [host][cells] true dead share
	rate    [][]float64 // [host][cells] true hit rate
}

func newStudyCounty(t *testing.T, side int) *studyCounty {
	t.Helper()
	dir := t.TempDir()
	county, err := fixtures.New(side, side, 10, *studySeed)
	if err != nil {
		t.Fatal(err)
	}
	if err := county.Write(t.Context(), dir, nil); err != nil {
		t.Fatal(err)
	}
	text := "name: x\nelevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\nlandcover: {path: landcover.tif, legend: us-30m}\ncurve: appalachian-highlands\noutput: {preview: false}\nshortlist: {min_ha: 0.5, top: 0}\n"
	if err := os.WriteFile(filepath.Join(dir, "survey.yaml"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := LoadSurvey(filepath.Join(dir, "survey.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	r := mapped(t, s)
	c := &studyCounty{p: r.Profile}
	if c.run, err = OpenRun(r.Folder); err != nil {
		t.Fatal(err)
	}
	// Foragers walk what the shortlist gives: cells of its patches.
	for i := range r.Shortlist.Candidates {
		for _, run := range r.Shortlist.Candidates[i].patch.Runs {
			for x := run.X0; x < run.X1; x += 3 {
				c.cells = append(c.cells, int(run.Y)*c.run.Frame.W+int(x))
			}
		}
	}
	if c.terms, err = c.run.TermsOf(t.Context(), c.cells); err != nil {
		t.Fatal(err)
	}
	to, err := vector.ToWGS84(c.run.Frame.WKT)
	if err != nil {
		t.Fatal(err)
	}
	for _, cell := range c.cells {
		p, err := to.Point(c.run.place(cell))
		if err != nil {
			t.Fatal(err)
		}
		c.lonlat = append(c.lonlat, p)
	}
	c.lattice = c.run.lattice()
	if c.ground, err = c.run.TermsOf(t.Context(), c.lattice); err != nil {
		t.Fatal(err)
	}
	order := make([]int, len(c.lattice))
	for i := range order {
		order[i] = i
	}
	var layers []string
	for _, h := range c.p.Hosts {
		layers = append(layers, "host-"+h.ID)
	}
	values, err := c.run.values(t.Context(), c.lattice, order, layers)
	if err != nil {
		t.Fatal(err)
	}
	for k, h := range c.p.Hosts {
		row := make([]float64, len(c.lattice))
		for i := range row {
			if at := h.Bottomland.At(c.ground[i].B); at > 0 && c.ground[i].OK {
				row[i] = min(1, float64(values[k][i])/at)
			}
		}
		c.cover = append(c.cover, row)
	}
	c.learnTruth(t, county)
	return c
}

// learnTruth reads what the county truly holds. Its hosts are found by name.
func (c *studyCounty) learnTruth(t *testing.T, county *fixtures.County) {
	f := county.Frame()
	planes := make([][]float32, fixtures.NumHosts)
	for h := range planes {
		planes[h] = make([]float32, f.Cells())
	}
	if err := county.Truth(0, f.H, planes); err != nil {
		t.Fatal(err)
	}
	of := map[string]fixtures.Host{}
	for h := range fixtures.NumHosts {
		id := strings.ReplaceAll(h.String(), "_", "-")
		of[map[string]string{"cottonwood": "eastern-cottonwood", "aspen": "quaking-aspen"}[id]] = h
		of[id] = h
	}
	look := func(cells []int) (density, dead, rate [][]float64) {
		for _, host := range c.p.Hosts {
			h, ok := of[host.ID]
			var d, s, r []float64
			for _, cell := range cells {
				p := c.run.place(cell)
				x, y, in := f.At(p[0], p[1])
				if !ok || !in {
					d, s, r = append(d, 0), append(s, 0), append(r, 0)
					continue
				}
				d, s, r = append(d, float64(planes[h][y*f.W+x])), append(s, county.DeadShare(h, p[0], p[1])), append(r, county.HitRate(h, p[0], p[1]))
			}
			density, dead, rate = append(density, d), append(dead, s), append(rate, r)
		}
		return density, dead, rate
	}
	c.density, c.dead, c.rate = look(c.cells)
	d, s, r := look(c.lattice)
	c.truth = make([]float64, len(c.lattice))
	for k := range d {
		for i := range c.truth {
			c.truth[i] += d[k][i] * s[k][i] * r[k][i]
		}
	}
}

// rank is Spearman's correlation of a profile's map with the truth.
func (c *studyCounty) rank(p *Profile) float64 {
	now, was := p.Bottomland.weights(false), c.p.Bottomland.weights(false)
	factors := rateFactors(p)
	var maps, truth []float64
	for i := range c.ground {
		g := &c.ground[i]
		if !g.OK {
			continue
		}
		logit := g.Logit
		for k, v := range g.vector() {
			logit += (now[k].Value - was[k].Value) * v
		}
		b := Logistic(logit)
		e := 0.0
		for k, h := range p.Hosts {
			rate := h.HitRate.Hits / h.HitRate.Of
			if factors != nil {
				rate *= factors[k][QuantB(b)]
			}
			e += h.DensityHa * h.DeadShare * h.Bottomland.At(b) * c.cover[k][i] * rate
		}
		maps, truth = append(maps, e), append(truth, c.truth[i])
	}
	return stat.Correlation(ranked(maps), ranked(truth), nil)
}

func ranked(v []float64) []float64 {
	order := make([]int, len(v))
	for i := range order {
		order[i] = i
	}
	sorted := append([]float64{}, v...)
	stat.SortWeighted(sorted, nil)
	out := make([]float64, len(v))
	at := map[float64]float64{}
	for i := 0; i < len(sorted); {
		k := i
		for k < len(sorted) && sorted[k] == sorted[i] {
			k++
		}
		at[sorted[i]] = float64(i+k-1) / 2
		i = k
	}
	for i, x := range v {
		out[i] = at[x]
	}
	return out
}

// believed is a truth drawn from the profile itself, for which intervals must
// hold by their own account.
type believed struct {
	change termVector
	rate   []float64
	slope  float64
	rho    float64
}

// season is a forager's records: stops on good ground, at each whether elms
// stand there and what their dead trees carried, until so many trees are in.
// With a belief the truth is drawn from it, else it is the county's own.
func (c *studyCounty) season(rng *rand.Rand, trees int, truth *believed) []field.Record {
	var out []field.Record
	day := time.Date(2024, 11, 1, 0, 0, 0, 0, time.UTC)
	first := c.p.Hosts[0].Kin
	for n, stop := 0, 0; n < trees && stop < 20*trees+100; stop++ {
		i := rng.IntN(len(c.cells))
		t := &c.terms[i]
		if !t.OK {
			continue
		}
		rec := field.Record{Date: day.AddDate(0, 0, stop%120), Lon: c.lonlat[i][0], Lat: c.lonlat[i][1], Stop: fmt.Sprint(stop), Condition: field.DeadStanding, Confirmed: "yes"}
		elms := false
		if truth != nil {
			logit := t.Logit
			for w, v := range t.vector() {
				logit += truth.change[w] * v
			}
			elms = rng.Float64() < Logistic(logit)
		}
		for k, h := range c.p.Hosts {
			var dead int
			rate := 0.0
			if truth != nil {
				if k > 2 {
					break // three hosts tell enough
				}
				if h.Kin == first && elms {
					dead = 1 + rng.IntN(4)
				} else if h.Kin != first {
					dead = rng.IntN(3)
				}
				x := min(max(t.Logit, -rateReach), rateReach)
				mean := Logistic(math.Log(truth.rate[k]/(1-truth.rate[k])) + truth.slope*(x-rateLogit))
				ab := 1/truth.rho - 1
				rate = distuv.Beta{Alpha: max(mean*ab, 1e-9), Beta: max((1-mean)*ab, 1e-9), Src: rng}.Rand()
			} else {
				// A walk over a third of a hectare around the stop.
				if lambda := c.density[k][i] * c.dead[k][i] / 3; lambda > 0 {
					dead = int(distuv.Poisson{Lambda: lambda, Src: rng}.Rand())
				}
				rate = c.rate[k][i]
				if h.Kin == first && dead == 0 && rng.Float64() < 1-math.Exp(-c.density[k][i]/30) {
					alive := rec // a living elm tells where elms stand
					alive.Host, alive.Condition, alive.Inspected = h.ID, field.Alive, 1
					out = append(out, alive)
					elms = true
				}
			}
			if dead == 0 {
				continue
			}
			elms = elms || h.Kin == first
			found := 0
			for range dead {
				if rng.Float64() < rate {
					found++
				}
			}
			r := rec
			r.Host, r.Inspected, r.Found = h.ID, dead, found
			out = append(out, r)
			n += dead
		}
		if !elms {
			none := rec
			none.Host, none.Condition = c.p.Hosts[0].ID, ""
			out = append(out, none)
		}
	}
	return out
}

// TestLearningStudy simulates foragers. The intervals of weights and hit rates
// are held against truths drawn from the profile's own beliefs; the map's rank
// correlation against what the invented county truly holds.
func TestLearningStudy(t *testing.T) {
	c := newStudyCounty(t, 300)
	covered, told := map[string]int{}, map[string]int{}
	cover := func(name string, low, high, truth float64) {
		told[name]++
		if low <= truth && truth <= high {
			covered[name]++
		}
	}
	for sim := range *studySims {
		rng := rand.New(rand.NewPCG(91, uint64(sim)))
		draws, err := drawFrom(c.p, rng)
		if err != nil {
			t.Fatal(err)
		}
		l, err := LearnFromRecords(t.Context(), c.run, c.p, c.season(rng, 300, draws), LearnOptions{})
		if err != nil {
			t.Fatalf("simulation %d: %v", sim, err)
		}
		for i, w := range l.Weights {
			truth := draws.slope
			if i < numTerms {
				truth = c.p.Bottomland.weights(false)[i].Value + draws.change[i]
			}
			cover(w.Name, w.Low, w.High, truth)
		}
		for k := range 3 {
			cover("rate of "+c.p.Hosts[k].ID, l.Rates[k].After[1], l.Rates[k].After[2], draws.rate[k])
		}
		cover("overdispersion", l.Rho[1], l.Rho[2], draws.rho)
	}
	t.Logf("| nine-in-ten interval of | covers the truth |")
	t.Logf("|---|---|")
	all, n := 0, 0
	for _, name := range sortedKeys(told) {
		t.Logf("| %s | %.1f %% of %d |", name, 100*float64(covered[name])/float64(told[name]), told[name])
		all, n = all+covered[name], n+told[name]
		if share := float64(covered[name]) / float64(told[name]); *studySims >= 200 && (name != "overdispersion" && (share < 0.85 || share > 0.96)) {
			t.Errorf("intervals of %s cover %.3f, want 0.85 to 0.95", name, share)
		}
	}
	if share := float64(all) / float64(n); share < 0.8 {
		t.Errorf("intervals cover %.3f of the truths, want about 0.9", share)
	}

	prior := c.rank(c.p)
	t.Logf("| trees | mean rank correlation with the truth | least | share of foragers with a better map than before |")
	t.Logf("|---|---|---|---|")
	t.Logf("| 0 | %.4f | | |", prior)
	foragers := max(4, *studySims/8)
	last := prior
	for _, trees := range []int{50, 100, 200, 400, 800} {
		sum, least, better := 0.0, 1.0, 0
		for sim := range foragers {
			rng := rand.New(rand.NewPCG(92, uint64(sim)))
			l, err := LearnFromRecords(t.Context(), c.run, c.p, c.season(rng, trees, nil), LearnOptions{})
			if err != nil {
				t.Fatal(err)
			}
			r := c.rank(l.Profile)
			sum, least = sum+r, min(least, r)
			if r > prior {
				better++
			}
		}
		mean := sum / float64(foragers)
		t.Logf("| %d | %.4f | %.4f | %.0f %% |", trees, mean, least, 100*float64(better)/float64(foragers))
		if mean < prior {
			t.Errorf("%d trees: rank correlation %.4f, below %.4f of the map before", trees, mean, prior)
		}
		last = mean
	}
	if last <= prior {
		t.Errorf("800 trees: rank correlation %.4f does not rise above %.4f", last, prior)
	}
}

// drawFrom draws a truth from a profile's beliefs.
func drawFrom(p *Profile, rng *rand.Rand) (*believed, error) {
	b := &believed{rho: distuv.Beta{Alpha: 1, Beta: 9, Src: rng}.Rand(), slope: p.RateByBottomland.SD * rng.NormFloat64()}
	for i, w := range p.Bottomland.weights(false) {
		for {
			b.change[i] = w.SD * rng.NormFloat64()
			if i == 0 || w.Value+b.change[i] <= 0 {
				break
			}
		}
	}
	// Kin share a shift of their log-odds, as the learning takes it.
	shift := map[string]float64{}
	members := map[string]int{}
	for _, h := range p.Hosts {
		members[h.Kin]++
	}
	groups, err := rateGroups(p)
	if err != nil {
		return nil, err
	}
	for k, h := range p.Hosts {
		if _, ok := shift[h.Kin]; !ok && members[h.Kin] > 1 {
			shift[h.Kin] = 0.5 * rng.NormFloat64()
		}
		own := groups[k].Prior
		q := min(max(distuv.Beta{Alpha: own.A, Beta: own.B, Src: rng}.Rand(), 1e-9), 1-1e-9)
		b.rate = append(b.rate, Logistic(math.Log(q/(1-q))+shift[h.Kin]))
	}
	return b, nil
}
