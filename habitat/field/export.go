package field

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"rillwood/vector"
)

// ExportOptions say what of the records leaves.
type ExportOptions struct {
	BlurM   float64 // side of the cells positions are coarsened to, metres; 0 for none
	NoNotes bool    // leave notes and observers out
}

// Export writes records as .csv, .geojson or .gpx, by the ending of the name,
// beside the place and renamed into it. What Export writes Read reads; without
// blur and with notes it is the same trip again.
//
// A blur replaces what would give the place away: stops are numbered anew, run and
// candidate are left out, and the accuracy becomes at least what the blur moves.
func Export(path string, records []Record, o ExportOptions) error {
	if err := checkBlur(o.BlurM); err != nil {
		return fmt.Errorf("export: %w", err)
	}
	out := prepared(records, o)
	switch ext := strings.ToLower(filepath.Ext(path)); ext {
	case ".csv":
		return vector.WriteBeside(path, func(w io.Writer) error { return writeCSV(w, out) })
	case ".geojson", ".json":
		return vector.WriteGeoJSON(path, collection(out))
	case ".gpx":
		return vector.WriteBeside(path, func(w io.Writer) error { return writeGPX(w, out) })
	default:
		return fmt.Errorf("export %q: records leave as .csv, .geojson or .gpx", path)
	}
}

// prepared copies the records as they may leave.
func prepared(records []Record, o ExportOptions) []Record {
	out := make([]Record, len(records))
	stops := map[string]int{}
	for i, r := range records {
		r.settle()
		if o.NoNotes {
			r.Note, r.Observer = "", ""
		}
		if o.BlurM > 0 {
			key := digest(r.Day(), r.Stop)
			if stops[key] == 0 {
				stops[key] = len(stops) + 1
			}
			p := Blur(orb.Point{r.Lon, r.Lat}, o.BlurM)
			r.ID, r.Stop, r.Run, r.Candidate = "", "stop-"+strconv.Itoa(stops[key]), "", 0
			r.Lon, r.Lat, r.AccuracyM = p[0], p[1], math.Max(r.AccuracyM, math.Ceil(o.BlurM*math.Sqrt2/2))
			r.settle()
		}
		out[i] = r
	}
	return out
}

// fields are a record's texts in the order of Columns.
func (r Record) fields() []string {
	return []string{
		r.Day(), r.Stop, number(r.Lon), number(r.Lat), blank(r.AccuracyM), r.Run, blank(float64(r.Candidate)), r.Host, r.Condition,
		strconv.Itoa(r.Inspected), strconv.Itoa(r.Found), blank(r.Minutes), r.Observer, r.Confirmed, r.Note,
	}
}

// columnTexts tells which of Columns hold free text.
var columnTexts = []int{1, 5, 7, 8, 12, 13, 14}

func blank(v float64) string {
	if v == 0 {
		return ""
	}
	return number(v)
}

func writeCSV(w io.Writer, records []Record) error {
	if _, err := io.WriteString(w, csvLine(append(append([]string{}, Columns...), "flags"))); err != nil {
		return err
	}
	for _, r := range records {
		f := append(r.fields(), guard(strings.Join(r.Flags, "; ")))
		for _, i := range columnTexts {
			f[i] = guard(f[i])
		}
		if _, err := io.WriteString(w, csvLine(f)); err != nil {
			return err
		}
	}
	return nil
}

func collection(records []Record) vector.Collection {
	c := vector.Collection{Members: []vector.Property{{Key: "caution", Value: SafetyLine}}}
	told := func(s string) any {
		if s == "" {
			return nil
		}
		return s
	}
	measured := func(v float64) any {
		if v == 0 {
			return nil
		}
		return v
	}
	for _, r := range records {
		var rank any
		if r.Candidate > 0 {
			rank = r.Candidate
		}
		c.Features = append(c.Features, vector.GeoFeature{Geometry: orb.Point{r.Lon, r.Lat}, Properties: []vector.Property{
			{Key: "date", Value: r.Day()}, {Key: "stop", Value: r.Stop}, {Key: "accuracy_m", Value: measured(r.AccuracyM)},
			{Key: "run", Value: told(r.Run)}, {Key: "candidate", Value: rank}, {Key: "host", Value: told(r.Host)},
			{Key: "condition", Value: told(r.Condition)}, {Key: "inspected", Value: r.Inspected}, {Key: "found", Value: r.Found},
			{Key: "minutes", Value: measured(r.Minutes)}, {Key: "observer", Value: told(r.Observer)},
			{Key: "confirmed", Value: told(r.Confirmed)}, {Key: "note", Value: told(r.Note)},
			{Key: "flags", Value: told(strings.Join(r.Flags, "; "))},
		}})
	}
	return c
}
