package field

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// When positions are not believed (common practice, no source).
const (
	oneSpotStops = 10   // so many stops at exactly one place are no stops
	oneSpotRows  = 1000 // nor are so many rows, nor so many stops within tightSpotM
	tightSpotM   = 30.0 // a file whose stops all lie within is flagged
)

type place struct{ lon, lat float64 }

// checkSpot finds files whose stops lie at one place, as when a device or a
// table gave the corner of a plot for every tree in it.
func (a *assembly) checkSpot() {
	stops := map[place]map[string]bool{}
	rows := map[place]int{}
	all := map[string]bool{}
	box := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for i := range a.rows {
		r := a.rows[i].r
		if len(a.rows[i].bad) > 0 {
			continue
		}
		p := place{r.Lon, r.Lat}
		if stops[p] == nil {
			stops[p] = map[string]bool{}
		}
		name := fmt.Sprintf("%d %s", r.Candidate, r.Stop)
		stops[p][name], all[name] = true, true
		rows[p]++
		box = box.Extend(orb.Point{r.Lon, r.Lat})
	}
	tight := len(all) >= oneSpotStops && metresApart(box.Min, box.Max) < math.Sqrt2*tightSpotM
	for i := range a.rows {
		row := &a.rows[i]
		if len(row.bad) > 0 {
			continue
		}
		p := place{row.r.Lon, row.r.Lat}
		wrong := ""
		switch {
		case len(stops[p]) >= oneSpotStops || rows[p] >= oneSpotRows:
			wrong = fmt.Sprintf("%d rows of %d stops lie at exactly %s, %s", rows[p], len(stops[p]), number(p.lon), number(p.lat))
		case tight && len(all) >= oneSpotRows:
			wrong = fmt.Sprintf("%d stops lie within %g m", len(all), tightSpotM)
		case tight:
			row.r.Flags = append(row.r.Flags, FlagTight)
		}
		if wrong != "" {
			row.bad = append(row.bad, Problem{File: a.t.file, Where: row.where, Field: "lon", Text: wrong + "; look where the positions come from"})
		}
	}
}
