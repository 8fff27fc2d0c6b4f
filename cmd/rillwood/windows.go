package main

import "rillwood/habitat"

// window is one stage of a run and the work it takes, in thousandths of a map
// with every layer. Progress is foretold from these, so they stand in the
// order in which stages come.
type window struct {
	stage string
	work  float64
}

// countyWindows are the stages of making a demo county.
var countyWindows = []window{
	{"inventing the county", 340},
	{"writing elevation", 105},
	{"writing land cover", 12},
	{"writing geology", 17},
	{"writing elm basal area", 7},
	{"writing streams", 5},
	{"writing places", 8},
	{"writing soils", 20},
	{"writing flood zones", 7},
	{"writing trees", 45},
}

// unforeseen is the work of a stage that is in no table.
const unforeseen = 20

// mapWindows are the stages of mapping a survey; of one with every layer where
// it is nil. The work was measured on invented counties of 4 and 12 million
// cells with every layer, on two processors.
func mapWindows(s *habitat.Survey) []window {
	var out []window
	all, layers := s == nil, 1.0
	if all {
		s = habitat.DefaultSurvey()
	} else {
		layers = s.LayerWork()
	}
	add := func(stage string, work float64, given bool) {
		if (given || all) && work > 0 {
			out = append(out, window{stage, work})
		}
	}
	e, inv := s.Evidence, s.Inventory
	add("reading elevation", 10, true)
	add("reading land cover", 5, len(s.LandCover.Path) > 0)
	add("reading streams", 6, len(s.Streams.Path) > 0)
	add("reading evidence", 30, e.Soils.Path != "" || e.FloodZones.Path != "" || len(e.Layers) > 0)
	add("measuring valley flatness", 68, e.ValleyFlatness)
	add("reading host inventory", 70, len(inv.Rasters) > 0 || inv.Trees.Path != "")
	add("reading access", 4, len(s.Access) > 0)
	add("reading ground to keep out of", 16, len(s.KeepOut) > 0)
	add("routing water", 24, true)
	add("counting drainage", 8, true)
	add("measuring heights", 70, true)
	add("choosing patches", 46, true)
	add("finding ways in", 22, s.Approach.Paths.Path != "" || s.Approach.Roads.Path != "")
	add("writing suitability", 56, true)
	add("writing layers", 530*layers, true)
	add("writing relief", 23, s.Output.Report)
	return out
}
