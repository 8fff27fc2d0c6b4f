package terrain

import (
	"cmp"
	"container/heap"
	"math"
	"slices"

	"rillwood/raster"
)

// Opening a hollow by cutting through what dams it, on the way that costs
// least: Lindsay J.B., Dhun K. (2015) Modelling surface drainage patterns in
// altered landscapes using LiDAR, Int. J. Geographical Information Science
// 29(3):397–411; Lindsay J.B. (2016) Efficient hybrid breaching-filling sink
// removal methods for flow path enforcement in digital elevation models,
// Hydrological Processes 30(6):846–857.

// BreachLimit bounds a breach.
type BreachLimit struct {
	Steps int     // cells from the pit to lower ground
	Cost  float64 // metres cut, summed over the cells of the way
}

// Breach is a way out of a hollow.
type Breach struct {
	Cells []int64   // row-major indices of the map, the pit first
	Z     []float32 // heights along it once carved: a straight ramp, m
	Cost  float64   // metres that the cells of the way stand above the pit, summed
}

// Remedy is what to do about a hollow.
type Remedy struct {
	Breach *Breach // the cheapest way out within the limit, nil when there is none
	Fill   float64 // metres to raise, summed over the hollow's cells; +Inf when it does not end within the limit's steps
	Carve  bool    // whether the breach costs no more than filling
}

// FindRemedy weighs breaching the hollow with its bottom at (x, y) against
// filling it. Only the limit's steps around the pit are looked at.
func FindRemedy(z *raster.Plane[float32], x, y int, limit BreachLimit) (Remedy, error) {
	s, err := surroundings(z, x, y, limit.Steps)
	if err != nil {
		return Remedy{}, err
	}
	r := Remedy{Fill: s.fillCost()}
	if b, ok := s.breach(limit); ok {
		r.Breach, r.Carve = &b, b.Cost <= r.Fill
	}
	return r, nil
}

// FindBreach finds the cheapest way from the pit (x, y) to lower ground, or to
// where the map ends. To enter a cell costs what it stands above the pit;
// among equally cheap ways the shortest is taken. Cells whose cheapest way is
// as long as the limit are not gone beyond. ok is false when there is none
// within the limit.
func FindBreach(z *raster.Plane[float32], x, y int, limit BreachLimit) (b Breach, ok bool, err error) {
	s, err := surroundings(z, x, y, limit.Steps)
	if err != nil {
		return Breach{}, false, err
	}
	b, ok = s.breach(limit)
	return b, ok, nil
}

// Carve lowers the cells of the way to its ramp.
func (b *Breach) Carve(z *raster.Plane[float32]) error {
	w, _ := z.Size()
	for i, c := range b.Cells {
		if err := z.Write(int(c)%w, int(c)/w, 1, 1, b.Z[i:i+1]); err != nil {
			return err
		}
	}
	return nil
}

// around is the square of ground around a pit, NaN outside the map.
type around struct {
	z      []float32
	side   int
	pit    int // in the square
	x0, y0 int // first cell, in the map; may lie outside
	mapW   int
}

func surroundings(z *raster.Plane[float32], x, y, steps int) (*around, error) {
	w, _ := z.Size()
	r := max(steps, 1) + 1
	s := &around{side: 2*r + 1, x0: x - r, y0: y - r, mapW: w}
	s.pit = r*s.side + r
	s.z = make([]float32, s.side*s.side)
	return s, z.ReadPadded(s.x0, s.y0, s.side, s.side, s.z, float32(math.NaN()))
}

// inner tells whether all of a cell's neighbours are in the square.
func (s *around) inner(i int) bool {
	x, y := i%s.side, i/s.side
	return x > 0 && y > 0 && x < s.side-1 && y < s.side-1
}

// leaves tells whether water may leave the map from an inner cell.
func (s *around) leaves(i int) bool {
	for _, off := range offsets(s.side) {
		if v := s.z[i+off]; v != v {
			return true
		}
	}
	return false
}

