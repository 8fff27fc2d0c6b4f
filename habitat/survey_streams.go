package habitat

import "strings"

// StreamFieldNames are the usual names of the columns of a stream layer, in
// order of preference, to be matched without regard to case: those of the
// US National Hydrography Dataset and its value-added tables, then general
// ones. Source: NHDPlus V2 and NHDPlus HR attribute lists (names read in
// part, the rest from memory). A column of plain "area" is not among them:
// it may be the reach's own share.
func StreamFieldNames() StreamFieldLists {
	return StreamFieldLists{
		Name:  []string{"gnis_name", "name", "river_name", "stream_name"},
		Order: []string{"streamorde", "streamorder", "strahler", "stream_order", "ord_stra", "order"},
		Area:  []string{"totdasqkm", "upland_skm", "upstream_km2", "drainage_km2"},
		Code:  []string{"fcode"},
	}
}

// StreamFieldLists holds candidate column names for each field.
type StreamFieldLists struct{ Name, Order, Area, Code []string }

// PickField finds the column to use: want when the layer has it, otherwise
// the first usual name it has. It returns the column as the layer spells it,
// or "" when nothing was asked for and nothing usual is there.
func PickField(field, want string, usual, columns []string) (string, error) {
	if want != "" {
		for _, c := range columns {
			if strings.EqualFold(c, want) {
				return c, nil
			}
		}
		return "", wrong(field, "the layer has no column %q; %s", want, suggest(want, columns))
	}
	for _, u := range usual {
		for _, c := range columns {
			if strings.EqualFold(c, u) {
				return c, nil
			}
		}
	}
	return "", nil
}

// StreamCode is one feature code of the National Hydrography Dataset.
type StreamCode struct {
	Code int
	Name string
	Keep bool // whether water runs there on the surface, in a bed of its own
	Why  string
}

// streamCodes covers the flowline feature types of the National Hydrography
// Dataset (FCode = 100 × FType + variant). Source: NHD feature catalogue;
// 46xxx and 55800 read, the others from memory.
var streamCodes = []StreamCode{
	{33400, "connector", true, "joins two mapped reaches across a gap"},
	{33600, "canal or ditch", false, "dug where people wanted it, seldom in the valley bottom"},
	{42000, "underground conduit", false, "runs below ground, so it makes no bottomland"},
	{42800, "pipeline", false, "runs in a pipe, so it makes no bottomland"},
	{46000, "stream or river", true, "open channel"},
	{55800, "artificial path", true, "centre line through a lake or a wide river"},
	{56600, "coastline", false, "a shore, not a stream"},
}

// LookupStreamCode tells what a feature code means. Variants (46006,
// 33603…) share the answer of their type.
func LookupStreamCode(code int) (StreamCode, bool) {
	for _, c := range streamCodes {
		if code/100 == c.Code/100 {
			c.Code = code
			return c, true
		}
	}
	return StreamCode{}, false
}

// KeepStream applies the nhd rules to one code; a code that is not known is
// kept, since a missing stream does more harm than a doubtful one.
func KeepStream(code int) bool {
	c, ok := LookupStreamCode(code)
	return !ok || c.Keep
}
