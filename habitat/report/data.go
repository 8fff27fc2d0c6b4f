package report

import (
	"context"
	"image/color"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"

	"rillwood/habitat/results"
	"rillwood/vector"
)

// place is longitude and latitude to a tenth of a metre.
type place [2]float64

func placeOf(p orb.Point) place {
	return place{math.Round(p[0]*1e6) / 1e6, math.Round(p[1]*1e6) / 1e6}
}

// The data that the scripts read. A figure that is not known is null.
type data struct {
	Name       string            `json:"name"`
	Run        string            `json:"run"`
	Grid       string            `json:"grid"`
	Bounds     [2]place          `json:"bounds"` // of the pictures: south-west, north-east
	View       [2]place          `json:"view"`   // of what was mapped
	Threshold  float64           `json:"threshold"`
	Candidates []candidate       `json:"candidates"`
	Streams    []stream          `json:"streams"`
	Access     []access          `json:"access"`
	Area       [][]place         `json:"area"`
	Points     []point           `json:"points"`
	Trip       *day              `json:"trip"`
	Winter     map[string]string `json:"winter"`
	Hosts      map[string]string `json:"hosts"`
	Ramp       [][4]uint8        `json:"ramp"` // colours of the suitability picture, of 0 to 1 in even steps

	shown int // streams of the run that are in Streams
}

type candidate struct {
	Rank      int         `json:"rank"`
	Score     *float64    `json:"score"`
	AreaHa    *float64    `json:"ha"`
	SMean     *float64    `json:"suitability"`
	SMax      *float64    `json:"most"`
	BMean     *float64    `json:"bottomland"`
	Finds     *float64    `json:"finds"`
	FindsLow  *float64    `json:"findsLow"`
	FindsHigh *float64    `json:"findsHigh"`
	Confident *float64    `json:"confidence"`
	Learning  bool        `json:"learning"`
	FirstHost string      `json:"firstHost"`
	Check     int         `json:"check"`
	Holds     bool        `json:"holds"`
	Dead      *float64    `json:"dead"`
	Trees     []treeRow   `json:"trees"`
	HeightM   *float64    `json:"height"`
	SlopePct  *float64    `json:"slope"`
	Stream    string      `json:"stream"`
	Order     int         `json:"order"`
	Outside   *float64    `json:"outside"`
	Shift     *float64    `json:"shift"`
	StreamM   *float64    `json:"streamM"`
	Cover     string      `json:"cover"`
	CoverPart *float64    `json:"coverShare"`
	Limiting  string      `json:"limiting"`
	Evidence  []string    `json:"evidence"`
	Measured  *float64    `json:"measured"`
	Access    string      `json:"access"`
	Note      string      `json:"accessNote"`
	Land      []string    `json:"land"`
	At        place       `json:"at"`
	Grid      [2]float64  `json:"gridAt"`
	Why       string      `json:"why"`
	Walk      *walk       `json:"walk"`
	Shape     [][][]place `json:"shape"`
}

type treeRow struct {
	Host string   `json:"host"`
	N    *float64 `json:"n"`
	Low  *float64 `json:"low"`
	High *float64 `json:"high"`
}

type walk struct {
	OK        bool        `json:"ok"`
	Note      string      `json:"note"`
	M         *float64    `json:"m"`
	OffM      *float64    `json:"off"`
	ClimbM    *float64    `json:"climb"`
	DescentM  *float64    `json:"descent"`
	Crossings int         `json:"crossings"`
	Start     string      `json:"start"`
	StartKind string      `json:"startKind"`
	StartAt   *place      `json:"startAt"`
	EntryAt   *place      `json:"entryAt"`
	EntryGrid *[2]float64 `json:"entryGrid"`
	Cautions  []string    `json:"cautions"`
	Line      []place     `json:"line"`
}

type stream struct {
	Name  string    `json:"name"`
	Order int       `json:"order"`
	Lines [][]place `json:"lines"`
}

