package compare

import "strings"

// plainNames says fields in the words of the survey file. What is not here is
// called by its keys.
var plainNames = map[string]string{
	"survey.name": "name of the survey", "survey.threshold": "suitability a patch needs", "survey.legend": "legend of the land cover",
	"survey.elevation_unit": "unit of the elevation", "survey.streams": "rule for streams", "survey.layers": "layers written",
	"survey.frame.crs": "coordinate system asked for", "survey.frame.cell": "side of a cell asked for (m)", "survey.frame.collar": "margin (m)",
	"survey.shortlist.min_ha": "smallest patch (ha)", "survey.shortlist.max_ha": "largest patch (ha)", "survey.shortlist.hole_ha": "holes that are closed (ha)",
	"survey.shortlist.top": "patches listed", "survey.evidence.valley_flatness": "valley flatness measured", "survey.inventory.blend": "blending of measured ground (m)",
	"survey.access": "who may enter", "survey.keep_out": "ground to keep out of", "survey.keep_out.distance": "distance kept (m)",
	"survey.approach.off_path": "effort of a metre off the path", "survey.approach.crossing": "what a stream crossing is worth (m)",
	"survey.approach.off_path_most": "longest leg off the path (m)", "survey.choices.streams_threshold_km2": "area that makes a stream (km²)",
	"profile.name": "profile", "profile.bankfull_curve": "bankfull curve", "profile.provenance": "where the profile comes from",
	"profile.bottomland.intercept": "intercept of bottomland", "profile.bottomland.sizes_km2": "sizes of drainage (km²)",
	"profile.bottomland.weight_r": "weight of height above streams", "profile.bottomland.weight_small": "weight of height above brooks",
	"profile.bottomland.weight_slope": "weight of slope", "profile.bottomland.weight_distance": "weight of distance to the stream",
	"profile.bottomland.r_floor": "least relative height", "profile.bottomland.r_ceiling": "greatest relative height",
	"profile.bottomland.height_error_m":  "error of the elevation (m)",
	"profile.bottomland.flatness.weight": "weight of valley flatness", "profile.bottomland.flatness.intercept": "intercept beside valley flatness",
	"profile.bottomland.flatness.weight_slope": "weight of slope beside valley flatness", "profile.bottomland.flatness.least": "least valley flatness",
	"profile.bottomland.flatness.most": "greatest valley flatness", "profile.bottomland.evidence.temper": "temper of evidence",
	"profile.bottomland.evidence.cap": "most that evidence may shift", "profile.bottomland.evidence.certainty": "certainty evidence cannot pass",
	ratesField + ".chance": "hit rate", ratesField + ".weight": "trees its hit rate is believed as",
	"profile.rate_by_bottomland": "hit rates along bottomland, per log-odds",
	"profile.posterior.records":  "records learned from", "profile.posterior.until": "last day learned from",
	"software.rillwood": "version of Rillwood", "software.raster_library": "version of the raster library",
	"landed.elevation": "how the elevation landed on the frame", "landed.land cover": "how the land cover landed on the frame",
}

// plainName is a field in plain words; owner names the thing of a list it is of.
func plainName(field, owner string) string {
	name, ok := plainNames[field]
	if !ok {
		if base, isValue := strings.CutSuffix(field, ".value"); isValue {
			name, ok = plainNames[base]
		} else if base, isSD := strings.CutSuffix(field, ".sd"); isSD {
			if name, ok = plainNames[base]; ok {
				name += ", doubt beforehand"
			}
		}
	}
	if !ok {
		_, rest, _ := strings.Cut(field, ".")
		if rest == "" {
			rest = field
		}
		name = strings.ReplaceAll(strings.ReplaceAll(strings.TrimPrefix(rest, "choices."), ".", ", "), "_", " ")
	}
	if owner != "" {
		name += " (" + owner + ")"
	}
	return name
}
