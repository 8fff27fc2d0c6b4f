package score

import (
	"math"
	"math/rand/v2"
	"sort"
	"testing"
)

// Pairs compared one by one.
func TestAUCAgainstPairs(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		p, of, found := chances(r, 2+r.IntN(40), 1, 5)
		s := mustSample(t, p, of, found)
		won, pairs := 0.0, 0.0
		for i := range p {
			for k := range p {
				w := found[i] * (of[k] - found[k])
				pairs += w
				switch {
				case p[i] > p[k]:
					won += w
				case p[i] == p[k]:
					won += w / 2
				}
			}
		}
		got := s.AUC().Value
		if pairs == 0 {
			if !math.IsNaN(got) {
				t.Errorf("one kind only: got %g", got)
			}
			continue
		}
		near(t, "AUC", got, won/pairs, 1e-12)
	}
}

// DeLong's error by its definition: the variances of each yes's share of no's
// beaten and each no's share of yes's that beat it.
func TestAUCByPlaceIsDeLongsOfSingleRows(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 20 {
		p, of, found := chances(r, 60, 1, 1)
		s := mustSample(t, p, of, found)
		place := make([]int, len(p))
		var yes, no []float64
		for i := range p {
			place[i] = i
			if found[i] == 1 {
				yes = append(yes, p[i])
			} else {
				no = append(no, p[i])
			}
		}
		shares := func(a, b []float64, turned bool) []float64 {
			out := make([]float64, len(a))
			for i := range a {
				for k := range b {
					switch {
					case a[i] == b[k]:
						out[i] += 0.5
					case (a[i] > b[k]) != turned:
						out[i]++
					}
				}
				out[i] /= float64(len(b))
			}
			return out
		}
		variance := func(v []float64) float64 {
			mean, sum := total(v)/float64(len(v)), 0.0
			for _, x := range v {
				sum += (x - mean) * (x - mean)
			}
			return sum / float64(len(v)-1) / float64(len(v))
		}
		v10, v01 := variance(shares(yes, no, false)), variance(shares(no, yes, true))
		// Single rows have no covariance of yes and no but the 0 of their own.
		near(t, "SE", s.AUCByPlace(place).SE, math.Sqrt(v10+v01), 1e-12)
	}
}

// Where rows of one place are alike, the error must be that of the places:
// many samples with no skill at all, their AUC divided by its error.
func TestAUCByPlaceCountsPlaces(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	var byPlace, byTrial float64
	const rounds = 400
	for range rounds {
		var p, of, found []float64
		var place []int
		for g := range 40 {
			score, rate := r.Float64(), logistic(1.5*r.NormFloat64())
			for range 6 {
				y := 0.0
				if r.Float64() < rate {
					y = 1
				}
				p, of, found, place = append(p, score+0.01*r.Float64()), append(of, 1), append(found, y), append(place, g)
			}
		}
		s := mustSample(t, p, of, found)
		a, b := s.AUCByPlace(place), s.AUC()
		byPlace += (a.Value - 0.5) * (a.Value - 0.5) / (a.SE * a.SE)
		byTrial += (b.Value - 0.5) * (b.Value - 0.5) / (b.SE * b.SE)
	}
	byPlace, byTrial = math.Sqrt(byPlace/rounds), math.Sqrt(byTrial/rounds)
	if byPlace < 0.85 || byPlace > 1.2 {
		t.Errorf("AUC lies %.2f of its errors by place off, want 1", byPlace)
	}
	if byTrial < 1.3 {
		t.Errorf("AUC lies %.2f of its errors by trial off: places are alike, it should be well above 1", byTrial)
	}
}

// One fold's trials against each other only.
func TestAUCWithinAgainstParts(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	p, of, found := chances(r, 90, 1, 4)
	fold := make([]int, len(p))
	won, pairs := 0.0, 0.0
	for i := range fold {
		fold[i] = r.IntN(4)
		p[i] = (p[i] + float64(fold[i])) / 5 // folds on levels of their own
	}
	for f := range 4 {
		var part [3][]float64
		for i := range p {
			if fold[i] == f {
				part[0], part[1], part[2] = append(part[0], p[i]), append(part[1], of[i]), append(part[2], found[i])
			}
		}
		s := mustSample(t, part[0], part[1], part[2])
		yes, no := s.Totals()
		won += s.AUC().Value * yes * no
		pairs += yes * no
	}
	near(t, "within folds", mustSample(t, p, of, found).AUCWithin(fold).Value, won/pairs, 1e-12)
}

