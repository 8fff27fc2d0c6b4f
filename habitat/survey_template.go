package habitat

import (
	"fmt"
	"strconv"
	"strings"
)

// TemplateInputs are the inputs already known when a survey file is started;
// empty ones are left as comments.
type TemplateInputs struct {
	Name, Area, AreaLayer, Elevation, Unit, Streams, LandCover, Legend, Profile, Curve string

	// Demo takes in the further layers of the invented county, in the folder of that name.
	Demo string
}

// Template is a survey file to start from: the inputs given, and every other
// option as a comment with its meaning and its default.
func Template(in TemplateInputs) []byte {
	var b strings.Builder
	section := func(name string, on bool) {
		if on {
			fmt.Fprintf(&b, "\n%s:\n", name)
		} else {
			fmt.Fprintf(&b, "\n#%s:\n", name)
		}
	}
	line := func(indent, key, value, example, note string) {
		mark, shown := "#", example
		if value != "" {
			mark, shown = "", yamlText(value)
		}
		fmt.Fprintf(&b, "%-34s # %s\n", mark+indent+key+": "+shown, note)
	}
	b.WriteString("# Survey file. Lines that start with # are options at their default; take the # away to change one.\n")
	b.WriteString("# Paths are relative to this file.\n\n")
	line("", "name", in.Name, `"survey"`, "shown on maps and in reports")

	section("elevation", true)
	elevation := in.Elevation
	if elevation == "" {
		elevation = "elevation.tif"
	}
	line("  ", "path", elevation, "", "raster, folder of tiles, or glob; or a list of them [a.tif, b.tif]")
	line("  ", "unit", in.Unit, "auto", "auto, m, ft or us-ft")
	line("  ", "crs", "", "EPSG:26918", "only for files that name no CRS")
	line("  ", "nodata", "", "-9999", "only when the file does not say it")

	section("area", in.Area != "")
	line("  ", "path", in.Area, "area.geojson", "polygon to survey; without it the whole elevation")
	line("  ", "layer", in.AreaLayer, `"boundary"`, "default: the first layer")
	line("  ", "where", "", `"kind = 'county'"`, "attribute filter; default: every feature")
	line("  ", "crs", "", "EPSG:4326", "only for a layer that names no CRS")

	section("streams", in.Streams != "")
	line("  ", "path", in.Streams, "streams.gpkg", "mapped streams; without them, streams are drawn from the elevation")
	line("  ", "layer", "", `"flowline"`, "default: the first layer")
	line("  ", "where", "", `"visible = 1"`, "attribute filter; default: every feature")
	line("  ", "rules", "", "auto", "nhd leaves out pipes, canals and coastlines by feature code; all keeps all;")
	fmt.Fprintf(&b, "%-34s # auto is nhd where the layer has feature codes\n", "#")
	b.WriteString("#  fields:\n")
	line("    ", "name", "", "gnis_name", "columns; usual names are found without being named")
	line("    ", "order", "", "streamorde", "stream order")
	line("    ", "area", "", "totdasqkm", "total area drained, in area_unit")
	line("    ", "code", "", "fcode", "feature code for rules")
	line("  ", "area_unit", "", "km2", "km2 or mi2")
	line("  ", "threshold_km2", "", "0.5", "area that makes a stream where none are mapped, km²")
	line("  ", "crs", "", "EPSG:4269", "only for a layer that names no CRS")

	section("landcover", in.LandCover != "")
	line("  ", "path", in.LandCover, "landcover.tif", "class raster; without it every place counts as equally wooded")
	line("  ", "legend", in.Legend, "auto", strings.Join(LegendNames(), ", ")+", or a CSV (code,name,group,cover); auto goes by the codes")
	line("  ", "crs", "", "EPSG:5070", "only for files that name no CRS")
	line("  ", "nodata", "", "0", "only when the file does not say it")
	line("  ", "unknown", "", "stop", "stop at codes the legend lacks, or treat them as neutral")

	b.WriteString(moreLayers(in.Demo))

	section("frame", false)
	line("  ", "crs", "", "auto", "auto, elevation, utm or EPSG:n; must be in metres")
	line("  ", "cell", "", "auto", "metres; auto is the elevation's own")
	line("  ", "collar", "", "1000", "metres of margin, so that water enters and leaves as it should")

	b.WriteString("\n")
	line("", "profile", in.Profile, DefaultProfile, "built-in profile or path of a profile file")
	line("", "target", "", "spring-morels", "another target of the same ground: "+strings.Join(TargetNames(), ", ")+", or a file; default: the profile's own")
	line("", "curve", in.Curve, "northeast", "bankfull curve for your region; default: the profile's")

	section("shortlist", false)
	line("  ", "threshold", "", "auto", "suitability a patch needs, 0 to 1; auto is the profile's")
	line("  ", "min_ha", "", "1", "smallest patch, hectares")
	line("  ", "max_ha", "", "12", "largest patch, hectares; larger ones are cut")
	line("  ", "top", "", "100", "patches listed; 0 is all")
	line("  ", "hole_ha", "", "0.1", "holes smaller than this are closed, hectares")
	line("  ", "draws", "", "200", "draws of weights and hit rates, for intervals and the confidence of ranks; 0 is none")
	line("  ", "explore", "", "0", "places kept for visits that would teach most")

	section("output", false)
	line("  ", "folder", "", "out", "created when missing")
	line("  ", "layers", "", "all", "all, none, or a list: ["+strings.Join(LayerNames, ", ")+"]")

	line("  ", "preview", "", "true", "draw preview.png")
	line("  ", "report", "", "true", "write report.html, and relief.tif and streams.gpkg that it and the field pack are drawn from")

	section("run", false)
	line("  ", "workers", "", "auto", "processors to use; results are the same with any number")
	line("  ", "memory", "", "auto", "such as 4GB")
	line("  ", "scratch", "", `""`, "folder for temporary files; default: the output folder")
	line("  ", "most_features", "", "1000000", "features of one vector layer on the map; a layer with more is refused")
	line("  ", "most_points", "", "30000000", "points of the shapes of one vector layer on the map")
	line("  ", "cache", "", `""`, "folder where slow stages are kept for the next run (2 GB at most), or none; default: the user's cache folder")
	return []byte(b.String())
}

// yamlText writes a text so that YAML reads it back as it is.
func yamlText(s string) string {
	plain := strings.ContainsAny(s, "./") && !strings.ContainsFunc(s, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("/._-", r))
	}) && (s[0] >= 'a' && s[0] <= 'z' || s[0] == '/' || strings.HasPrefix(s, ".."))
	if plain {
		return s
	}
	return strconv.Quote(s)
}