type access struct {
	Status string      `json:"status"`
	Shape  [][][]place `json:"shape"`
}

type point struct {
	At        place  `json:"at"`
	Date      string `json:"date"`
	Host      string `json:"host"`
	Condition string `json:"condition"`
	Inspected int    `json:"inspected"`
	Finds     int    `json:"finds"`
	Confirmed string `json:"confirmed"`
	Note      string `json:"note"`
}

// known is a figure, nil when it is none.
func known(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

func gather(ctx context.Context, run *results.Run, g *results.Ground, o Options) (*data, error) {
	w, s, e, n := run.Frame.Bounds()
	back, err := vector.ToWGS84(run.Frame.WKT)
	if err != nil {
		return nil, err
	}
	view, err := back.Bounds([4]float64{w, s, e, n})
	if err != nil {
		return nil, err
	}
	d := &data{Name: run.Name, Run: run.ID, Grid: run.Frame.Name, Threshold: run.Threshold, Candidates: []candidate{}, Streams: []stream{}, Access: []access{}, Area: [][]place{}, Points: []point{},
		View:   [2]place{placeOf(orb.Point{view[0], view[1]}), placeOf(orb.Point{view[2], view[3]})},
		Bounds: [2]place{placeOf(lonLat(g.Bound.Min)), placeOf(lonLat(g.Bound.Max))},
		Winter: map[string]string{}, Hosts: map[string]string{}, Ramp: [][4]uint8{}}
	for _, c := range suitabilityColours()[1:] {
		n := c.(color.NRGBA)
		d.Ramp = append(d.Ramp, [4]uint8{n.R, n.G, n.B, n.A})
	}
	for _, h := range run.Hosts {
		d.Hosts[h.ID] = h.Common
		if h.Winter != "" {
			d.Winter[h.Common] = h.Winter
		}
	}
	for i := range run.Candidates {
		c := &run.Candidates[i]
		d.Candidates = append(d.Candidates, candidateOf(run, c))
	}
	d.Streams, d.shown = streamsOf(run, g)
	areas, err := run.AccessAreas(ctx, orb.Bound{Min: orb.Point{w, s}, Max: orb.Point{e, n}})
	if err != nil {
		return nil, err
	}
	tolerance := math.Max(run.Frame.Cell, (e-w)/4000) / 111_320 // metres to degrees of latitude
	for _, a := range areas {
		shape := polygons(simplify.DouglasPeucker(tolerance).MultiPolygon(a.Shape))
		d.Access = append(d.Access, access{a.Status, shape})
	}
	for _, p := range run.Area {
		for _, r := range simplify.DouglasPeucker(tolerance).Polygon(p.Clone()) {
			d.Area = append(d.Area, places(orb.LineString(r)))
		}
	}
	d.Trip = dayOf(o.Trip)
	if o.Records != nil {
		for _, p := range o.Records.Points {
			d.Points = append(d.Points, point{placeOf(orb.Point{p.Lon, p.Lat}), p.Date, p.Host, p.Condition, p.Inspected, p.Finds, p.Confirmed, p.Note})
		}
	}
	return d, nil
}

func candidateOf(run *results.Run, c *results.Candidate) candidate {
	out := candidate{Rank: c.Rank, Score: known(c.Score), AreaHa: known(c.AreaHa), SMean: known(c.SMean), SMax: known(c.SMax), BMean: known(c.BMean),
		Finds: known(c.Finds), FindsLow: known(c.FindsLow), FindsHigh: known(c.FindsHigh), Confident: known(c.RankConfidence), Learning: c.Learning,
		FirstHost: c.FirstHost, Check: c.Check95, Holds: c.HoldsCheck, Dead: known(c.DeadTrees), HeightM: known(c.HeightM), SlopePct: known(c.SlopePct),
		Stream: c.Stream, Order: c.StreamOrder, Outside: known(c.OutsideShare), Shift: known(c.EvidenceShift), StreamM: known(c.StreamM), Cover: c.Cover, CoverPart: known(c.CoverShare), Limiting: c.Limiting, Evidence: c.Evidence,
		Measured: known(c.MeasuredShare), Access: c.Access, Note: c.AccessNote, Land: c.Land, At: placeOf(orb.Point{c.Lon, c.Lat}),
		Grid: [2]float64{math.Round(c.East), math.Round(c.North)}, Why: c.Why, Shape: polygons(c.Shape)}
	for _, t := range c.Trees {
		out.Trees = append(out.Trees, treeRow{run.HostByID(t.Host).Common, known(t.Expected), known(t.Low), known(t.High)})
	}
	if c.Walk == nil {
		return out
	}
	k := c.Walk
	out.Walk = &walk{OK: k.OK, Note: k.Note}
	if k.OK {
		start, entry := placeOf(orb.Point{k.StartLon, k.StartLat}), placeOf(orb.Point{k.EntryLon, k.EntryLat})
		*out.Walk = walk{OK: true, Note: k.Note, M: known(k.DistanceM), OffM: known(k.OffPathM), ClimbM: known(k.ClimbM), DescentM: known(k.DescentM), Crossings: k.Crossings,
			Start: k.Start, StartKind: k.StartKind, StartAt: &start, EntryAt: &entry, EntryGrid: &[2]float64{math.Round(k.EntryEast), math.Round(k.EntryNorth)},
			Cautions: k.Cautions, Line: places(run.Ways[c.Rank])}
	}
	return out
}

func places(l orb.LineString) []place {
	out := make([]place, len(l))
	for i, p := range l {
		out[i] = placeOf(p)
	}
	return out
}

func polygons(m orb.MultiPolygon) [][][]place {
	out := make([][][]place, 0, len(m))
	for _, poly := range m {
		var rings [][]place
		for _, r := range poly {
			if len(r) >= 4 {
				rings = append(rings, places(orb.LineString(r)))
			}
		}
		if len(rings) > 0 {
			out = append(out, rings)
		}
	}
	return out
}

// streamPoints is how many points all streams of the page may have, at about
// 22 bytes each; a stream costs streamCost points beside its own for its brackets
// and name. Streams of higher order come first; what does not fit is left out,
// and the page says so. Drawn lines are also what slows a browser most.
const (
	streamPoints = 40_000
	streamCost   = 3
)

// streamsOf thins the streams to what the overview can show (half a picture
// cell), larger ones first while they fit, and tells how many did. Pieces of
// one name and order are one stream, which a browser draws at once.
func streamsOf(run *results.Run, g *results.Ground) (out []stream, shown int) {
	cell := (g.Bound.Max[0] - g.Bound.Min[0]) / float64(g.W) // Web Mercator metres
	tolerance := cell / 2 / 111_320
	order := make([]int, len(run.Streams))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return run.Streams[b].Order - run.Streams[a].Order })
	type key struct {
		name  string
		order int
	}
	at := map[key]int{}
	out = []stream{}
	left := streamPoints
	for _, i := range order {
		s := run.Streams[i]
		var lines [][]place
		n := streamCost
		for _, l := range s.Line {
			l = simplify.DouglasPeucker(tolerance).LineString(l.Clone())
			n += len(l)
			lines = append(lines, places(l))
		}
		if n > left {
			break // a smaller one may not take the place of a larger one
		}
		left -= n
		shown++
		k := key{s.Name, s.Order}
		if _, ok := at[k]; !ok {
			at[k] = len(out)
			out = append(out, stream{Name: s.Name, Order: s.Order})
		}
		o := &out[at[k]]
		o.Lines = append(o.Lines, lines...)
	}
	return out, shown
}

// earthRadius of Web Mercator (EPSG:3857).
const earthRadius = 6378137

// lonLat is the inverse of the Web Mercator projection (EPSG method 1024).
func lonLat(p orb.Point) orb.Point {
	return orb.Point{p[0] / earthRadius * 180 / math.Pi, math.Atan(math.Sinh(p[1]/earthRadius)) * 180 / math.Pi}
}
