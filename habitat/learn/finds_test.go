package learn

import (
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

var threeHosts = []Group{
	{Key: "american-elm/dead-standing", Kin: "elm", Prior: Beta{1.5, 18.5}},
	{Key: "slippery-elm/dead-standing", Kin: "elm", Prior: Beta{0.6, 9.4}},
	{Key: "ash/dead-standing", Kin: "ash", Prior: Beta{0.5, 9.5}},
}

// drawn makes rows by the model.
func drawn(rng *rand.Rand, hosts []Group, sites int, how FindsPrior) (rows []FindRow, rates []float64, slope, rho float64) {
	slope = rng.NormFloat64() * how.SlopeSD
	if how.Rho != (Beta{}) {
		rho = distuv.Beta{Alpha: how.Rho.A, Beta: how.Rho.B, Src: rng}.Rand()
	}
	shift := map[string]float64{}
	for _, h := range hosts {
		if _, known := shift[h.Kin]; !known {
			shift[h.Kin] = 0
			if h.Kin == "elm" {
				shift[h.Kin] = rng.NormFloat64() * how.KinSD
			}
		}
		q := distuv.Beta{Alpha: h.Prior.A, Beta: h.Prior.B, Src: rng}.Rand()
		rates = append(rates, logistic(logit(q)+shift[h.Kin]))
	}
	for s := range sites {
		for k := range hosts {
			row := FindRow{Host: k, N: 1 + rng.IntN(8), LogitB: how.Centre + 1.5*rng.NormFloat64(), Site: s}
			p := logistic(logit(rates[k]) + slope*(row.LogitB-how.Centre))
			p = betaDraw(rng, p, rho)
			for range row.N {
				if rng.Float64() < p {
					row.X++
				}
			}
			rows = append(rows, row)
		}
	}
	return rows, rates, slope, rho
}

// betaDraw is a site's rate about p with overdispersion rho.
func betaDraw(rng *rand.Rand, p, rho float64) float64 {
	if rho < 1e-6 {
		return p
	}
	scale := 1/rho - 1
	return distuv.Beta{Alpha: max(p*scale, 1e-12), Beta: max((1-p)*scale, 1e-12), Src: rng}.Rand()
}

// The slopes by differences of the value, at random points.
func TestFindsSlopes(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 1))
	rows, _, _, _ := drawn(rng, threeHosts, 12, DefaultFinds())
	r := newRegression(threeHosts, rows, DefaultFinds())
	const step = 1e-4
	for range 20 {
		b := r.start()
		for j := range b {
			b[j] += 0.7 * rng.NormFloat64()
		}
		moved := func(j int, d float64) []float64 {
			to := append([]float64(nil), b...)
			to[j] += d
			return to
		}
		g, h := r.slope(b)
		for j := range b {
			up, down := moved(j, step), moved(j, -step)
			near(t, r.names[j], g[j], (r.value(up)-r.value(down))/(2*step), 1e-5*(1+math.Abs(g[j])))
			gu, _ := r.slope(up)
			gd, _ := r.slope(down)
			for k := range b {
				near(t, r.names[j]+" with "+r.names[k], h.At(j, k), -(gu[k]-gd[k])/(2*step), 1e-4*(1+math.Abs(h.At(j, k))))
			}
		}
	}
}

// Without a slope the answer is that of PooledRates, whose grid knows no
// Gaussian.
func TestFindsWithoutSlopeArePooledRates(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 2))
	how := DefaultFinds()
	how.SlopeSD = 0
	for range 5 {
		rows, _, _, _ := drawn(rng, threeHosts, 25, how)
		got, err := FitFinds(threeHosts, rows, how)
		if err != nil {
			t.Fatal(err)
		}
		groups := append([]Group(nil), threeHosts...)
		for _, row := range rows {
			groups[row.Host].Sites = append(groups[row.Host].Sites, Count{row.X, row.N})
		}
		want, err := PooledRates(groups, how.Pooling)
		if err != nil {
			t.Fatal(err)
		}
		for k, w := range want.Groups {
			g := got.Hosts[k]
			width := w.High - w.Low
			near(t, "mean", g.Mean, w.Mean, 0.08*width)
			near(t, "low", g.Low, w.Low, 0.1*width)
			near(t, "high", g.High, w.High, 0.15*width)
		}
	}
}

