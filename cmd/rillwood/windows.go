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

// tripWindows are the stages of planning a day, in the same measure.
var tripWindows = []window{
	{"reading elevation", 10},
	{"reading land cover", 5},
	{"reading access", 4},
	{"reading ground to keep out of", 16},
	{"measuring walks", 60},
	{"choosing and ordering", 20},
}

// unforeseen is the work of a stage that is in no table.
const unforeseen = 20

// mapStages are the stages of a map and what a survey must give for them to
// come, nil = nothing. The work was measured on invented counties of 4 and 12
// million cells with every layer, on two processors.
var mapStages = []struct {
	window
	given func(s *habitat.Survey) bool
}{
	{window{"reading elevation", 10}, nil},
	{window{"reading land cover", 5}, func(s *habitat.Survey) bool { return len(s.LandCover.Path) > 0 }},
	{window{"reading streams", 6}, func(s *habitat.Survey) bool { return len(s.Streams.Path) > 0 }},
	{window{"reading evidence", 30}, func(s *habitat.Survey) bool {
		return s.Evidence.Soils.Path != "" || s.Evidence.FloodZones.Path != "" || len(s.Evidence.Layers) > 0
	}},
	{window{"measuring valley flatness", 68}, func(s *habitat.Survey) bool { return s.Evidence.ValleyFlatness }},
	{window{"reading host inventory", 70}, func(s *habitat.Survey) bool {
		return len(s.Inventory.Rasters) > 0 || s.Inventory.Trees.Path != ""
	}},
	{window{"reading access", 4}, func(s *habitat.Survey) bool { return len(s.Access) > 0 }},
	{window{"reading ground to keep out of", 16}, func(s *habitat.Survey) bool { return len(s.KeepOut) > 0 }},
	{window{"routing water", 24}, nil},
	{window{"counting drainage", 8}, nil},
	{window{"measuring heights", 70}, nil},
	{window{"choosing patches", 46}, nil},
	{window{"finding ways in", 22}, func(s *habitat.Survey) bool { return s.Approach.Paths.Path != "" || s.Approach.Roads.Path != "" }},
	{window{writingSuitability, 56}, nil},
	{window{writingLayers, 530}, nil},
	{window{"writing relief", 23}, func(s *habitat.Survey) bool { return s.Output.Report }},
	{window{"writing the report", 330}, func(s *habitat.Survey) bool { return s.Output.Report }},
}

// Stages whose work hangs on what is asked for.
const (
	writingSuitability = "writing suitability"
	writingLayers      = "writing layers"
	// withoutPicture is the share of writing the suitability where no picture
	// is drawn meanwhile.
	withoutPicture = 0.36
)

// mapWindows are the stages that mapping a survey will take; of one with every
// layer where it is nil.
func mapWindows(s *habitat.Survey) []window {
	var out []window
	for _, m := range mapStages {
		w := m.window
		if s != nil {
			switch {
			case m.given != nil && !m.given(s):
				continue
			case w.stage == writingSuitability && !s.Output.Preview:
				w.work *= withoutPicture
			case w.stage == writingLayers:
				w.work *= s.LayerWork()
			}
		}
		out = append(out, w)
	}
	return out
}
