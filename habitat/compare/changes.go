package compare

import (
	"fmt"
	"slices"
	"strings"

	"rillwood/habitat/results"
)

// Change is one thing that is not the same in the two runs.
type Change struct {
	Kind   string `json:"kind"`   // input, setting, profile, frame or software
	Field  string `json:"field"`  // where it stands: a role, or keys joined by dots
	What   string `json:"what"`   // in plain words
	Before any    `json:"before"` // nil = not there
	After  any    `json:"after"`

	bears bearing
}

// bearing is what a change can move.
type bearing string

const (
	onTerrain   bearing = "terrain"   // heights, streams, distances
	onWeights   bearing = "weights"   // of the bottomland sum
	onEvidence  bearing = "evidence"  // layers that shift bottomland
	onHosts     bearing = "hosts"     // trees and hit rates
	onCover     bearing = "cover"     // land cover
	onAccess    bearing = "access"    // who may enter
	onKeepOut   bearing = "keep-out"  // ground left out
	onWalk      bearing = "walk"      // ways in
	onThreshold bearing = "threshold" // suitability a patch needs
	onSize      bearing = "size"      // how patches are cut
	onLength    bearing = "length"    // how many are listed
	onArea      bearing = "area"      // ground that is mapped
	onNothing   bearing = ""
)

// bearings goes by the longest beginning of a field.
var bearings = []struct {
	field string
	on    bearing
}{
	{"input.elevation", onTerrain}, {"input.streams", onTerrain}, {"input.landcover", onCover}, {"input.legend", onCover},
	{"input.area", onArea}, {"input.evidence", onEvidence}, {"input.inventory", onHosts}, {"input.access", onAccess},
	{"input.keep_out", onKeepOut}, {"input.approach", onWalk},
	{"survey.frame", onTerrain}, {"survey.elevation_unit", onTerrain}, {"survey.streams", onTerrain}, {"survey.stream_columns", onTerrain},
	{"survey.choices.elevation", onTerrain}, {"survey.choices.streams", onTerrain}, {"survey.choices.landcover", onCover}, {"survey.choices.area", onArea},
	{"survey.threshold", onThreshold}, {"survey.legend", onCover}, {"survey.shortlist", onSize}, {"survey.shortlist.top", onLength},
	{"survey.shortlist.threshold", onThreshold}, {"survey.evidence", onEvidence}, {"survey.evidence.valley_flatness", onWeights},
	{"survey.inventory", onHosts}, {"survey.access", onAccess}, {"survey.keep_out", onKeepOut}, {"survey.approach", onWalk},
	{"profile", onHosts}, {"profile.name", onNothing}, {"profile.provenance", onNothing}, {"profile.bankfull_curve", onTerrain}, {"profile.bottomland", onWeights},
	{"profile.bottomland.evidence", onEvidence}, {"profile.posterior", onNothing},
	{"frame", onTerrain}, {"frame.written_window", onArea}, {"landed.land cover", onCover}, {"landed", onTerrain},
}

func bearingOf(field string) bearing {
	best, on := -1, onNothing
	for _, b := range bearings {
		if len(b.field) > best && strings.HasPrefix(field, b.field) {
			best, on = len(b.field), b.on
		}
	}
	if isDoubt(field) {
		return onNothing // how sure a figure is beforehand moves no cell
	}
	return on
}

// changesBetween lists what is not alike: inputs, settings, profile, frame,
// software, each kind in the order of its fields.
func changesBetween(a, b *Run) []Change {
	out := inputChanges(a.record.Inputs, b.record.Inputs)
	d := treeDiffer{kind: "setting"}
	sa, sb := withoutKeys(a.record.Survey, "shortlist.threshold"), withoutKeys(b.record.Survey, "shortlist.threshold")
	d.value("survey", "", orNil(sa), orNil(sb))
	d.texts("landed", a.record.Landed, b.record.Landed)
	d.kind = "profile"
	pa, pb := readable(a.record.Profile), readable(b.record.Profile)
	before := len(d.out)
	d.value("profile", "", orNil(pa), orNil(pb))
	figures := slices.ContainsFunc(d.out[before:], func(c Change) bool { return c.Field != "profile.provenance" && c.Field != "profile.name" })
	if x, y := a.record.Profile["sha256"], b.record.Profile["sha256"]; x != y && !figures {
		d.add("profile", "other figures of the profile (hosts, hit rates, cover), which run records do not hold", shortSum(x), shortSum(y))
	}
	d.kind = "frame"
	fa, fb := a.record.Frame, b.record.Frame
	if fa.CRS != fb.CRS || fa.EPSG != fb.EPSG {
		d.add("frame.crs", "coordinate system", fa.CRS, fb.CRS)
	}
	if fa.Cell != fb.Cell {
		d.add("frame.cell_m", "side of a cell (m)", fa.Cell, fb.Cell)
	}
	if x, y := fmt.Sprintf("%d × %d", fa.Cols, fa.Rows), fmt.Sprintf("%d × %d", fb.Cols, fb.Rows); x != y {
		d.add("frame.size", "columns × rows", x, y)
	}
	if x, y := fmt.Sprintf("%.10g, %.10g", fa.West, fa.North), fmt.Sprintf("%.10g, %.10g", fb.West, fb.North); x != y {
		d.add("frame.corner", "north-west corner (m)", x, y)
	}
	if fa.Window != fb.Window {
		d.add("frame.written_window", "part that is written (column, row, columns, rows)", fmt.Sprint(fa.Window), fmt.Sprint(fb.Window))
	}
	d.kind = "software"
	d.texts("software", a.record.Software, b.record.Software)
	out = append(out, d.out...)
	for i := range out {
		out[i].bears = bearingOf(out[i].Field)
	}
	return out
}

// withoutKeys is a copy of a tree without one field (of at most two keys).
func withoutKeys(m map[string]any, field string) map[string]any {
	out := map[string]any{}
	head, rest, deeper := strings.Cut(field, ".")
	for k, v := range m {
		if k != head {
			out[k] = v
			continue
		}
		if sub, ok := v.(map[string]any); ok && deeper {
			out[k] = withoutKeys(sub, rest)
		}
	}
	return out
}

func orNil(m map[string]any) any {
	if len(m) == 0 {
		return nil
	}
	return m
}

func shortSum(v any) any {
	if s, ok := v.(string); ok {
		return results.Clip(s, 13)
	}
	return nil
}
