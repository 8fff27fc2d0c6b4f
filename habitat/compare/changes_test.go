package compare

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
)

// Inputs and settings side by side: what is said, in words, and what is not.
func TestChangesInWords(t *testing.T) {
	for _, c := range []struct {
		name, a, b string
		want       string // one change a line
	}{
		{"alike", `"survey": {"threshold": 0.6}`, `"survey": {"threshold": 0.6}`, ""},
		{"not recorded is not given", `"survey": {"threshold": 0.6}`, `"survey": {"threshold": 0.6, "inventory": {"rasters": [], "blend": 0, "trees": {"surveyed": {}}}, "x": null}`, ""},
		{"asked and used threshold are one", `"survey": {"threshold": 0.6, "shortlist": {"threshold": 0}}`, `"survey": {"threshold": 0.5, "shortlist": {"threshold": 0.5}}`, "setting suitability a patch needs: 0.6 → 0.5"},
		{"switch", `"survey": {}`, `"survey": {"evidence": {"valley_flatness": true}}`, "setting valley flatness measured: not given → on"},
		{"layers come and go", `"survey": {"layers": ["a", "b"]}`, `"survey": {"layers": ["b", "c"]}`, "setting layers written: a → c"},
		{"numbers", `"profile": {"bottomland": {"sizes_km2": [2, 10]}}`, `"profile": {"bottomland": {"sizes_km2": [2, 20]}}`, "profile sizes of drainage (km²): [2,10] → [2,20]"},
		{"one more of a list, before the others", `"survey": {"access": [{"layer": "parks"}]}`, `"survey": {"access": [{"layer": "private", "status": "private"}, {"layer": "parks"}]}`, "setting who may enter: new, private"},
		{"one of a list changed", `"survey": {"keep_out": [{"reason": "railway", "distance": 20}]}`, `"survey": {"keep_out": [{"reason": "railway", "distance": 50}]}`, "setting distance kept (m) (railway): 20 → 50"},
		{"order", `"survey": {"access": [{"layer": "a"}, {"layer": "b"}]}`, `"survey": {"access": [{"layer": "b"}, {"layer": "a"}]}`, "setting who may enter, order: a, b → b, a"},
		{"a table elsewhere", `"survey": {"evidence": {"layers": [{"name": "g", "table": "/one/g.csv"}]}}`, `"survey": {"evidence": {"layers": [{"name": "g", "table": "/two/g.csv"}]}}`, ""},
		{"weight, and words beside it", `"profile": {"sha256": "1", "bottomland": {"weight_r": {"value": -1.5, "sd": 0.5, "source": "x"}}}`, `"profile": {"sha256": "2", "bottomland": {"weight_r": {"value": -1.2, "sd": 0.3, "source": "y"}}}`,
			"profile weight of height above streams, doubt beforehand: 0.5 → 0.3\nprofile weight of height above streams: -1.5 → -1.2"},
		{"figures that records do not hold", `"profile": {"sha256": "1"}`, `"profile": {"sha256": "2"}`, "profile other figures of the profile (hosts, hit rates, cover), which run records do not hold: 1 → 2"},
		{"hit rates, when given", `"profile": {"hosts": [{"id": "american-elm", "hit_rate": {"hits": 3, "of": 40}}]}`, `"profile": {"hosts": [{"id": "american-elm", "hit_rate": {"hits": 5, "of": 50}}]}`,
			"profile hosts, hit rate, hits (american-elm): 3 → 5\nprofile hosts, hit rate, of (american-elm): 40 → 50"},
		{"rates as records hold them: the chance, and how sure", `"profile": {"hit_rates": [{"host": "american-elm", "hits": 3, "of": 40, "weight": 20}, {"host": "boxelder", "hits": 0.05, "of": 40, "weight": 400}]}`,
			`"profile": {"hit_rates": [{"host": "american-elm", "hits": 9.67269, "of": 47.2113, "weight": 47.2113}, {"host": "boxelder", "hits": 0.025, "of": 20, "weight": 400}]}`,
			"profile hit rate (american-elm): 0.075 → 0.2049\nprofile trees its hit rate is believed as (american-elm): 20 → 47.2113"},
		{"rate of nought, left out", `"profile": {"hit_rates": [{"host": "sycamore", "of": 40}]}`, `"profile": {"hit_rates": [{"host": "sycamore", "hits": 1, "of": 40}]}`, "profile hit rate (sycamore): not given → 0.025"},
		{"rates that are none", `"profile": {"hit_rates": [{"host": "sycamore", "hits": "x", "of": 0}, 5]}`, `"profile": {"hit_rates": [{"host": "sycamore", "hits": "x", "of": 0}, 5]}`, ""},
		{"what was learned, without its matrix", `"profile": {"sha256": "1"}`, `"profile": {"sha256": "2", "posterior": {"records": 74, "until": "2024-02-24", "weights": ["intercept"], "covariance": [[0.2]], "source": "mode"}}`,
			"profile records learned from: not given → 74\nprofile last day learned from: new, 2024-02-24"},
		{"version", `"software": {"rillwood": "1"}`, `"software": {"rillwood": "2"}`, "software version of Rillwood: 1 → 2"},
		{"frame", `"frame": {"cell_m": 10, "columns": 5, "rows": 4}`, `"frame": {"cell_m": 20, "columns": 5, "rows": 2}`, "frame side of a cell (m): 10 → 20\nframe columns × rows: 5 × 4 → 5 × 2"},
		{"another file", `"inputs": [{"role": "elevation", "path": "a/e.tif", "sha256": "11"}]`, `"inputs": [{"role": "elevation", "path": "b/e.tif", "sha256": "22"}]`, "input elevation: e.tif (sha256 11) → e.tif (sha256 22)"},
		{"the same file elsewhere", `"inputs": [{"role": "elevation", "path": "a/e.tif", "sha256": "11"}]`, `"inputs": [{"role": "elevation", "path": "b/f.tif", "sha256": "11"}]`, ""},
		{"a layer before another", `"inputs": [{"role": "access[0]", "path": "p", "sha256": "11"}]`, `"inputs": [{"role": "access[0]", "path": "q", "sha256": "22"}, {"role": "access[1]", "path": "p", "sha256": "11"}]`, "input layer of who may enter: new, q (sha256 22)"},
		{"one of many tiles", `"inputs": [{"role": "elevation", "path": "1", "sha256": "11"}, {"role": "elevation", "path": "2", "sha256": "22"}]`, `"inputs": [{"role": "elevation", "path": "1", "sha256": "11"}, {"role": "elevation", "path": "2", "sha256": "33"}, {"role": "elevation", "path": "4", "sha256": "44"}]`,
			"input elevation: 2 (sha256 22) → 2 (sha256 33)\ninput elevation: new, 4 (sha256 44)"},
		{"host raster gone", `"inputs": [{"role": "inventory.rasters[0] american-elm", "path": "e.tif", "sha256": "11"}]`, `"inputs": []`, "input layer of measured host trees (american-elm): left out, e.tif (sha256 11)"},
		{"a name we do not know", `"survey": {"snow_depth": {"least_m": 1}}`, `"survey": {"snow_depth": {"least_m": 2}}`, "setting snow depth, least m: 1 → 2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var runs [2]*Run
			for i, text := range []string{c.a, c.b} {
				r, err := parseRecord([]byte(`{"format": "rillwood-run-1", "run": "r", ` + text + `}`))
				if err != nil {
					t.Fatal(err)
				}
				runs[i] = &Run{record: r}
			}
			var got []string
			for _, change := range changesBetween(runs[0], runs[1]) {
				got = append(got, change.Kind+" "+change.words())
			}
			if strings.Join(got, "\n") != c.want {
				t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), c.want)
			}
			// The other way round as many things changed.
			if back := changesBetween(runs[1], runs[0]); len(back) != len(got) {
				t.Errorf("%d changes there, %d back", len(got), len(back))
			}
		})
	}
}

