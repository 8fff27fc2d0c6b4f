package habitat

import (
	"math"
	"strings"
	"testing"
	"time"

	"rillwood/habitat/field"
)

// Any number and any kind of records gives sensible answers: rates between
// nought and one inside their intervals, weights of the right sign, a profile
// that reads back, and a map that can be made with it.
func TestLearnExtremes(t *testing.T) {
	c := newStudyCounty(t, 200)
	winter := time.Date(2024, 12, 1, 0, 0, 0, 0, time.UTC)
	one := func(i int, host string, n, x int) field.Record {
		i %= len(c.cells)
		return field.Record{Date: winter.AddDate(0, 0, i%90), Lon: c.lonlat[i][0], Lat: c.lonlat[i][1], Host: host, Condition: field.DeadStanding, Inspected: n, Found: x}
	}
	many := func(n int, make func(i int) field.Record) (out []field.Record) {
		for i := range n {
			out = append(out, make(i))
		}
		return out
	}
	elm, maple := "american-elm", "silver-maple"
	for _, tc := range []struct {
		name string
		recs []field.Record
		note string                           // a note that must be there
		want func(before, after float64) bool // of the elm's rate
	}{
		{"no record", nil, "the new profile is the old one", func(b, a float64) bool { return a == b }},
		{"one tree without", many(1, func(i int) field.Record { return one(i, elm, 1, 0) }), "too few", func(b, a float64) bool { return a < b && a > 0.7*b }},
		{"one tree with", many(1, func(i int) field.Record { return one(i, elm, 1, 1) }), "too few", func(b, a float64) bool { return a > b && a < 2.5*b }},
		{"all zeros", many(400, func(i int) field.Record { return one(i, elm, 2, 0) }), "every stop had", func(b, a float64) bool { return a < b/3 && a > 0 }},
		{"all finds", many(400, func(i int) field.Record { return one(i, elm, 2, 2) }), "", func(_, a float64) bool { return a > 0.9 && a < 1 }},
		{"one site only", many(50, func(int) field.Record { return one(7, elm, 2, 1) }), "too few", nil},
		{"elms looked for, never there", many(60, func(i int) field.Record { return one(3*i, elm, 0, 0) }), "", func(b, a float64) bool { return math.Abs(a-b) < 1e-6 }},
		{"no host at all", many(60, func(i int) field.Record { return one(3*i, field.NoHost, 0, 0) }), "", nil},
		{"another host only", many(300, func(i int) field.Record { return one(i, maple, 3, i%100/99) }), "no stop tells", func(b, a float64) bool { return math.Abs(a-b) < 0.02 }},
		{"out of season", many(30, func(i int) field.Record {
			r := one(i, elm, 5, 0)
			r.Date = time.Date(2024, 7, 9, 0, 0, 0, 0, time.UTC)
			return r
		}), "", func(b, a float64) bool { return math.Abs(a-b) < 1e-6 }},
		{"outside the map", many(3, func(i int) field.Record { r := one(i, elm, 5, 1); r.Lat += 3; return r }), "the new profile is the old one", func(b, a float64) bool { return a == b }},
		{"a hundred thousand", many(100_000, func(i int) field.Record {
			r := one(i, elm, 3, i%12/11)
			r.Date = winter.AddDate(-i%20, 0, i%90)
			return r
		}), "", func(_, a float64) bool { return a > 0.01 && a < 0.06 }},
	} {
		t.Run(tc.name, func(t *testing.T) {
			l, err := LearnFromRecords(t.Context(), c.run, c.p, tc.recs, LearnOptions{})
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range append(l.Rates, l.ByCondition...) {
				m, lo, hi := r.After[0], r.After[1], r.After[2]
				if !(lo >= 0 && lo <= hi && hi <= 1 && m > 0 && m < 1) {
					t.Errorf("%s: rate %g in %g to %g", r.Host, m, lo, hi)
				}
			}
			for i, w := range l.Weights[:numTerms] {
				if math.IsNaN(w.After+w.Low+w.High) || w.Low > w.After+1e-9 || w.High < w.After-1e-9 && w.After != 0 || i > 0 && w.After > 0 {
					t.Errorf("%s: %g in %g to %g", w.Name, w.After, w.Low, w.High)
				}
			}
			if tc.want != nil && !tc.want(l.Rates[0].Before[0], l.Rates[0].After[0]) {
				t.Errorf("elm's rate goes from %.4f to %.4f", l.Rates[0].Before[0], l.Rates[0].After[0])
			}
			if !strings.Contains(strings.Join(strings.Fields(l.Text()), " "), tc.note) {
				t.Errorf("no word of %q in:\n%s", tc.note, l.Text())
			}
			for line := range strings.Lines(l.Text()) {
				if n := len([]rune(strings.TrimRight(line, "\n"))); n > 80 {
					t.Errorf("%d columns: %s", n, line)
				}
			}
			data, err := l.Profile.Encode()
			if err != nil {
				t.Fatal(err)
			}
			again, err := ParseProfile("learned.yaml", data)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := NewHostTable(again, nil); err != nil {
				t.Error(err)
			}
			if _, err := ScoreRecords(t.Context(), c.run, c.p, tc.recs[:min(len(tc.recs), 3000)], LearnOptions{}); err != nil {
				t.Errorf("scores: %v", err)
			}
		})
	}
}

// A record that is in the profile already is not learned twice.
func TestLearnOnce(t *testing.T) {
	c := newStudyCounty(t, 200)
	day := time.Date(2024, 12, 1, 0, 0, 0, 0, time.UTC)
	rec := func(i, add int) field.Record {
		return field.Record{Date: day.AddDate(0, 0, add), Lon: c.lonlat[i][0], Lat: c.lonlat[i][1], Host: "american-elm", Inspected: 4, Found: i % 2}
	}
	var first, both []field.Record
	for i := range 30 {
		first = append(first, rec(5*i, i))
	}
	both = append(both, first...)
	for i := range 20 {
		both = append(both, rec(5*i+2, 40+i))
	}
	a, err := LearnFromRecords(t.Context(), c.run, c.p, first, LearnOptions{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := LearnFromRecords(t.Context(), c.run, a.Profile, both, LearnOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if b.Used != 20 || len(b.Left) != 1 || !strings.Contains(b.Left[0], "in the profile already") {
		t.Errorf("used %d, left out %q; want the 20 new ones", b.Used, b.Left)
	}
	if len(b.Profile.Provenance) != len(c.p.Provenance)+2 {
		t.Errorf("provenance: %q", b.Profile.Provenance)
	}
	// In one go or in two winters, about the same is believed.
	all, err := LearnFromRecords(t.Context(), c.run, c.p, both, LearnOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if x, y := all.Rates[0].After[0], b.Rates[0].After[0]; math.Abs(x-y) > 0.03 {
		t.Errorf("elm's rate %.4f in one go, %.4f in two", x, y)
	}
	for i := range numTerms {
		if x, y := all.Weights[i], b.Weights[i]; math.Abs(x.After-y.After) > x.SDAfter {
			t.Errorf("%s %.4f in one go, %.4f in two", x.Name, x.After, y.After)
		}
	}
}
