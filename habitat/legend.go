package habitat

import (
	"embed"
	"fmt"
	"slices"
	"sort"
	"strings"
)

// CoverGroup is what a land-cover class means for trees: a small vocabulary
// of our own that every legend is translated into.
type CoverGroup string

// The cover groups. "unknown" is ground of which no cover is known.
const (
	WoodedWetland CoverGroup = "wooded_wetland"
	OpenWetland   CoverGroup = "open_wetland"
	Broadleaf     CoverGroup = "broadleaf"
	Mixed         CoverGroup = "mixed"
	Conifer       CoverGroup = "conifer"
	Wooded        CoverGroup = "wooded" // trees, leaf not said
	Shrub         CoverGroup = "shrub"
	Grass         CoverGroup = "grass"
	Pasture       CoverGroup = "pasture"
	Crop          CoverGroup = "crop"
	Orchard       CoverGroup = "orchard"
	Bare          CoverGroup = "bare"
	ParkLike      CoverGroup = "park_like" // developed open space: lawns, verges, golf courses
	BuiltLow      CoverGroup = "built_low"
	Built         CoverGroup = "built"
	Water         CoverGroup = "water"
	Ice           CoverGroup = "ice"
	Unknown       CoverGroup = "unknown"
)

// groupFacts gives, for each group, its words for people and the cover
// factor of a class that names none: 0 where no patch may lie, 1 where
// nothing stands against a visit, between where footing or access is poor.
// How many host trees a group carries is the profile's business, not this
// factor's. The zeros are a rule of the product: no patch on water, ice or
// developed ground. Park-like ground is developed ground in the US legend
// (code 21): lawns, road verges, house lots and golf courses, where dead
// trees are taken away, soil is sprayed and someone's leave is needed.
// The values between are common practice, no source.
var groupFacts = []struct {
	group CoverGroup
	words string
	cover float64
}{
	{WoodedWetland, "wet woods", 1},
	{OpenWetland, "open marsh", 0.8},
	{Broadleaf, "broadleaf woods", 1},
	{Mixed, "mixed woods", 1},
	{Conifer, "conifer woods", 1},
	{Wooded, "woods", 1},
	{Shrub, "brush", 0.9},
	{Grass, "grassland", 0.9},
	{Pasture, "pasture", 0.8},
	{Crop, "cropland", 0.5},
	{Orchard, "orchard or plantation", 0.3},
	{Bare, "bare ground", 0.5},
	{ParkLike, "lawns and verges", 0},
	{BuiltLow, "houses and yards", 0},
	{Built, "built-up ground", 0},
	{Water, "open water", 0},
	{Ice, "snow or ice", 0},
	{Unknown, "ground of unknown cover", 1},
}

// CoverGroups lists the vocabulary in a fixed order.
func CoverGroups() []CoverGroup {
	groups := make([]CoverGroup, len(groupFacts))
	for i, f := range groupFacts {
		groups[i] = f.group
	}
	return groups
}

func groupNames() []string {
	names := make([]string, len(groupFacts))
	for i, f := range groupFacts {
		names[i] = string(f.group)
	}
	return names
}

// Words is the group in plain English: "wet woods".
func (g CoverGroup) Words() string {
	for _, f := range groupFacts {
		if f.group == g {
			return f.words
		}
	}
	return string(g)
}

// DefaultCover is the cover factor of a class of this group that names none.
func (g CoverGroup) DefaultCover() float64 {
	for _, f := range groupFacts {
		if f.group == g {
			return f.cover
		}
	}
	return 1
}

// NoClass is the slot of cells without a known land cover: no layer, no
// data, or an unknown code taken as neutral.
const NoClass uint8 = 255

// Class is one entry of a legend.
type Class struct {
	Code  int
	Also  int // a second code for the same class, 0 for none
	Name  string
	Group CoverGroup
	Cover float64 // 0–1, multiplies suitability
	Slot  uint8   // index of the class in lookup tables
}

// Legend explains the codes of a land-cover raster. Codes may be large, so
// cells are kept as slots: the code itself where it is below 255, otherwise
// the next free number.
type Legend struct {
	Name    string
	Classes []Class // in order of code
	slots   map[int]uint8
	bySlot  [256]int // index into Classes plus one
}

