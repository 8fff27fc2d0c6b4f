package compare

import (
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"
	"unicode/utf8"
)

func bottomland(slope float64) map[string]any {
	return map[string]any{"name": "hand", "sha256": "aa", "bottomland": map[string]any{
		"intercept": map[string]any{"value": 1.8, "sd": 1}, "weight_slope": map[string]any{"value": slope, "sd": 0.3, "source": "trial"}}}
}

// Every kind of change by hand: what is said of each candidate, and what is
// put behind it.
func TestStoriesOfCandidates(t *testing.T) {
	soils := map[string]any{"role": "evidence.soils", "path": "soils.gpkg", "sha256": "1234567890"}
	base := func() made {
		return made{run: "aaaa", suit: flat(0.7), profile: bottomland(-0.75), patches: []patch{square(0, 0, 0.9), square(20, 0, 0.8), square(40, 0, 0.7)}}
	}
	for _, c := range []struct {
		name    string
		a, b    func(m *made)
		story   string
		because string // among the causes of the first candidate that moved
		text    string
	}{
		{"nothing", nil, nil, "1>1 stayed ; 2>2 stayed ; 3>3 stayed ", "", "as it was"},
		{"passed by one that evidence raised", nil, func(m *made) {
			m.inputs = append(m.inputs, soils)
			m.patches[0], m.patches[1] = square(20, 0, 0.95), square(0, 0, 0.9)
			m.patches[0].bottomland, m.patches[0].shift = 0.95, 2
			m.suit = func(x, y int) float32 {
				if x >= 20 && x < 30 {
					return 0.83
				}
				return 0.7
			}
		}, "2>1 rose evidence; 1>2 fell others; 3>3 stayed ", "new layer of soils", "moved by evidence"},
		{"a weight", nil, func(m *made) {
			m.profile = bottomland(-1.5)
			m.patches[0], m.patches[1] = square(20, 0, 0.8), square(0, 0, 0.6)
			m.patches[1].bottomland = 0.4
			m.suit = func(x, y int) float32 {
				if x < 10 {
					return 0.5
				}
				return 0.7
			}
		}, "2>1 rose others; 1>2 fell bottomland; 3>3 stayed ", "weight of slope -0.75 → -1.5 (-0.82 log-odds here)", "suitability 0.70 → 0.50"},
		{"access closed", nil, func(m *made) {
			m.survey = map[string]any{"access": []any{map[string]any{"layer": "private", "status": "private"}}}
			m.patches[0].access = "private"
			m.patches = []patch{m.patches[1], m.patches[2], m.patches[0]}
		}, "2>1 rose others; 3>2 rose others; 1>3 fell access", "who may enter: new, private", "access open → private"},
		{"smaller by a setting", nil, func(m *made) {
			m.survey = map[string]any{"shortlist": map[string]any{"max_ha": 0.6}}
			p := &m.patches[0]
			p.x1, p.finds, p.score = 6, 1.8, 0.75
			m.patches[0], m.patches[1] = m.patches[1], m.patches[0]
		}, "2>1 rose others; 1>2 fell size; 3>3 stayed ", "largest patch (ha) not given → 0.6", "area 1.0 → 0.6 ha"},
		{"threshold lowered", func(m *made) { m.patches = m.patches[:2]; m.suit = steps }, func(m *made) {
			m.survey = map[string]any{"threshold": 0.4}
			m.suit = steps
		}, "1>1 stayed ; 2>2 stayed ; ->3 entered threshold", "suitability a patch needs 0.6 → 0.4", "a patch needs 0.4 where it needed 0.6"},
		{"kept out now", func(m *made) { m.layers = map[string]func(x, y int) float32{"keep-out": flat(0)} }, func(m *made) {
			m.survey = map[string]any{"keep_out": []any{map[string]any{"layer": "rail", "reason": "railway"}}}
			m.patches = m.patches[:2]
			m.layers = map[string]func(x, y int) float32{"keep-out": func(x, y int) float32 {
				if x >= 40 {
					return 1
				}
				return 0
			}}
		}, "1>1 stayed ; 2>2 stayed ; 3>- left keep-out", "ground to keep out of: new, railway", "it is now ground to keep out of"},
		{"fell below the threshold", nil, func(m *made) {
			m.profile = bottomland(-1.5)
			m.patches = m.patches[:2]
			m.suit = func(x, y int) float32 {
				if x >= 40 {
					return 0.3
				}
				return 0.7
			}
		}, "1>1 stayed ; 2>2 stayed ; 3>- left bottomland", "weight of slope -0.75 → -1.5", "suitability there 0.70 → 0.30"},
		{"off the end of the list", nil, func(m *made) { m.patches, m.found = m.patches[:2], 7 },
			"1>1 stayed ; 2>2 stayed ; 3>- left list length", "", "the list of run B ends at rank 2"},
		{"ground unknown before", func(m *made) {
			m.patches = m.patches[:2]
			m.suit = func(x, y int) float32 {
				if x >= 40 {
					return float32(math.NaN())
				}
				return 0.7
			}
		}, nil, "1>1 stayed ; 2>2 stayed ; ->3 entered mapped area", "", "run A knows nothing of this ground"},
		{"joined to its neighbour", nil, func(m *made) {
			m.patches[0].x1 = 30
			m.patches = []patch{m.patches[0], m.patches[2]}
		}, "1>1 stayed ; 3>2 rose others; 2>- left outline", "", "100 % of its ground belongs to candidate 1 of run B"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a, b := base(), base()
			if c.name != "nothing" {
				b.run = "bbbb"
			}
			if c.a != nil {
				c.a(&a)
			}
			if c.b != nil {
				c.b(&b)
			}
			r := compared(t, a.write(t), b.write(t))
			if got := story(r); got != c.story {
				t.Errorf("got  %s\nwant %s", got, c.story)
			}
			if r.Same != (c.name == "nothing") {
				t.Errorf("same: %v", r.Same)
			}
			var because, texts []string
			for _, p := range r.Candidates {
				because = append(because, p.Why.Because...)
				texts = append(texts, p.Why.Text)
			}
			if !strings.Contains(strings.Join(because, "\n"), c.because) {
				t.Errorf("causes %q, want %q", because, c.because)
			}
			if !strings.Contains(strings.Join(texts, "\n"), c.text) {
				t.Errorf("texts %q, want %q", texts, c.text)
			}
			checkText(t, r)
		})
	}
}

