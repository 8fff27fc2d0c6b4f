package pack

import (
	"fmt"
	"math"
	"strings"

	"rillwood/habitat/results"
)

// shortSafety ends every waypoint.
const shortSafety = "Where to look, never what to eat: print every cluster, ask an expert, eat none raw, none in doubt."

// numbers are the figures of a patch in one line.
func numbers(c *results.Candidate) string {
	text := fmt.Sprintf("Patch %d, %s: %s ha, suitability %s, expected finds %s", c.Rank, streamName(c), figure(c.AreaHa, 1), figure(c.SMean, 2), figure(c.Finds, 1))
	if c.Check95 > 0 {
		text += fmt.Sprintf(", %d dead or dying trees to check", c.Check95)
		if !c.HoldsCheck {
			text += " (more than it should hold)"
		}
	}
	if c.Learning {
		text += ", a learning visit"
	}
	return text
}

func figure(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "?"
	}
	return fmt.Sprintf("%.*f", decimals, v)
}

// safety is every caution in one text, the gravest first.
func safety(run *results.Run) string {
	parts := []string{fmt.Sprintf("Run %s.", run.ID)}
	for _, c := range run.Cautions {
		parts = append(parts, strings.ToUpper(c.Title)+": "+c.Text)
	}
	return strings.Join(parts, " ")
}

// readme tells what the files are, and the cautions in full.
func readme(run *results.Run, list []*results.Candidate) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("%s: field pack", plain(nameOf(run)))
	line("%s, run %s, %d patches", plain(run.Software), plain(run.ID), len(list))
	line("")
	line("A MAP SAYS WHERE TO LOOK, NEVER WHAT IS SAFE TO EAT.")
	line("")
	for _, c := range run.Cautions {
		wrap(&b, "- "+plain(c.Title)+": "+plain(c.Text))
	}
	line("")
	line("The files")
	for _, f := range [][2]string{
		{waypointsName, "GPX 1.1 for a GPS or a map on the phone: RW01 is the middle of patch 1, RW01 IN its entry, RW01 START where a car may stand, RW01 WAY the way in (route), RW01 EDGE its outline (track). Copy it to the device, or open it there."},
		{sheetsName, "field sheets to print, one a page, after a page with all warnings. Open it in any browser and print, or save as PDF."},
		{csvName, "one row for each patch, for a spreadsheet."},
		{gpkgName, "patches, entries, ways, streams and access for any GIS on phone or desk (OGC GeoPackage, metres)."},
		{styleName, "colours of the suitability raster (OGC SLD), to load on suitability.tif of the run."},
		{overviewName, "the whole map as a picture."},
	} {
		wrap(&b, "- "+f[0]+": "+f[1])
	}
	line("")
	line("Ways in are drawn from maps: gates, fences, floods and ice are not on them.")
	line("Good patches are secrets: whoever has this pack has the places.")
	line("")
	line("The patches")
	for _, c := range list {
		wrap(&b, "- "+plain(numbers(c))+". "+plain(c.AccessNote)+fmt.Sprintf(". %.5f, %.5f", c.Lat, c.Lon))
	}
	return b.String()
}

// wrap writes a paragraph in lines of at most 78 characters, indented by two
// after the first.
func wrap(b *strings.Builder, text string) {
	col := 0
	for i, w := range strings.Fields(text) {
		n := len([]rune(w))
		switch {
		case i == 0:
		case col+1+n > 78:
			b.WriteString("\n  ")
			col = 2
		default:
			b.WriteByte(' ')
			col++
		}
		b.WriteString(w)
		col += n
	}
	b.WriteByte('\n')
}
