package pack

import (
	"fmt"
	"math"
	"strings"

	"rillwood/habitat/results"
)

// column is one attribute of the candidates, in CSV and GeoPackage alike.
type column struct {
	name  string
	kind  string // Integer64, Real or String
	means string // for the reader; "" = as the one before
	of    func(c *results.Candidate) any
}

// columns are what both tables tell of a candidate of a run. What is not known
// is nil, NaN or "".
func columns(run *results.Run) []column {
	return []column{
		{"rank", "Integer64", "number of the patch, 1 = look here first", func(c *results.Candidate) any { return c.Rank }},
		{"stream", "String", "nearest stream", func(c *results.Candidate) any { return c.Stream }},
		{"access", "String", "open, permit, private, closed or unknown", func(c *results.Candidate) any { return c.Access }},
		{"access_note", "String", "the same in words", func(c *results.Candidate) any { return accessWords(c) }},
		{"land", "String", "names of the land it lies on", func(c *results.Candidate) any { return strings.Join(c.Land, "; ") }},
		{"lon", "Real", "a place near the middle of the patch, degrees (WGS 84)", real(6, func(c *results.Candidate) float64 { return c.Lon })},
		{"lat", "Real", "", real(6, func(c *results.Candidate) float64 { return c.Lat })},
		{"score", "Real", "mean suitability times the chance of a find; ranks go by who may enter, then by this", real(4, func(c *results.Candidate) float64 { return c.Score })},
		{"area_ha", "Real", "hectares", real(2, func(c *results.Candidate) float64 { return c.AreaHa })},
		{"suitability_mean", "Real", "0 poor, 1 look here first", real(4, func(c *results.Candidate) float64 { return c.SMean })},
		{"suitability_max", "Real", "", real(4, func(c *results.Candidate) float64 { return c.SMax })},
		{"bottomland_mean", "Real", "how likely it is bottomland, 0 to 1", real(4, func(c *results.Candidate) float64 { return c.BMean })},
		{"expected_finds", "Real", "finds to expect in season, with spread and the bounds of nine draws in ten", real(3, func(c *results.Candidate) float64 { return c.Finds })},
		{"expected_finds_sd", "Real", "", real(3, func(c *results.Candidate) float64 { return c.FindsSD })},
		{"expected_finds_low", "Real", "", real(3, func(c *results.Candidate) float64 { return c.FindsLow })},
		{"expected_finds_high", "Real", "", real(3, func(c *results.Candidate) float64 { return c.FindsHigh })},
		{"rank_confidence", "Real", "share of draws in which it is among the best ten", real(3, func(c *results.Candidate) float64 { return c.RankConfidence })},
		{"learning_visit", "Integer64", "1 = kept for what a visit would teach", func(c *results.Candidate) any { return truth(c.Learning) }},
		{"first_host", "String", "tree to look for first", func(c *results.Candidate) any { return c.FirstHost }},
		{"trees_to_check_95", "Integer64", "dead or dying trees to check for a 95 % chance of one find; empty = no number is enough", func(c *results.Candidate) any {
			if c.Check95 == 0 {
				return nil
			}
			return c.Check95
		}},
		{"holds_that_many", "Integer64", "1 = the patch should hold so many", func(c *results.Candidate) any { return truth(c.HoldsCheck) }},
		{"dead_trees", "Real", "dead or dying host trees to expect", real(1, func(c *results.Candidate) float64 { return c.DeadTrees })},
		{"trees", "String", "host trees to expect, dead or alive, with bounds", func(c *results.Candidate) any { return treesOf(run, c) }},
		{"height_m", "Real", "metres above the stream", real(2, func(c *results.Candidate) float64 { return c.HeightM })},
		{"slope_pct", "Real", "slope in percent", real(2, func(c *results.Candidate) float64 { return c.SlopePct })},
		{"stream_m", "Real", "metres to the stream", real(0, func(c *results.Candidate) float64 { return c.StreamM })},
		{"stream_order", "Integer64", "order of the stream (Strahler); empty = not known", func(c *results.Candidate) any {
			if c.StreamOrder == 0 {
				return nil
			}
			return c.StreamOrder
		}},
		{"cover", "String", "land cover on most of it, and its share", func(c *results.Candidate) any { return strings.ReplaceAll(c.Cover, "_", " ") }},
		{"cover_share", "Real", "", real(2, func(c *results.Candidate) float64 { return c.CoverShare })},
		{"limiting", "String", "what holds the suitability down", func(c *results.Candidate) any { return c.Limiting }},
		{"outside_drainage_share", "Real", "share whose water leaves the map first, so that heights are less sure", real(2, func(c *results.Candidate) float64 { return c.OutsideShare })},
		{"evidence", "String", "what further layers say", func(c *results.Candidate) any { return strings.Join(c.Evidence, "; ") }},
		{"evidence_shift", "Real", "how far they moved the log-odds of bottomland", real(3, func(c *results.Candidate) float64 { return c.EvidenceShift })},
		{"measured_share", "Real", "share of the ground where trees were measured", real(3, func(c *results.Candidate) float64 { return c.MeasuredShare })},
		{"walk_note", "String", "the way in", func(c *results.Candidate) any {
			if c.Walk == nil {
				return ""
			}
			return c.Walk.Note
		}},
		{"walk_m", "Real", "metres on foot, of these on paths and off them, up and down", walked(0, func(w *results.Walk) float64 { return w.DistanceM })},
		{"walk_path_m", "Real", "", walked(0, func(w *results.Walk) float64 { return w.PathM })},
		{"walk_off_path_m", "Real", "", walked(0, func(w *results.Walk) float64 { return w.OffPathM })},
		{"climb_m", "Real", "", walked(0, func(w *results.Walk) float64 { return w.ClimbM })},
		{"descent_m", "Real", "", walked(0, func(w *results.Walk) float64 { return w.DescentM })},
		{"water_crossings", "Integer64", "mapped streams to cross without a mapped bridge", func(c *results.Candidate) any {
			if !hasWay(c) {
				return nil
			}
			return c.Walk.Crossings
		}},
		{"start", "String", "where a car may stand", func(c *results.Candidate) any {
			if !hasWay(c) {
				return ""
			}
			return startWords(c.Walk)
		}},
		{"start_lon", "Real", "", walked(6, func(w *results.Walk) float64 { return w.StartLon })},
		{"start_lat", "Real", "", walked(6, func(w *results.Walk) float64 { return w.StartLat })},
		{"entry_lon", "Real", "where the way enters the patch", walked(6, func(w *results.Walk) float64 { return w.EntryLon })},
		{"entry_lat", "Real", "", walked(6, func(w *results.Walk) float64 { return w.EntryLat })},
		{"why", "String", "why to look there", func(c *results.Candidate) any { return c.Why }},
		{"caution", "String", "goes with every row", func(*results.Candidate) any { return shortSafety(run) }},
	}
}

// real rounds a figure.
func real(decimals int, of func(c *results.Candidate) float64) func(c *results.Candidate) any {
	p := math.Pow(10, float64(decimals))
	return func(c *results.Candidate) any { return math.Round(of(c)*p)/p + 0 } // −0 becomes 0
}

func walked(decimals int, of func(w *results.Walk) float64) func(c *results.Candidate) any {
	return real(decimals, func(c *results.Candidate) float64 {
		if !hasWay(c) {
			return math.NaN()
		}
		return of(c.Walk)
	})
}

func hasWay(c *results.Candidate) bool { return c.Walk != nil && c.Walk.OK }

func truth(b bool) int {
	if b {
		return 1
	}
	return 0
}

// treesOf lists the hosts of a patch with the bounds of their numbers.
func treesOf(run *results.Run, c *results.Candidate) string {
	list := make([]string, len(c.Trees))
	for i, t := range c.Trees {
		list[i] = fmt.Sprintf("%s %s (%s to %s)", run.HostByID(t.Host).Common, figure(t.Expected, 0), figure(t.Low, 0), figure(t.High, 0))
	}
	return strings.Join(list, "; ")
}
