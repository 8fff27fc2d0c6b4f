package learn

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// MacKenzie and others 2002, Ecology 83:2248–2255; ten places, three visits.
func TestOccupancyCase(t *testing.T) {
	var c struct {
		Histories [][]int8
		Psi       float64 `json:"psi_hat"`
		P         float64 `json:"p_hat"`
		Naive     float64
		LogLik    float64
		Tolerance float64
	}
	readCase(t, "occupancy", &c)
	d, err := Occupancy(c.Histories, Beta{1, 1}, Beta{1, 1}, 0.9)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "ψ", d.PsiMode, c.Psi, 1e-6)
	near(t, "p", d.PMode, c.P, 1e-6)
	near(t, "log-likelihood", d.LogLik, c.LogLik, c.Tolerance)
	near(t, "naive", d.Naive, c.Naive, 1e-15)
	near(t, "seen in three visits", d.Seen(3), 0.823762, 1e-5)
	near(t, "worth of one visit", d.Effort(1), 1, 1e-12)
	near(t, "worth of three", d.Effort(3), d.Seen(3)/c.P, 1e-6)
	near(t, "missed thrice", d.Missed(c.Psi, 3), c.Psi*(1-0.823762)/(1-c.Psi*0.823762), 1e-5)
	if d.Cov == nil || !(d.Psi.Low < d.PsiMode && d.PsiMode < d.Psi.High && d.P.Low < d.PMode && d.PMode < d.P.High && d.Told) {
		t.Errorf("%+v", d)
	}
	// Places never visited and visits left out change nothing.
	wider := append([][]int8{{-1, -1, -1, -1}}, c.Histories...)
	wider[1] = append([]int8{-1}, wider[1]...)
	again, err := Occupancy(wider, Beta{1, 1}, Beta{1, 1}, 0.9)
	if err != nil || again.PsiMode != d.PsiMode || again.P != d.P || again.Places != 10 {
		t.Errorf("%+v, %v", again, err)
	}
}

// No random place on a grid is better than the mode, and the interval holds
// the truth about as often as it says.
func TestOccupancyOnMadePlaces(t *testing.T) {
	rng := rand.New(rand.NewPCG(14, 1))
	heldP, heldPsi, runs := 0, 0, 60
	for range runs {
		psi, p := rng.Float64(), rng.Float64()
		var hist [][]int8
		for range 30 {
			row := make([]int8, 4)
			here := rng.Float64() < psi
			for j := range row {
				if rng.IntN(5) == 0 {
					row[j] = -1
				} else if here && rng.Float64() < p {
					row[j] = 1
				}
			}
			hist = append(hist, row)
		}
		d, err := Occupancy(hist, Beta{1, 1}, Beta{1, 1}, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		kinds, _, _ := histories(hist)
		for range 200 {
			if v := occupancyLog(kinds, rng.Float64(), rng.Float64()); v > d.LogLik+1e-6 {
				t.Fatalf("%g is better than %g", v, d.LogLik)
			}
		}
		if d.Psi.Low <= psi && psi <= d.Psi.High {
			heldPsi++
		}
		if d.P.Low <= p && p <= d.P.High {
			heldP++
		}
	}
	if heldP < 47 || heldPsi < 47 { // 54 expected, sd 2.3
		t.Errorf("of %d intervals of 90 %%, p in %d, ψ in %d", runs, heldP, heldPsi)
	}
}

func TestOccupancyEdges(t *testing.T) {
	none, err := DetectionFrom([][]int8{{0, 0}, {0, 0}, {0}})
	if err != nil || !(none.Psi.Low >= 0 && none.Psi.High < 1 && none.P.Mean > 0.2 && none.P.Mean < 0.6) {
		t.Errorf("no finds: %+v, %v", none, err)
	}
	always, err := Occupancy([][]int8{{1, 1}, {1, 1}}, Beta{1, 1}, Beta{1, 1}, 0.9)
	if err != nil || always.PMode != 1 || always.Cov != nil || !(always.P.Low > 0.4) || math.IsNaN(always.LogLik) {
		t.Errorf("always found: %+v, %v", always, err)
	}
	once, err := DetectionFrom([][]int8{{1}, {0}})
	if err != nil || once.Told {
		t.Errorf("one visit each: %+v, %v", once, err)
	}
	for _, c := range []struct {
		hist [][]int8
		p    Beta
		want string
	}{
		{nil, Beta{1, 1}, "no place was visited"},
		{[][]int8{{0, 2}}, Beta{1, 1}, "place 1, visit 2: 2"},
		{[][]int8{{0}}, Beta{0.5, 1}, "Beta(0.5, 1)"},
	} {
		if _, err := Occupancy(c.hist, Beta{1, 1}, c.p, 0.9); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, expected %q", err, c.want)
		}
	}
}
