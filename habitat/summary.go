package habitat

import (
	"fmt"
	"sort"
	"strings"

	"github.com/paulmach/orb"
)

// Summary is a run in numbers.
type Summary struct {
	Name         string    `json:"name"`
	Cells        int64     `json:"cells"` // with elevation, inside the area
	AreaHa       float64   `json:"area_ha"`
	DrainedShare float64   `json:"drained_share"` // of the cells, down the water's way
	AcrossShare  float64   `json:"across_share"`  // measured from the nearest stream across the land
	UnknownShare float64   `json:"unknown_share"`
	Hollows      int64     `json:"hollows_opened"` // closed hollows that water was led out of
	Banks        int64     `json:"banks_cut"`      // of these, cut through at their foot, in the routing only
	CutM3        float64   `json:"banks_cut_m3"`   // what those cuts would move
	Streams      string    `json:"streams"`        // mapped or drawn from the elevation
	Reaches      int       `json:"reaches"`
	LeftOut      []string  `json:"lines_left_out"`
	SizesKm2     []float64 `json:"sizes_km2"` // drainage sizes heights were measured above
	AbsentKm2    []float64 `json:"absent_sizes_km2"`
	LandCover    string    `json:"land_cover"`
	Evidence     []string  `json:"evidence"` // layers of evidence and what they moved
	Measured     []string  `json:"measured"` // host inventory
	Access       []string  `json:"access"`   // listed hectares by who may enter
	KeptOut      []string  `json:"kept_out"` // hectares above the threshold left out, by reason
	Approach     string    `json:"approach"` // how ways in were found
	Threshold    float64   `json:"threshold"`
	AboveHa      float64   `json:"above_threshold_ha"`
	AboveShare   float64   `json:"above_threshold_share"`
	Patches      int       `json:"patches_found"`
	PatchesHa    float64   `json:"patches_ha"`
	Listed       int       `json:"listed"`
	ListedHa     float64   `json:"listed_ha"`
	ListedFinds  float64   `json:"listed_expected_finds"`
	Warnings     []string  `json:"-"`
}

func (p *publication) summarise() Summary {
	g, j := p.ground, p.judged
	cells := j.counts[0] + j.counts[1] + j.counts[2]
	share := func(n int64) float64 {
		if cells == 0 {
			return 0
		}
		return round(float64(n)/float64(cells), 6)
	}
	s := Summary{
		Name: p.in.Survey.Name, Cells: cells, AreaHa: round(float64(cells)*g.frame.CellHa(), 4),
		DrainedShare: share(j.counts[confDrained]), AcrossShare: share(j.counts[confAcross]), UnknownShare: share(j.counts[confUnknown]),
		Hollows: j.route.Pits, Banks: j.route.Breached, CutM3: round(j.route.CutM*g.frame.Cell*g.frame.Cell, 0), Reaches: len(g.network.Reaches), Streams: "mapped", SizesKm2: j.sizes, AbsentKm2: j.absent,
		LandCover: "none: every kind of ground counts the same",
		Threshold: p.short.Threshold, AboveHa: round(p.short.AboveHa, 4), Patches: p.short.Found, PatchesHa: round(p.short.FoundHa, 4),
		Listed: len(p.short.Candidates),
	}
	if s.AreaHa > 0 {
		s.AboveShare = round(s.AboveHa/s.AreaHa, 6)
	}
	for _, c := range p.short.Candidates {
		s.ListedHa += c.AreaHa
		s.ListedFinds += c.Finds
	}
	s.ListedHa, s.ListedFinds = round(s.ListedHa, 4), round(s.ListedFinds, 3)
	if !g.network.Mapped {
		s.Streams = "drawn from the elevation: " + g.network.Rule
		s.Warnings = append(s.Warnings, "no stream layer was given: streams are drawn from the elevation alone and bear no names; mapped ones say better where water runs")
	}
	p.summariseLayers(&s)
	for name, n := range g.network.Dropped {
		s.LeftOut = append(s.LeftOut, fmt.Sprintf("%s: %d", name, n))
	}
	sort.Strings(s.LeftOut)
	// Lists with nothing in them are written as such, not as null.
	s.LeftOut, s.SizesKm2, s.AbsentKm2 = orEmpty(s.LeftOut), orEmpty(s.SizesKm2), orEmpty(s.AbsentKm2)
	s.Warnings = append(s.Warnings, p.in.Warnings...)
	if strings.HasPrefix(p.in.UnitFrom, unitAssumed) {
		s.Warnings = append(s.Warnings, "elevation: the file does not say whether heights are in metres or feet; they are taken for metres, more than three times too high if they are feet: compare with a known height, then set elevation.unit to m or ft")
	}
	if a, ok := g.outline.(orb.MultiPolygon); ok {
		if gone := 1 - s.AreaHa*1e4/polygonArea(a); gone > 0.02 && polygonArea(a)/1e4-s.AreaHa > 4*g.frame.CellHa() {
			s.Warnings = append(s.Warnings, fmt.Sprintf("%.0f %% of the area has no elevation and is not on the map; add the tiles that are missing", 100*gone))
		}
	}
	s.Warnings = append(s.Warnings, g.network.Warnings...)
	if c := p.in.Cover; c != nil {
		s.LandCover = "legend " + c.Legend.Name
		if bare := share(j.coverless); bare > 0.01 {
			s.Warnings = append(s.Warnings, fmt.Sprintf("no land cover is known on %.0f %% of the ground: it counts like ground of unknown cover, roofs and water too; a land cover that reaches further makes it surer", 100*bare))
		}
		if c.warning != "" {
			s.Warnings = append(s.Warnings, c.warning)
		}
	} else {
		s.Warnings = append(s.Warnings, "no land cover was given: every kind of ground counts the same, woods and fields, roofs and water")
	}
	if s.AcrossShare+s.UnknownShare > 0.05 {
		s.Warnings = append(s.Warnings, fmt.Sprintf("the water of %.0f %% of the ground leaves the map before it meets a stream; an elevation that reaches further out makes those parts surer", 100*(s.AcrossShare+s.UnknownShare)))
	}
	if len(j.absent) > 0 {
		s.Warnings = append(s.Warnings, fmt.Sprintf("no stream on the map drains %s km²: the larger valleys are judged without", listNumbers(j.absent)))
	}
	if s.Patches == 0 {
		s.Warnings = append(s.Warnings, fmt.Sprintf("no patch reached suitability %g on %g ha or more: the shortlist is empty; lower shortlist.threshold or shortlist.min_ha", s.Threshold, p.in.Survey.Shortlist.MinHa))
	}
	s.Warnings = orEmpty(s.Warnings)
	return s
}

func orEmpty[T any](list []T) []T { return append([]T{}, list...) }

func listNumbers(v []float64) string {
	var parts []string
	for _, x := range v {
		parts = append(parts, fmt.Sprintf("%g", x))
	}
	return strings.Join(parts, ", ")
}