// plainBoyce is the index as one would write it down: windows counted one
// value after the other, ranks by counting.
func plainBoyce(presence, background []float64, keepRepeats bool) float64 {
	all := append(append([]float64{}, presence...), background...)
	sort.Float64s(all)
	low, high := all[0], all[len(all)-1]
	width, slack := (high-low)/10, 1e-9*(high-low)
	var ratio, mid []float64
	for k := range 101 {
		from := low + (high-low-width)*float64(k)/100
		count := func(v []float64) float64 {
			n := 0.0
			for _, x := range v {
				if x >= from-slack && x <= from+width+slack {
					n++
				}
			}
			return n / float64(len(v))
		}
		e := count(background)
		if e == 0 {
			continue
		}
		f := count(presence) / e
		if !keepRepeats && len(ratio) > 0 && math.Abs(f-ratio[len(ratio)-1]) < 1e-9 {
			continue
		}
		ratio, mid = append(ratio, f), append(mid, from)
	}
	rank := func(v []float64) []float64 {
		out := make([]float64, len(v))
		for i := range v {
			for k := range v {
				switch {
				case math.Abs(v[k]-v[i]) < 1e-9:
					out[i] += 0.5
				case v[k] < v[i]:
					out[i]++
				}
			}
		}
		return out
	}
	a, b := rank(ratio), rank(mid)
	ma, mb := total(a)/float64(len(a)), total(b)/float64(len(b))
	var xy, xx, yy float64
	for i := range a {
		xy += (a[i] - ma) * (b[i] - mb)
		xx += (a[i] - ma) * (a[i] - ma)
		yy += (b[i] - mb) * (b[i] - mb)
	}
	return xy / math.Sqrt(xx*yy)
}

func TestBoyceAgainstPlain(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	for range 60 {
		// Maps in steps, with gaps, with many windows without a find.
		var presence, background []float64
		step := []float64{0, 50, 250}[r.IntN(3)]
		draw := func(power float64) float64 {
			v := math.Pow(r.Float64(), power)
			if step > 0 {
				v = math.Round(v*step) / step
			}
			if v > 0.4 && v < 0.6 {
				v += 0.25
			}
			return v
		}
		for range 3 + r.IntN(40) {
			presence = append(presence, draw(0.5))
		}
		for range 200 {
			background = append(background, draw(1.5))
		}
		got := Boyce(Weighted{Value: presence}, Weighted{Value: background}, BoyceOptions{})
		near(t, "index", got.Index.Value, plainBoyce(presence, background, true), 1e-9)
		near(t, "index of distinct ratios", got.Distinct.Value, plainBoyce(presence, background, false), 1e-9)
	}
}

// The jackknife's error against the spread of the index over many samples.
func TestBoyceErrorIsOfTheRightSize(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	var background []float64
	for i := range 1000 {
		background = append(background, (float64(i)+0.5)/1000)
	}
	var values, errors []float64
	for range 150 {
		var presence []float64
		for range 80 {
			// Density 0.8 + 0.4·x: a weak rise, so that the index varies.
			for {
				x := r.Float64()
				if r.Float64() < (0.8+0.4*x)/1.2 {
					presence = append(presence, x)
					break
				}
			}
		}
		b := Boyce(Weighted{Value: presence}, Weighted{Value: background}, BoyceOptions{})
		values, errors = append(values, b.Index.Value), append(errors, b.Index.SE)
	}
	mean, spread := total(values)/float64(len(values)), 0.0
	for _, v := range values {
		spread += (v - mean) * (v - mean)
	}
	spread = math.Sqrt(spread / float64(len(values)-1))
	sort.Float64s(errors)
	middle := errors[len(errors)/2]
	t.Logf("spread of the index %.3f, middle error %.3f, mean index %.3f", spread, middle, mean)
	if middle < 0.5*spread || middle > 2*spread {
		t.Errorf("middle error %.3f beside a spread of %.3f", middle, spread)
	}
}
