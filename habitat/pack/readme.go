package pack

import (
	"fmt"
	"slices"
	"strings"

	"rillwood/habitat/results"
)

// readme tells the cautions in full, how to take the pack along, what the files
// are, and what the columns mean. Files are the names in the pack.
func readme(run *results.Run, list []*results.Candidate, files []string) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("%s: field pack", plain(nameOf(run)))
	line("%s", joined(", ", plain(run.Software), "run "+plain(run.ID), counted(len(list), "patch", "patches")))
	line("")
	line("A MAP SAYS WHERE TO LOOK, NEVER WHAT IS SAFE TO EAT.")
	line("")
	for _, c := range run.Cautions {
		wrap(&b, "- "+plain(c.Title)+": "+plain(c.Text))
	}
	line("")
	wrap(&b, waysAreDrawn)
	wrap(&b, "Good patches are secrets: whoever has this pack has the places.")
	line("")
	line("HOW TO TAKE IT ALONG")
	line("")
	for _, t := range []string{
		"Unpack the archive first.",
		"Phone: copy " + waypointsName + " to the phone and open it with a map app that reads GPX. Load the map of the area for use without a network before you leave, and try it once in flight mode.",
		"GPS: copy " + waypointsName + " into the folder on the device where its GPX files lie, then start the device anew.",
		"Paper: open " + sheetsName + " in a browser and print it, or save it as PDF. Phones run flat in the cold; paper does not.",
		"GIS: open " + gpkgName + "; the column \"colour\" of the candidates is the ramp's colour for their suitability, \"label\" their number.",
	} {
		wrap(&b, "- "+t)
	}
	line("")
	line("THE FILES")
	line("")
	for _, f := range [][2]string{
		{readmeName, "this text."},
		{waypointsName, "GPX 1.1. RW01 is the middle of patch 1, RW01 IN where the way enters it, RW01 START where a car may stand, RW01 WAY the way in (route), RW01 EDGE its outline (track)."},
		{sheetsName, "field sheets, one a page, after a page with all warnings."},
		{csvName, "one row for each patch, for a spreadsheet; see the columns below."},
		{gpkgName, "OGC GeoPackage in the map's own grid, " + gridName(run) + ", in metres. Layers: candidates, entry_points, ways, streams, access."},
		{styleName, "colours of the suitability raster (OGC SLD 1.0), to load on suitability.tif of the run."},
		{overviewName, "the whole map as a picture."},
	} {
		if slices.Contains(files, f[0]) {
			wrap(&b, "- "+f[0]+": "+f[1])
		}
	}
	line("")
	line("THE PATCHES")
	line("")
	for _, c := range list {
		wrap(&b, "- "+sentences(numbers(c), accessWords(c))+fmt.Sprintf(" Latitude, longitude: %.5f, %.5f", c.Lat, c.Lon))
	}
	line("")
	line("COLUMNS OF %s AND OF THE CANDIDATES", strings.ToUpper(csvName))
	line("")
	wrap(&b, "What is not known is empty. An apostrophe before a text that begins with = + - or @ keeps spreadsheets from running it.")
	line("")
	all := columns(run)
	for i := 0; i < len(all); {
		names, means := []string{all[i].name}, all[i].means
		for i++; i < len(all) && all[i].means == ""; i++ {
			names = append(names, all[i].name)
		}
		wrap(&b, "- "+strings.Join(names, ", ")+": "+means)
	}
	return b.String()
}

func gridName(run *results.Run) string {
	name := plain(run.Frame.Name)
	if run.Frame.EPSG > 0 {
		name += fmt.Sprintf(" (EPSG:%d)", run.Frame.EPSG)
	}
	return name
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// joined leaves out what is empty.
func joined(sep string, parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), sep)
}

// wrap writes a paragraph in lines of at most 78 characters where words allow
// it; what follows a dash is indented.
func wrap(b *strings.Builder, text string) {
	indent := ""
	if strings.HasPrefix(text, "- ") {
		indent = "  "
	}
	col := 0
	for i, w := range strings.Fields(text) {
		n := len([]rune(w))
		switch {
		case i == 0:
		case col+1+n > 78:
			b.WriteString("\n" + indent)
			col = len(indent)
		default:
			b.WriteByte(' ')
			col++
		}
		b.WriteString(w)
		col += n
	}
	b.WriteByte('\n')
}
