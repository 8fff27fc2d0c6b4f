package vector

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// bandCells is about how many cells FillPolygons holds at a time.
const bandCells = 1 << 22

// FillPolygons writes v into the cells of dst whose centre lies inside any of
// the Polygons and MultiPolygons (frame CRS), by the even-odd rule with holes.
// A centre exactly on an edge belongs to the polygon on its east (or, on a
// level edge, its south) side, so that neighbours sharing an edge never both
// take nor both miss it. dst must have the frame's size. The number of cells
// written is returned; a cell in two polygons counts twice.
func FillPolygons(f raster.Frame, polygons []orb.Geometry, v uint8, dst *raster.Plane[uint8]) (int, error) {
	return FillPolygonValues(f, polygons, func(int) uint8 { return v }, dst)
}

// FillPolygonValues is FillPolygons with a value for each polygon, by its
// index; where polygons overlap the later one stays.
func FillPolygonValues(f raster.Frame, polygons []orb.Geometry, value func(i int) uint8, dst *raster.Plane[uint8]) (int, error) {
	if w, h := dst.Size(); w != f.W || h != f.H {
		panic(fmt.Sprintf("vector: plane of %d × %d for a frame of %d × %d", w, h, f.W, f.H))
	}
	var fills []*fill
	for i, g := range polygons {
		if !finite(pointsOf(g, nil)) {
			return 0, fmt.Errorf("feature %d: coordinates that are not numbers", i)
		}
		switch g := g.(type) {
		case orb.Polygon:
			fills = appendFill(fills, f, g, value(i))
		case orb.MultiPolygon:
			for _, p := range g {
				fills = appendFill(fills, f, p, value(i))
			}
		case nil:
		default:
			return 0, fmt.Errorf("feature %d: %s where a polygon was expected", i, g.GeoJSONType())
		}
	}
	rows := max(1, min(f.H, bandCells/f.W))
	band := make([]uint8, rows*f.W)
	n := 0
	for y0 := 0; y0 < f.H; y0 += rows {
		y1 := min(y0+rows, f.H)
		if !slices.ContainsFunc(fills, func(p *fill) bool { return p.meets(y0, y1) }) {
			continue
		}
		cells := band[:(y1-y0)*f.W]
		if err := dst.Read(0, y0, f.W, y1-y0, cells); err != nil {
			return n, err
		}
		for _, p := range fills {
			n += p.rows(y0, y1, f.W, cells)
		}
		if err := dst.Write(0, y0, f.W, y1-y0, cells); err != nil {
			return n, err
		}
	}
	return n, nil
}

// edge is one side of a ring that crosses the centre line of at least one row
// of the frame, in cell units: rows r0 … r1−1.
type edge struct {
	r0, r1     int
	x0, y0, dx float64 // a point of it, and columns per row
}

// fill is one polygon on its way down the rows.
type fill struct {
	edges  []edge // by r0
	next   int    // first edge not yet active
	active []edge
	last   int // one past the last row
	value  uint8
	xs     []float64
}

func appendFill(fills []*fill, f raster.Frame, p orb.Polygon, value uint8) []*fill {
	s := &fill{value: value}
	for _, ring := range p {
		for i := range ring {
			a, b := grid(f, ring[i]), grid(f, ring[(i+1)%len(ring)])
			if a[1] > b[1] {
				a, b = b, a
			}
			// Row r has its centre at r + ½; the side holds it when a ≤ r + ½ < b.
			// Clamped before conversion: coordinates may lie far outside.
			r0 := int(math.Ceil(min(max(a[1]-0.5, 0), float64(f.H))))
			r1 := int(math.Ceil(min(max(b[1]-0.5, 0), float64(f.H))))
			if r0 >= r1 {
				continue
			}
			s.edges = append(s.edges, edge{r0, r1, a[0], a[1], (b[0] - a[0]) / (b[1] - a[1])})
			s.last = max(s.last, r1)
		}
	}
	if len(s.edges) == 0 {
		return fills
	}
	slices.SortStableFunc(s.edges, func(a, b edge) int { return cmp.Compare(a.r0, b.r0) })
	return append(fills, s)
}

func (p *fill) meets(y0, y1 int) bool { return p.edges[0].r0 < y1 && p.last > y0 }

// rows fills rows y0 … y1−1, whose cells are given; they must follow the rows
// of the call before.
func (p *fill) rows(y0, y1, w int, cells []uint8) int {
	n := 0
	p.spans(y0, y1, w, func(y, from, to int) {
		row := cells[(y-y0)*w : (y-y0+1)*w]
		for x := from; x < to; x++ {
			row[x] = p.value
		}
		n += to - from
	})
	return n
}

// column is the first column whose centre is at or east of x, 0 … w.
func column(x float64, w int) int {
	return int(math.Ceil(min(max(x-0.5, 0), float64(w))))
}