func (s *around) breach(limit BreachLimit) (Breach, bool) {
	bottom := s.z[s.pit]
	if bottom != bottom {
		return Breach{}, false
	}
	from := make([]int32, len(s.z))
	settled := make([]bool, len(s.z))
	reached := make([]reach, len(s.z)) // the best way known to each cell
	for i := range reached {
		reached[i].cost = math.Inf(1)
	}
	queue := reachQueue{{cell: int32(s.pit)}}
	reached[s.pit] = queue[0]
	off := offsets(s.side)
	for len(queue) > 0 {
		c := heap.Pop(&queue).(reach)
		i := int(c.cell)
		if settled[i] {
			continue
		}
		settled[i] = true
		if i != s.pit && s.z[i] < bottom || s.leaves(i) {
			return s.ramp(i, from, c), true
		}
		if int(c.steps) >= limit.Steps {
			continue
		}
		for _, o := range off {
			n := i + o
			v := s.z[n]
			if v != v || settled[n] {
				continue
			}
			next := reach{c.cost + max(0, float64(v)-float64(bottom)), c.steps + 1, int32(n)}
			if next.cost <= limit.Cost && next.compare(reached[n]) < 0 {
				reached[n] = next
				from[n] = int32(i)
				heap.Push(&queue, next)
			}
		}
	}
	return Breach{}, false
}

// ramp goes back from the end to the pit and lays a straight fall between them.
func (s *around) ramp(end int, from []int32, c reach) Breach {
	way := []int{end}
	for i := end; i != s.pit; {
		i = int(from[i])
		way = append(way, i)
	}
	slices.Reverse(way)
	top, fall := float64(s.z[s.pit]), 0.0
	if n := len(way) - 1; n > 0 {
		// Where the way ends at the map's edge, perhaps higher, it stays level.
		fall = max(0, top-float64(s.z[end])) / float64(n)
	}
	b := Breach{Cost: c.cost}
	for k, i := range way {
		b.Cells = append(b.Cells, int64(s.y0+i/s.side)*int64(s.mapW)+int64(s.x0+i%s.side))
		b.Z = append(b.Z, min(s.z[i], float32(top-float64(k)*fall)))
	}
	return b
}

// fillCost floods from the pit until water finds lower ground than the pit or
// leaves the map, and sums what the cells of the lake are raised.
func (s *around) fillCost() float64 {
	bottom := s.z[s.pit]
	if bottom != bottom {
		return math.Inf(1)
	}
	level, lake := bottom, 0
	var flooded []float32
	seen := make([]bool, len(s.z))
	queue := reachQueue{{cost: float64(bottom), cell: int32(s.pit)}}
	seen[s.pit] = true
	off := offsets(s.side)
	for len(queue) > 0 {
		i := int(heap.Pop(&queue).(reach).cell)
		v := s.z[i]
		if v < bottom {
			break
		}
		if !s.inner(i) {
			return math.Inf(1)
		}
		flooded = append(flooded, v)
		if v >= level {
			// All so far stands in the lake; what is lower from here on may
			// be the slope beyond the pass.
			level, lake = v, len(flooded)
		}
		if s.leaves(i) {
			break
		}
		for _, o := range off {
			if n := i + o; !seen[n] && s.z[n] == s.z[n] {
				seen[n] = true
				heap.Push(&queue, reach{cost: float64(s.z[n]), cell: int32(n)})
			}
		}
	}
	sum := 0.0
	for _, v := range flooded[:lake] {
		sum += float64(level) - float64(v)
	}
	return sum
}

// reach is a cell as the searches here order them: by cost, then by steps, then
// by place.
type reach struct {
	cost  float64
	steps int32
	cell  int32
}

func (r reach) compare(o reach) int {
	return cmp.Or(cmp.Compare(r.cost, o.cost), cmp.Compare(r.steps, o.steps), cmp.Compare(r.cell, o.cell))
}

type reachQueue []reach

func (q reachQueue) Len() int           { return len(q) }
func (q reachQueue) Less(a, b int) bool { return q[a].compare(q[b]) < 0 }
func (q reachQueue) Swap(a, b int)      { q[a], q[b] = q[b], q[a] }
func (q *reachQueue) Push(x any)        { *q = append(*q, x.(reach)) }
func (q *reachQueue) Pop() any {
	o := *q
	x := o[len(o)-1]
	*q = o[:len(o)-1]
	return x
}