//go:embed data/legend-*.csv
var legendFiles embed.FS

// LegendNames lists the named legends.
func LegendNames() []string { return []string{"us-30m", "world-10m", "corine"} }

// LoadLegend reads a named legend, or a CSV by its path.
func LoadLegend(nameOrPath string) (*Legend, error) {
	if isPath(nameOrPath) {
		data, err := readLimited(nameOrPath)
		if err != nil {
			return nil, fmt.Errorf("legend: %w", err)
		}
		return ParseLegend(nameOrPath, data)
	}
	if err := oneOf("landcover.legend", nameOrPath, LegendNames()...); err != nil {
		return nil, err
	}
	file := "data/legend-" + nameOrPath + ".csv"
	data, err := legendFiles.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("legend %s: %w", nameOrPath, err)
	}
	l, err := ParseLegend(file, data)
	if err != nil {
		return nil, err
	}
	l.Name = nameOrPath
	return l, nil
}

// Slot gives the slot of a code, NoClass for a code that stands for no data,
// and false for a code the legend does not know.
func (l *Legend) Slot(code int) (uint8, bool) {
	s, ok := l.slots[code]
	return s, ok
}

// Class gives the class in a slot.
func (l *Legend) Class(slot uint8) (Class, bool) {
	if i := l.bySlot[slot]; i > 0 {
		return l.Classes[i-1], true
	}
	return Class{Name: "unknown", Group: Unknown, Cover: Unknown.DefaultCover(), Slot: slot}, false
}

// Check compares the codes found in a raster (code → cells) with the legend.
// Unknown codes are an error, or with unknown = "neutral" a warning.
func (l *Legend) Check(counts map[int]int64, unknown string) (warning string, err error) {
	var codes []int
	for code, n := range counts {
		if _, ok := l.slots[code]; !ok && n > 0 {
			codes = append(codes, code)
		}
	}
	if len(codes) == 0 {
		return "", nil
	}
	sort.Ints(codes)
	var parts []string
	for i, code := range codes {
		if i == 8 {
			parts = append(parts, fmt.Sprintf("and %d more", len(codes)-i))
			break
		}
		parts = append(parts, fmt.Sprintf("%d (%d cells)", code, counts[code]))
	}
	plural := ""
	if len(codes) > 1 {
		plural = "s"
	}
	what := fmt.Sprintf("code%s %s not in the legend %s", plural, strings.Join(parts, ", "), l.Name)
	if unknown == "neutral" {
		return "land cover: " + what + "; taken as neutral", nil
	}
	return "", wrong("landcover.legend", "%s; name another legend (%s, or a CSV), or set landcover.unknown: neutral", what, strings.Join(LegendNames(), ", "))
}

// GuessLegend finds the one named legend that knows every code found.
func GuessLegend(counts map[int]int64) (*Legend, error) {
	var fits []*Legend
	var names []string
	for _, name := range LegendNames() {
		l, err := LoadLegend(name)
		if err != nil {
			return nil, err
		}
		if _, err := l.Check(counts, "stop"); err == nil {
			fits, names = append(fits, l), append(names, name)
		}
	}
	switch len(fits) {
	case 1:
		return fits[0], nil
	case 0:
		return nil, wrong("landcover.legend", "the codes found (%s) fit no named legend; name one of %s, or a CSV with the columns code,name,group,cover",
			listCodes(counts), strings.Join(LegendNames(), ", "))
	}
	return nil, wrong("landcover.legend", "the codes found (%s) fit %s alike; name the right one", listCodes(counts), strings.Join(names, " and "))
}

func listCodes(counts map[int]int64) string {
	var codes []int
	for c, n := range counts {
		if n > 0 {
			codes = append(codes, c)
		}
	}
	slices.Sort(codes)
	var b strings.Builder
	for i, c := range codes {
		if i == 12 {
			fmt.Fprintf(&b, " and %d more", len(codes)-i)
			break
		}
		if i > 0 {
			b.WriteByte(' ')
		}
		fmt.Fprint(&b, c)
	}
	return b.String()
}
