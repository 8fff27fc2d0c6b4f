package score

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

func study(n int) Study {
	r := rand.New(rand.NewPCG(51, uint64(n)))
	s := Study{What: "a host tree there", Seed: 9, Records: Records{Background: 50}}
	var p, elm []float64
	for i := range n + 50 {
		x := r.NormFloat64() * 1.2
		p = append(p, logistic(x))
		elm = append(elm, float64(r.IntN(2)))
		s.AtBackground = append(s.AtBackground, logistic(x-1))
		if i >= n {
			continue
		}
		s.AtRecords = append(s.AtRecords, logistic(x+1))
		s.Points = append(s.Points, orb.Point{r.Float64() * 20000, r.Float64() * 20000})
		of := float64(1 + r.IntN(8))
		yes := 0.0
		for range int(of) {
			if r.Float64() < logistic(x) {
				yes++
			}
		}
		s.Records.Yes, s.Records.No = append(s.Records.Yes, yes), append(s.Records.No, of-yes)
	}
	asIs := func([]int) (func(int) float64, error) { return func(i int) float64 { return p[i] }, nil }
	s.Models = []Model{{"map as it was", asIs}}
	s.Naive = []Naive{{"all land cover that may bear elm", elm}}
	return s
}

func TestReportIsPlainAndTheSameTwice(t *testing.T) {
	for _, n := range []int{0, 1, 2, 3, 12, 150} {
		a, err := Evaluate(study(n))
		if err != nil {
			t.Fatalf("%d records: %v", n, err)
		}
		b, err := Evaluate(study(n))
		if err != nil {
			t.Fatal(err)
		}
		x, err := a.JSON()
		if err != nil {
			t.Fatalf("%d records: %v", n, err)
		}
		y, _ := b.JSON()
		if !bytes.Equal(x, y) || a.Text() != b.Text() {
			t.Errorf("%d records: another report the second time", n)
		}
		for line := range strings.Lines(a.Text()) {
			if utf8.RuneCountInString(strings.TrimSuffix(line, "\n")) > 80 || strings.Contains(line, "NaN") || strings.HasSuffix(line, " \n") {
				t.Errorf("%d records: line %q", n, line)
			}
		}
		if n == 0 && !strings.Contains(a.Text(), "No records") {
			t.Errorf("no records: %s", a.Text())
		}
		if n == 12 && !strings.Contains(a.Text(), "12 records: figures this few make swing widely") {
			t.Errorf("no warning of few records: %s", a.Text())
		}
		if n == 150 {
			t.Log("\n" + a.Text())
		}
		var back Report
		if err := json.Unmarshal(x, &back); err != nil {
			t.Fatal(err)
		}
		if z, _ := back.JSON(); !bytes.Equal(x, z) {
			t.Errorf("%d records: JSON read back differs: %s", n, cmp.Diff(string(x), string(z)))
		}
	}
}

// The figures of the text are those of the sample, put together by hand: a map
// that does not learn scores the same however it is parted.
func TestReportOfAMapThatDoesNotLearn(t *testing.T) {
	s := study(150)
	r, err := Evaluate(s)
	if err != nil {
		t.Fatal(err)
	}
	predict, _ := s.Models[0].Fit(nil)
	var p, of []float64
	for i := range s.Points {
		p, of = append(p, predict(i)), append(of, s.Records.Yes[i]+s.Records.No[i])
	}
	want := mustSample(t, p, of, s.Records.Yes)
	for name, got := range map[string]Scores{"unseen blocks": r.Maps[0].Blocked, "random folds": r.Maps[0].Random} {
		if got.AUC != want.AUC() || got.Brier.Value != want.Brier().Value || got.Logits.Slope != want.Logits().Slope {
			t.Errorf("%s: %+v", name, got)
		}
	}
	if r.Side.Blocks < r.Folds || r.Folds != 5 || r.RandomFolds != 5 || r.Seed != 9 {
		t.Errorf("%+v", r.Side)
	}
}

func TestStudiesThatCannotBe(t *testing.T) {
	for name, spoil := range map[string]func(*Study){
		"no map":        func(s *Study) { s.Models = nil },
		"one fold":      func(s *Study) { s.Folds = 1 },
		"side":          func(s *Study) { s.SideM = -5 },
		"naive too few": func(s *Study) { s.Naive[0].Values = s.Naive[0].Values[1:] },
		"negative":      func(s *Study) { s.Records.No[2] = -1 },
		"no place":      func(s *Study) { s.Points[1][0] = math.NaN() },
	} {
		s := study(20)
		spoil(&s)
		if _, err := Evaluate(s); err == nil || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// All in one block: random folds only, and the reason.
func TestReportOfOneBlock(t *testing.T) {
	s := study(60)
	for i := range s.Points {
		s.Points[i] = orb.Point{100 + float64(i%7), 100}
	}
	r, err := Evaluate(s)
	if err != nil {
		t.Fatal(err)
	}
	if m := r.Maps[0]; m.Blocked.AUC.Known() || !m.Random.AUC.Known() || !strings.Contains(r.Text(), "all records lie in one block") {
		t.Errorf("%s", r.Text())
	}
}

func TestSelection(t *testing.T) {
	var lattice []float64
	for i := range 1000 {
		lattice = append(lattice, (float64(i)+0.5)/1000)
	}
	for _, c := range []struct {
		name    string
		records []float64
		below   float64
		higher  float64
		want    string
	}{
		// Of ten records around 0.9 the middle lies at 0.9: 900 of 1000 below.
		{"the best", []float64{0.8, 0.82, 0.85, 0.88, 0.9, 0.9, 0.92, 0.95, 0.97, 0.99}, 0.9, 0.898, "Records come from ground the map liked: the middle one scores above 90 % of the map."},
		{"like the map", []float64{0.1, 0.3, 0.5, 0.7, 0.9}, 0.5, 0.5, "much like the map as a whole"},
		{"the worst", []float64{0.05, 0.1, 0.1, 0.1, 0.2}, 0.1, 0.11, "did not like"},
		{"two", []float64{0.9, 0.8}, 0.85, 0.85, "With 2 records one cannot tell"},
	} {
		s := Select(c.records, lattice)
		near(t, c.name+": below", s.Below.Value, c.below, 1e-9)
		near(t, c.name+": higher", s.Higher.Value, c.higher, 1e-9)
		if !strings.Contains(s.Text, c.want) {
			t.Errorf("%s: %q", c.name, s.Text)
		}
	}
	if s := Select([]float64{0.8, 0.82, 0.85, 0.88, 0.9}, lattice); s.Untried.Value != 0.8 || !strings.Contains(s.Text, "80 % of the map scores below nearly all of them") {
		t.Errorf("%+v", s)
	}
	for _, s := range []Selection{Select(nil, lattice), Select(lattice, nil), Select([]float64{math.NaN()}, lattice)} {
		if s.Below.Known() || !strings.Contains(s.Text, "not known") {
			t.Errorf("%+v", s)
		}
	}
}
