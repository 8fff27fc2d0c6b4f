package pack

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"
	"strings"

	"rillwood/habitat/results"
	"rillwood/vector"
)

// column is one attribute of the candidates, in CSV and GeoPackage alike.
type column struct {
	name string
	kind string // Integer64, Real or String
	of   func(c *results.Candidate) any
}

func real(decimals int, of func(c *results.Candidate) float64) func(c *results.Candidate) any {
	p := math.Pow(10, float64(decimals))
	return func(c *results.Candidate) any { return math.Round(of(c)*p) / p }
}

func walked(decimals int, of func(w *results.Walk) float64) func(c *results.Candidate) any {
	return real(decimals, func(c *results.Candidate) float64 {
		if c.Walk == nil || !c.Walk.OK {
			return math.NaN()
		}
		return of(c.Walk)
	})
}

// columns are what both tables tell of a candidate.
var columns = []column{
	{"rank", "Integer64", func(c *results.Candidate) any { return c.Rank }},
	{"stream", "String", func(c *results.Candidate) any { return c.Stream }},
	{"score", "Real", real(4, func(c *results.Candidate) float64 { return c.Score })},
	{"area_ha", "Real", real(2, func(c *results.Candidate) float64 { return c.AreaHa })},
	{"suitability_mean", "Real", real(4, func(c *results.Candidate) float64 { return c.SMean })},
	{"bottomland_mean", "Real", real(4, func(c *results.Candidate) float64 { return c.BMean })},
	{"expected_finds", "Real", real(3, func(c *results.Candidate) float64 { return c.Finds })},
	{"expected_finds_low", "Real", real(3, func(c *results.Candidate) float64 { return c.FindsLow })},
	{"expected_finds_high", "Real", real(3, func(c *results.Candidate) float64 { return c.FindsHigh })},
	{"rank_confidence", "Real", real(3, func(c *results.Candidate) float64 { return c.RankConfidence })},
	{"learning_visit", "Integer64", func(c *results.Candidate) any { return truth(c.Learning) }},
	{"first_host", "String", func(c *results.Candidate) any { return c.FirstHost }},
	{"trees_to_check_95", "Integer64", func(c *results.Candidate) any {
		if c.Check95 == 0 {
			return nil
		}
		return c.Check95
	}},
	{"holds_that_many", "Integer64", func(c *results.Candidate) any { return truth(c.HoldsCheck) }},
	{"dead_trees", "Real", real(1, func(c *results.Candidate) float64 { return c.DeadTrees })},
	{"height_m", "Real", real(2, func(c *results.Candidate) float64 { return c.HeightM })},
	{"slope_pct", "Real", real(2, func(c *results.Candidate) float64 { return c.SlopePct })},
	{"stream_m", "Real", real(0, func(c *results.Candidate) float64 { return c.StreamM })},
	{"limiting", "String", func(c *results.Candidate) any { return c.Limiting }},
	{"access", "String", func(c *results.Candidate) any { return c.Access }},
	{"access_note", "String", func(c *results.Candidate) any { return c.AccessNote }},
	{"land", "String", func(c *results.Candidate) any { return strings.Join(c.Land, "; ") }},
	{"walk_m", "Real", walked(0, func(w *results.Walk) float64 { return w.DistanceM })},
	{"water_crossings", "Integer64", func(c *results.Candidate) any {
		if c.Walk == nil || !c.Walk.OK {
			return nil
		}
		return c.Walk.Crossings
	}},
	{"walk_note", "String", func(c *results.Candidate) any {
		if c.Walk == nil {
			return ""
		}
		return c.Walk.Note
	}},
	{"entry_lon", "Real", walked(6, func(w *results.Walk) float64 { return w.EntryLon })},
	{"entry_lat", "Real", walked(6, func(w *results.Walk) float64 { return w.EntryLat })},
	{"lon", "Real", real(6, func(c *results.Candidate) float64 { return c.Lon })},
	{"lat", "Real", real(6, func(c *results.Candidate) float64 { return c.Lat })},
	{"evidence", "String", func(c *results.Candidate) any { return strings.Join(c.Evidence, "; ") }},
	{"why", "String", func(c *results.Candidate) any { return c.Why }},
	{"caution", "String", func(*results.Candidate) any { return shortSafety }},
}

func truth(b bool) int {
	if b {
		return 1
	}
	return 0
}

// writeCSV writes one row a candidate (RFC 4180, UTF-8): what is not known is
// empty. Text that a spreadsheet would take for a formula gets a ' before it.
func writeCSV(path string, run *results.Run, list []*results.Candidate) error {
	return vector.WriteBeside(path, func(w io.Writer) error {
		out := csv.NewWriter(w)
		out.UseCRLF = true
		row := make([]string, len(columns))
		for i, k := range columns {
			row[i] = k.name
		}
		if err := out.Write(row); err != nil {
			return err
		}
		for _, c := range list {
			for i, k := range columns {
				row[i] = cell(k.of(c))
			}
			if err := out.Write(row); err != nil {
				return err
			}
		}
		out.Flush()
		return out.Error()
	})
}

func cell(v any) string {
	switch v := v.(type) {
	case int:
		return strconv.Itoa(v)
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return ""
		}
		return strconv.FormatFloat(v, 'f', -1, 64)
	case string:
		return unformula(plain(v))
	}
	return ""
}

// unformula disarms text that begins like a formula (OWASP, CSV injection).
func unformula(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}
