package results

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// oneLine demands that a fault is told in one short line.
func oneLine(t *testing.T, err error) {
	t.Helper()
	if strings.ContainsAny(err.Error(), "\n\r\x1b") || len(err.Error()) > 1000 {
		t.Errorf("not one short line: %q", err)
	}
}

// Whatever a record says, it is refused in one line or taken with figures in
// their bounds and at least one caution.
func FuzzRecord(f *testing.F) {
	f.Add([]byte(`{"format": "rillwood-run-1", "run": "a", "survey": {"name": "x", "threshold": 0.6}, "cautions": [{"key": "map", "text": "Look."}], "target": {"months": [11, 12]}}`))
	f.Add([]byte(`{"format": "rillwood-run-1", "run": "a", "profile": {"hosts": [{"id": "elm"}], "hit_rates": [{"host": "elm", "hits": 3, "of": 40, "weight": 2}]}, "outputs": ["layers/a.tif"]}`))
	f.Add([]byte(`{"format": "rillwood-run-1", "run": "a", "frame": {"written_window": [1, 2, 3, 4], "cell_m": 10}, "counts": {"patches_found": -4}}`))
	f.Add([]byte(`{"format": "rillwood-run-1", "run": "a", "target": {"months": [13]}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		r := &Run{}
		if err := r.parseRecord(data); err != nil {
			oneLine(t, err)
			return
		}
		if r.ID == "" || !(r.Threshold >= 0 && r.Threshold <= 1) || r.Found < 0 || len(r.Cautions) == 0 {
			t.Errorf("%+v", r)
		}
		for _, c := range r.Cautions {
			if c.Text == "" {
				t.Error("a caution says nothing")
			}
		}
		for _, n := range r.Notes {
			if strings.ContainsAny(n, "\n\r") {
				t.Errorf("note %q", n)
			}
		}
		ids := map[string]bool{}
		for _, h := range r.Hosts {
			if ids[h.ID] || h.ID == "" || h.Common == "" || !(h.Hits >= 0 && h.Hits <= h.Of && h.Weight >= 0) || math.IsInf(h.Of+h.Weight, 0) {
				t.Errorf("host %+v", h)
			}
			ids[h.ID] = true
		}
		for _, m := range r.Target.Months {
			if m < 1 || m > 12 {
				t.Errorf("month %d", m)
			}
		}
	})
}

// Whatever a shortlist says, it is refused in one line or taken with ranks in
// order, places on the earth, closed rings, and figures that are numbers or
// not known.
func FuzzShortlist(f *testing.F) {
	f.Add([]byte(`{"type": "FeatureCollection", "run": "a", "features": [{"geometry": {"type": "Polygon", "coordinates": [[[0,0],[1,0],[1,1],[0,0]]]}, "properties": {"rank": 1, "score": 0.5, "lon": 0, "lat": 1}}]}`))
	f.Add([]byte(`{"type": "FeatureCollection", "features": [{"geometry": {"type": "MultiPolygon", "coordinates": [[[[0,0,5],[1,0],[1,1],[0,0]]]]}, "properties": {"rank": 2, "walk_note": "none", "lon": 0, "lat": 1, "trees": {"elm": {"expected": 1, "low": null}, "elm": {}}}}]}`))
	f.Add([]byte(`{"type": "FeatureCollection", "features": [{"geometry": {"type": "Polygon", "coordinates": [[[0,0],[1,0],[1,1],[0,0]]]}, "properties": {"rank": 1, "lon": 0, "lat": 1, "walk_note": "", "walk_m": 5, "start_lon": 1, "start_lat": 1, "entry_lon": 1, "entry_lat": 1, "water_crossings": -1, "trees_to_check_95": null}}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		r := &Run{ID: "a"}
		if err := r.parseShortlist(data); err != nil {
			oneLine(t, err)
			return
		}
		for i, c := range r.Candidates {
			if c.Rank < 1 || i > 0 && c.Rank <= r.Candidates[i-1].Rank || !onEarth(c.Lon, c.Lat) || len(c.Shape) == 0 || c.Check95 < 0 || c.StreamOrder < 0 {
				t.Errorf("candidate %+v", c)
			}
			if got := r.Candidate(c.Rank); got != &r.Candidates[i] {
				t.Errorf("rank %d finds %+v", c.Rank, got)
			}
			for _, p := range c.Shape {
				for _, ring := range p {
					if len(ring) < 4 || ring[0] != ring[len(ring)-1] {
						t.Errorf("ring %v", ring)
					}
				}
			}
			for _, v := range []float64{c.Score, c.AreaHa, c.Finds, c.FindsHigh, c.StreamM} {
				if math.IsInf(v, 0) {
					t.Errorf("figure of %+v", c)
				}
			}
			hosts := map[string]bool{}
			for _, n := range c.Trees {
				if hosts[n.Host] || math.IsInf(n.Expected, 0) {
					t.Errorf("trees %+v", c.Trees)
				}
				hosts[n.Host] = true
			}
			if w := c.Walk; w != nil && w.OK && (!onEarth(w.StartLon, w.StartLat) || !onEarth(w.EntryLon, w.EntryLat) || math.IsNaN(w.DistanceM) || w.Crossings < 0) {
				t.Errorf("walk %+v", w)
			}
		}
	})
}

// Whatever a file of ways says, it is refused in one line or taken with lines
// on the earth, each to a candidate.
func FuzzWays(f *testing.F) {
	f.Add([]byte(`{"type": "FeatureCollection", "run": "a", "features": [{"geometry": {"type": "LineString", "coordinates": [[0,0],[1,0]]}, "properties": {"rank": 1, "cautions": ["a"]}}]}`))
	f.Add([]byte(`{"type": "FeatureCollection", "features": [{"geometry": {"type": "LineString", "coordinates": [[0,0,9],[1,0],[1,1]]}, "properties": {"rank": 2, "cautions": null}}]}`))
	f.Add([]byte(`{"type": "FeatureCollection", "features": [{"geometry": {"type": "LineString", "coordinates": [[0],[1,0]]}, "properties": {"rank": 1}}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		r := &Run{ID: "a", Candidates: []Candidate{{Rank: 1, Walk: &Walk{OK: true}}, {Rank: 2, Walk: &Walk{OK: true}}, {Rank: 5}}}
		if err := r.parseWays(data); err != nil {
			oneLine(t, err)
			return
		}
		for rank, line := range r.Ways {
			if c := r.Candidate(rank); c == nil || c.Walk == nil || len(line) < 2 {
				t.Errorf("way %d: %v", rank, line)
			}
			for _, p := range line {
				if !onEarth(p[0], p[1]) {
					t.Errorf("way %d: %v", rank, p)
				}
			}
		}
		if b := orb.LineString(r.Ways[5]); b != nil {
			t.Error("a way where none was found")
		}
	})
}