// Parts of a change of score add up to it, whatever the figures.
func TestPartsAddUp(t *testing.T) {
	text := `{"rank": 1, "score": %g, "area_ha": %g, "suitability_mean": %g, "bottomland_mean": %g, "expected_finds": %g, "evidence_shift": %g}`
	for i := range 200 {
		var c [2]Candidate
		for k := range c {
			v := func(n int) float64 { return float64(1+(i*7919+k*104729+n*1299709)%97) / 98 }
			if err := json.Unmarshal(fmt.Appendf(nil, text, v(1)*v(2), 12*v(3), v(2), v(4), 9*v(5), 4*v(6)-2), &c[k]); err != nil {
				t.Fatal(err)
			}
		}
		for _, on := range []bearing{onNothing, onEvidence, onWeights, onHosts} {
			r := &reasoner{a: &Run{Candidates: c[:1]}, b: &Run{Candidates: c[1:]}, ground: &grounds{overA: [2][]ground{{{}}, {{}}}}, changes: []Change{{bears: on}}}
			got, want := r.split(0, 0).total(), lnRatio(c[0].Score, c[1].Score)
			if d := got - want; d > 1e-9 || d < -1e-9 {
				t.Fatalf("parts add to %g, the score moved by %g", got, want)
			}
		}
	}
}

// Figures of doubt are one line of the text and whole in the list of changes.
func TestDoubtIsToldOnce(t *testing.T) {
	for _, c := range []struct {
		b, want string
		changes int
	}{
		{`{"intercept": {"value": 1, "sd": 0.5}, "weight_r": {"value": -1, "sd": 0.4}}`, "2 figures of the profile are more or less sure", 2},
		{`{"intercept": {"value": 1, "sd": 0.5}, "weight_r": {"value": -1, "sd": 0.5}}`, "one figure of the profile is more or less sure", 1},
		{`{"intercept": {"value": 2, "sd": 1}, "weight_r": {"value": -1, "sd": 0.5}}`, "intercept of bottomland: 1 → 2", 1},
	} {
		var runs [2]*Run
		for i, text := range []string{`{"intercept": {"value": 1, "sd": 1}, "weight_r": {"value": -1, "sd": 0.5}}`, c.b} {
			r, err := parseRecord([]byte(`{"format": "rillwood-run-1", "run": "r", "profile": {"bottomland": ` + text + `}}`))
			if err != nil {
				t.Fatal(err)
			}
			runs[i] = &Run{record: r}
		}
		result := &Result{Changes: changesBetween(runs[0], runs[1])}
		text := result.Text(0)
		if len(result.Changes) != c.changes || !strings.Contains(text, c.want) || strings.Contains(text, "doubt beforehand") {
			t.Errorf("%d changes, told as\n%s", len(result.Changes), text)
		}
	}
}