func TestFindsAtTheEdges(t *testing.T) {
	bare, err := FitFinds(threeHosts, nil, DefaultFinds())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "slope of the prior", bare.Slope.High, 0.5*1.6448536, 1e-6)
	if bare.RhoTold || bare.Hosts[2].Beta != threeHosts[2].Prior {
		t.Errorf("%+v", bare)
	}
	rows := []FindRow{{Host: 0, N: 3, X: 1, LogitB: 3, Site: 4}, {Host: 0, N: 2, X: 1, LogitB: 3, Site: 4}}
	one := []FindRow{{Host: 0, N: 5, X: 2, LogitB: 3, Site: 9}}
	a, err := FitFinds(threeHosts, rows, DefaultFinds())
	if err != nil {
		t.Fatal(err)
	}
	b, err := FitFinds(threeHosts, one, DefaultFinds())
	if err != nil || !reflect.DeepEqual(a, b) {
		t.Errorf("rows of one site are not one site: %v", err)
	}
	if !(a.Hosts[1].Mean > bare.Hosts[1].Mean && a.Hosts[0].Mean > a.Hosts[0].Prior.Mean()) {
		t.Errorf("finds on one elm do not raise the other: %+v", a.Hosts)
	}
	for _, x := range []int{0, 1} {
		var all []FindRow
		for s := range 300 {
			all = append(all, FindRow{Host: s % 3, N: 4, X: 4 * x, LogitB: float64(s%7) - 2, Site: s})
		}
		f, err := FitFinds(threeHosts, all, DefaultFinds())
		if err != nil {
			t.Fatal(err)
		}
		for _, h := range f.Hosts {
			if !(h.Low >= 0 && h.Low <= h.Mean && h.Mean <= h.High && h.High <= 1) || (x == 0) != (h.Mean < 0.03) {
				t.Errorf("all %d: %+v", x, h)
			}
		}
	}
	for _, c := range []struct {
		row  FindRow
		want string
	}{
		{FindRow{Host: 3, N: 1}, "row 1: host 3 of 3"},
		{FindRow{N: 1, X: 2}, "row 1: 2 of 1"},
		{FindRow{N: 1, LogitB: math.NaN()}, "log-odds of bottomland NaN"},
	} {
		if _, err := FitFinds(threeHosts, []FindRow{c.row}, DefaultFinds()); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, expected %q", err, c.want)
		}
	}
}

// Without rows the slope is its prior; with rows a mean far from nought and
// sure of itself stays.
func TestSlopeStartsFromItsPrior(t *testing.T) {
	hosts := []Group{{Key: "a", Prior: Beta{2, 20}}}
	how := DefaultFinds()
	how.SlopeMean, how.SlopeSD = 0.7, 0.1
	none, err := FitFinds(hosts, nil, how)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(none.Slope.Mean-0.7) > 1e-6 || math.Abs(none.Slope.High-none.Slope.Mean-1.6449*0.1) > 0.01 && how.Level == 0.9 {
		t.Errorf("without rows: %+v", none.Slope)
	}
	some, err := FitFinds(hosts, []FindRow{{N: 5, X: 1, LogitB: 1, Site: 1}, {N: 4, LogitB: 3, Site: 2}}, how)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(some.Slope.Mean-0.7) > 0.05 {
		t.Errorf("nine trees: %+v", some.Slope)
	}
	how.SlopeMean = math.NaN()
	if _, err := FitFinds(hosts, nil, how); err == nil {
		t.Error("a slope that is no number was taken")
	}
}
