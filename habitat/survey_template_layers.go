package habitat

import "strings"

// moreLayers are the sections of further layers: comments, or with the folder
// of the invented county's layers what it has of them.
func moreLayers(folder string) string {
	text := moreLayersText
	if folder == "" {
		text = strings.ReplaceAll(text, "FOLDER/", "")
	} else {
		text = strings.ReplaceAll(text, "FOLDER", folder)
	}
	var b strings.Builder
	for line := range strings.Lines(text) {
		// Lines that start with + are used by the invented county.
		if rest, ok := strings.CutPrefix(line, "+"); ok {
			if folder == "" {
				b.WriteString("#")
			}
			b.WriteString(rest)
			continue
		}
		b.WriteString(line)
	}
	return b.String()
}

const moreLayersText = `
# Further layers, all optional. A layer that is not there shifts nothing.
+evidence:
+  valley_flatness: true            # measure how flat and low valley ground is (takes longer)
+  soils:                           # soil survey polygons or raster
+    path: FOLDER/soils.gpkg
#    layer: "mapunits"              # default: the first layer
#    where: "1 = 1"                 # attribute filter; default: every feature
#    crs: EPSG:4269                 # only for a layer that names no CRS
#    swap: false                    # true for a layer with its axes the other way round
#    nodata: 0                      # of a raster, only when the file does not say it
#    fields: {flooding: flodfreqcd, drainage: drclassdcd, subgroup: taxsubgrp}
#    table: soils                   # built-in, or a CSV: field,value,shift,meaning,source
#    unknown: neutral               # values the table lacks: neutral or stop
+  flood_zones:                     # flood hazard zones; ground that is not mapped says nothing
+    path: FOLDER/floodzones.gpkg
#    fields: {zone: FLD_ZONE, subtype: ZONE_SUBTY}
#    table: flood-zones             # inside: any polygon counts as flooded
+  layers:                          # any class layer with a table of weights
+    - {name: geology, path: FOLDER/geology.tif, table: FOLDER/geology.csv}

# Measured host trees: they override the profile's densities where they exist.
+inventory:
+  rasters:
+    - {host: american-elm, path: FOLDER/elm_basal_area.tif, measure: basal-area, unit: m2/ha}  # or likelihood, trees-ha; nodata, crs; stem_cm: 30
+  trees:                           # single trees: points, or a CSV with x and y
+    path: FOLDER/trees.gpkg
+    layer: trees
#    fields: {species: SPCD, diameter: DIA_CM, status: STATUSCD}   # usual names are found
#    diameter_unit: cm              # cm or in
#    min_cm: 10                     # thinner trees do not count
#    bandwidth: 100                 # metres over which trees are averaged
+    covers: all                    # hosts that were looked for; default: those found
+    surveyed: {path: FOLDER/trees.gpkg, layer: surveyed}           # where all trees were recorded
#  blend: 100                       # metres over which measured ground passes into the rest

# Who may enter. Ground in no polygon is not known, and never called open.
+access:
+  - {path: FOLDER/places.gpkg, layer: parks}                        # field: Pub_Access; values: {OA: open, RA: permit, XA: closed, UK: unknown}
+  - {path: FOLDER/places.gpkg, layer: private, status: private}     # name_field: Unit_Nm

# Ground that patches keep out of, with a distance in metres.
+keep_out:
+  - {path: FOLDER/places.gpkg, layer: keepout, distance: 0, reason: closed ground}
+  - {path: FOLDER/places.gpkg, layer: railway, preset: railways}    # presets know open street-map tags
+  - {path: FOLDER/places.gpkg, layer: industry, preset: industry}
+  - {path: FOLDER/places.gpkg, layer: orchards, preset: orchards}
+  - {cover: [crop, orchard], distance: 20, reason: sprayed fields}  # kinds of land cover

# How to come there on foot.
+approach:
+  paths: {path: FOLDER/places.gpkg, layer: paths}
+  roads: {path: FOLDER/places.gpkg, layer: roads}
+  parking: {path: FOLDER/places.gpkg, layer: parking}               # without it, any road will do
+  water: {path: FOLDER/places.gpkg, layer: water}                   # beside the land cover's water
#  off_path: 1.5                    # effort of a metre off the path
#  crossing: 300                    # metres of path that one stream crossing is worth
#  off_path_most: 2000              # longest straight leg, metres
`
