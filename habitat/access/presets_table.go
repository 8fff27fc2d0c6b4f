package access

// Presets lists the presets, in a fixed order. Tags are those in common use on
// open street maps (from memory); why to keep away is common practice, no
// source, but for metals taken up by mushrooms: Kalač 2010, Food Chemistry
// 122:2–15 (from memory).
func Presets() []Preset {
	return []Preset{
		{"railways", "railway tracks and yards, in use or not: private ground, sprayed verges, treated timber", "railway", 30, nil, []tag{
			{"railway", []string{"rail", "light_rail", "narrow_gauge", "tram", "preserved", "disused", "abandoned", "construction", "yard"}},
			{"landuse", []string{"railway"}},
		}},
		{"main-roads", "busy roads: metals and salt in the verge, traffic", "main road", 50, nil, []tag{
			{"highway", []string{"motorway", "motorway_link", "trunk", "trunk_link", "primary", "primary_link", "secondary", "secondary_link"}},
		}},
		{"roads", "small roads and their verges", "road", 15, nil, []tag{
			{"highway", []string{"tertiary", "tertiary_link", "unclassified", "residential", "living_street", "road"}},
		}},
		{"industry", "works, depots and old works: what the ground holds is not known", "industrial ground", 100, nil, []tag{
			{"landuse", []string{"industrial", "brownfield", "depot"}},
			{"man_made", []string{"works"}},
		}},
		{"fuel", "fuel stations and tank farms", "fuel store", 50, nil, []tag{
			{"amenity", []string{"fuel"}},
			{"man_made", []string{"storage_tank", "petroleum_well"}},
		}},
		{"landfill", "dumps, in use or closed", "landfill", 200, nil, []tag{
			{"landuse", []string{"landfill"}},
			{"amenity", []string{"waste_transfer_station"}},
		}},
		{"sewage-works", "sewage works and the ground beside them", "sewage works", 100, nil, []tag{
			{"man_made", []string{"wastewater_plant"}},
		}},
		{"quarries", "quarries, mines and their heaps: falls, and metals in the spoil", "quarry or mine", 100, nil, []tag{
			{"landuse", []string{"quarry"}},
			{"man_made", []string{"mineshaft", "adit", "tailings_pond", "spoil_heap"}},
		}},
		{"military", "military ground: closed, and live rounds may lie there", "military ground", 100, nil, []tag{
			{"landuse", []string{"military"}},
			{"military", []string{"base", "barracks", "training_area", "danger_area", "range", "airfield", "naval_base", "ammunition", "bunker"}},
		}},
		{"airfields", "airfields: closed, often drained through treated ground", "airfield", 50, nil, []tag{
			{"aeroway", []string{"aerodrome", "runway", "taxiway", "apron", "helipad", "heliport"}},
		}},
		{"orchards", "orchards, vineyards, nurseries and greenhouses: sprayed ground", "orchard or nursery", 30, []string{"orchard"}, []tag{
			{"landuse", []string{"orchard", "vineyard", "plant_nursery", "greenhouse_horticulture"}},
		}},
		{"farmland", "ploughed fields: spray drifts over the edge", "ploughed field", 15, []string{"crop"}, []tag{
			{"landuse", []string{"farmland"}},
		}},
		{"farmyards", "farmyards: someone's home, fuel and sprays", "farmyard", 50, nil, []tag{
			{"landuse", []string{"farmyard"}},
		}},
		{"houses", "houses, shops and yards", "houses", 20, []string{"built_low", "built"}, []tag{
			{"landuse", []string{"residential", "commercial", "retail"}},
		}},
		{"cemeteries", "cemeteries and graveyards", "cemetery", 10, nil, []tag{
			{"landuse", []string{"cemetery"}},
			{"amenity", []string{"grave_yard"}},
		}},
		{"golf-courses", "golf courses: treated turf, private ground", "golf course", 20, nil, []tag{
			{"leisure", []string{"golf_course"}},
		}},
		{"prisons", "prisons", "prison", 100, nil, []tag{
			{"amenity", []string{"prison"}},
		}},
		{"nature-reserves", "nature reserves: gathering is often forbidden there", "nature reserve", 0, nil, []tag{
			{"leisure", []string{"nature_reserve"}},
		}},
	}
}
