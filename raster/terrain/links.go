package terrain

import (
	"context"
	"slices"

	"rillwood/raster"
)

// Link is a stream between junctions, from its upper end down.
type Link struct {
	Cells []int64 // row-major indices; the last is the junction below, shared, or where the stream ends
	Down  int     // the link it flows into, -1 = none
	Order int     // Strahler order
	Km2   float64 // drainage area at the lower end, the junction excluded
}

// Links traces the streams that drain at least threshold km², in the order of
// their upper ends.
func Links(ctx context.Context, r *Routing, area *raster.Plane[float32], threshold float64) ([]Link, error) {
	w, h := area.Size()
	type cell struct {
		at   int64
		next int32 // position of the cell below, -1 = none
		in   int32 // stream cells above
		km2  float32
	}
	var cells []cell
	row, dir := make([]float32, w), make([]uint8, w)
	var dirs []uint8
	for y := range h {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := area.Read(0, y, w, 1, row); err != nil {
			return nil, err
		}
		if err := r.Dir.Read(0, y, w, 1, dir); err != nil {
			return nil, err
		}
		for x, a := range row {
			if float64(a) >= threshold {
				cells = append(cells, cell{at: int64(y)*int64(w) + int64(x), next: -1, km2: a})
				dirs = append(dirs, dir[x])
			}
		}
	}
	find := func(at int64) int32 {
		i, ok := slices.BinarySearchFunc(cells, at, func(c cell, at int64) int { return int(c.at - at) })
		if !ok {
			return -1
		}
		return int32(i)
	}
	for i := range cells {
		if d := dirs[i]; d < 8 {
			j := find(cells[i].at + int64(dy[d])*int64(w) + int64(dx[d]))
			cells[i].next = j
			if j >= 0 {
				cells[j].in++
			}
		}
	}
	var links []Link
	starts := make(map[int32]int) // junction or head → the link that begins there
	for i := range cells {
		if cells[i].in == 1 {
			continue
		}
		starts[int32(i)] = len(links)
		l := Link{Down: -1, Cells: []int64{cells[i].at}}
		j := int32(i)
		l.Km2 = float64(cells[j].km2)
		for cells[j].next >= 0 {
			j = cells[j].next
			l.Cells = append(l.Cells, cells[j].at)
			if cells[j].in != 1 {
				break
			}
			l.Km2 = float64(cells[j].km2)
		}
		links = append(links, l)
	}
	down := make([]int, len(links))
	for k := range links {
		down[k] = -1
		last := links[k].Cells[len(links[k].Cells)-1]
		if d, ok := starts[find(last)]; ok && d != k {
			down[k] = d
		}
		links[k].Down = down[k]
	}
	order, _ := Strahler(down)
	for k := range links {
		links[k].Order = order[k]
	}
	return links, nil
}

// Strahler gives the Strahler order and the Shreve magnitude of each link from
// the link it flows into (-1 = none). Strahler A.N. (1957) Trans. AGU
// 38(6):913–920; Shreve R.L. (1966) J. Geology 74:17–37.
func Strahler(down []int) (order, magnitude []int) {
	order, magnitude = make([]int, len(down)), make([]int, len(down))
	pending := make([]int, len(down))
	most, twice := make([]int, len(down)), make([]bool, len(down))
	for _, d := range down {
		if d >= 0 {
			pending[d]++
		}
	}
	var queue []int
	for i, n := range pending {
		if n == 0 {
			queue = append(queue, i)
		}
	}
	for q := 0; q < len(queue); q++ {
		i := queue[q]
		switch {
		case most[i] == 0:
			order[i] = 1
		case twice[i]:
			order[i] = most[i] + 1
		default:
			order[i] = most[i]
		}
		magnitude[i] = max(magnitude[i], 1)
		d := down[i]
		if d < 0 {
			continue
		}
		magnitude[d] += magnitude[i]
		if order[i] == most[d] {
			twice[d] = true
		} else if order[i] > most[d] {
			most[d], twice[d] = order[i], false
		}
		if pending[d]--; pending[d] == 0 {
			queue = append(queue, d)
		}
	}
	return order, magnitude
}