// steps is suitable ground but for the third patch, which lies between the thresholds.
func steps(x, y int) float32 {
	if x >= 40 {
		return 0.5
	}
	return 0.7
}

func checkText(t *testing.T, r *Result) {
	t.Helper()
	for _, rows := range []int{0, 1, 10} {
		text := r.Text(rows)
		for line := range strings.Lines(text) {
			if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > width {
				t.Errorf("a line of %d columns: %s", n, line)
			}
		}
		if !strings.Contains(text, Caution) {
			t.Error("the caution is missing")
		}
	}
	if _, err := json.Marshal(r); err != nil {
		t.Error(err)
	}
}

// Any number of workers gives the same answer, and A against B is the mirror
// of B against A.
func TestWorkersAndMirror(t *testing.T) {
	a := made{run: "aaaa", suit: func(x, y int) float32 { return float32(x*y%97) / 97 }, patches: []patch{square(0, 0, 0.9), square(20, 5, 0.8), square(40, 20, 0.7)}}
	b := made{run: "bbbb", suit: func(x, y int) float32 { return float32(x*y%89) / 89 }, patches: []patch{square(22, 7, 0.9), square(3, 2, 0.8), square(48, 28, 0.7)}}
	fa, fb := a.write(t), b.write(t)
	var first string
	for _, workers := range []int{1, 2, 5} {
		ra, err := Open(fa, "A")
		if err != nil {
			t.Fatal(err)
		}
		rb, err := Open(fb, "B")
		if err != nil {
			t.Fatal(err)
		}
		r, err := Runs(context.Background(), ra, rb, 2, workers)
		if err != nil {
			t.Fatal(err)
		}
		if o := r.Overlap; len(o) != 2 || o[0].Shared != 2 || o[0].Of != 2 || o[1].Shared != 2 || o[1].Of != 3 || *o[1].Share != 0.6667 {
			t.Errorf("overlap %+v", o)
		}
		data, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		if first == "" {
			first = string(data)
		} else if first != string(data) {
			t.Errorf("%d workers give\n%s\nnot\n%s", workers, data, first)
		}
	}
	there, back := compared(t, fa, fb), compared(t, fb, fa)
	if c, d := there.Counts, back.Counts; c.Entered != d.Left || c.Left != d.Entered || c.Rose != d.Fell || c.Stayed != d.Stayed || c.Rose != 1 || c.Entered != 1 {
		t.Errorf("there %+v, back %+v", c, d)
	}
	if d, e := there.Raster, back.Raster; d.Mean != -e.Mean || d.MeanAbs != e.MeanAbs || d.Least != -e.Most || d.RaisedHa != e.LoweredHa || d.MeanAbs == 0 {
		t.Errorf("there %+v, back %+v", d, e)
	}
}
