package evidence

import (
	"slices"

	"rillwood/raster"
)

// combiner knows, for each item, the few different shifts its classes have:
// cells are told apart by those, not by their classes.
type combiner struct {
	items   []Item
	rule    Rule
	palette [][]float64  // of each item, its different shifts; the first is 0
	choice  [][256]uint8 // of each item, a cell's place in the palette
	stride  [][256]uint32
	table   []int8 // steps of each combination, nil when there are too many
}

func newCombiner(items []Item, rule Rule, combos int) *combiner {
	c := &combiner{items: items, rule: rule, choice: make([][256]uint8, len(items))}
	total := 1
	for k, it := range items {
		shifts := []float64{0}
		for i, class := range it.Classes {
			p := slices.Index(shifts, class.Shift)
			if p < 0 {
				p, shifts = len(shifts), append(shifts, class.Shift)
			}
			c.choice[k][i+1] = uint8(p)
		}
		c.palette = append(c.palette, shifts)
		total = min(total*len(shifts), combos+1) // stays small: no overflow
	}
	if total <= combos {
		c.tabulate(total)
	}
	return c
}

// tabulate works out every combination. Its index is a number whose digits are
// the places in the palettes.
func (c *combiner) tabulate(total int) {
	c.table = make([]int8, total)
	c.stride = make([][256]uint32, len(c.items))
	step := uint32(1)
	for k := range c.items {
		for v, p := range c.choice[k] {
			c.stride[k][v] = uint32(p) * step
		}
		step *= uint32(len(c.palette[k]))
	}
	var digits [maxItems]uint8
	for i := range c.table {
		c.table[i] = c.steps(&digits)
		for k := range c.items {
			if digits[k]++; int(digits[k]) < len(c.palette[k]) {
				break
			}
			digits[k] = 0
		}
	}
}

// steps weighs one combination.
func (c *combiner) steps(digits *[maxItems]uint8) int8 {
	var shifts [maxItems]float64
	for k := range c.items {
		shifts[k] = c.palette[k][digits[k]]
	}
	return c.rule.steps(c.rule.Combine(shifts[:len(c.items)]))
}

// desk is where one worker works.
type desk struct {
	*combiner
	buf    []uint8
	index  []uint32
	digits [][maxItems]uint8
	known  map[[maxItems]uint8]int8
	out    []int8
	counts [256]int64 // of steps, by their bits
}

func (c *combiner) desk(w int) *desk {
	d := &desk{combiner: c, buf: make([]uint8, w), out: make([]int8, w)}
	if c.table != nil {
		d.index = make([]uint32, w)
	} else {
		d.digits, d.known = make([][maxItems]uint8, w), map[[maxItems]uint8]int8{}
	}
	return d
}

// row weighs one row of the frame.
func (d *desk) row(y int, dst *raster.Plane[int8]) error {
	clear(d.index)
	for k, it := range d.items {
		cells, err := it.Plane.Row(0, y, len(d.out), d.buf)
		if err != nil {
			return err
		}
		if d.table != nil {
			stride, index := &d.stride[k], d.index[:len(cells)]
			for x, v := range cells {
				index[x] += stride[v]
			}
			continue
		}
		choice := &d.choice[k]
		for x, v := range cells {
			d.digits[x][k] = choice[v]
		}
	}
	if d.table != nil {
		out := d.out[:len(d.index)]
		for x, i := range d.index {
			v := d.table[i]
			out[x] = v
			d.counts[uint8(v)]++
		}
	} else {
		d.recall()
	}
	return dst.Write(0, y, len(d.out), 1, d.out)
}

// recall looks combinations up among those met before. Neighbours mostly have
// the same.
func (d *desk) recall() {
	var v int8
	for x := range d.digits {
		if x == 0 || d.digits[x] != d.digits[x-1] {
			var met bool
			if v, met = d.known[d.digits[x]]; !met {
				v = d.steps(&d.digits[x])
				d.known[d.digits[x]] = v
			}
		}
		d.out[x] = v
		d.counts[uint8(v)]++
	}
}
