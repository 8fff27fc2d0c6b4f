package region

import (
	"slices"
)

// tileSide is the side in cells of the square tiles that segments are sorted
// into when looking for crossings, a power of two.
const (
	tileShift = 3
	tileSide  = 1 << tileShift
)

// entry is one segment in one tile: tile row and column, then arc and segment.
type entry struct {
	tile     uint64
	arc, seg int32
}

// crossings lists, in order, the simplified arcs with a segment that crosses or
// touches another anywhere but at a common end, or doubles back over it.
// Segments are compared with those in the same tile only; the arithmetic is
// exact. Lines as traced never cross each other and are not compared.
func (t *Topology) crossings() []int32 {
	bad := make(map[int32]bool)
	changed := func(a int32) bool { return len(t.simple[a]) != len(t.arcs[a].points) }
	var all []entry
	for i := range t.arcs {
		line := t.line(int32(i))
		for k := range len(line) - 1 {
			all = appendTiles(all, line[k], line[k+1], int32(i), int32(k))
		}
	}
	slices.SortFunc(all, func(a, b entry) int {
		switch {
		case a.tile < b.tile:
			return -1
		case a.tile > b.tile:
			return 1
		}
		return 0
	})
	for i := 0; i < len(all); {
		j := i + 1
		for j < len(all) && all[j].tile == all[i].tile {
			j++
		}
		for m, a := range all[i:j] {
			for _, b := range all[i+m+1 : j] {
				ca, cb := changed(a.arc), changed(b.arc)
				if !ca && !cb {
					continue
				}
				p, q := t.line(a.arc), t.line(b.arc)
				if clash(p[a.seg], p[a.seg+1], q[b.seg], q[b.seg+1]) {
					if ca {
						bad[a.arc] = true
					}
					if cb {
						bad[b.arc] = true
					}
				}
			}
		}
		i = j
	}
	out := make([]int32, 0, len(bad))
	for a := range bad {
		out = append(out, a)
	}
	slices.Sort(out)
	return out
}

// appendTiles enters the segment p–q into every tile it may pass through: in
// each row of tiles, those under its stretch in that row, one column wider for
// rounding.
func appendTiles(all []entry, p, q Point, a, k int32) []entry {
	if q.Y < p.Y {
		p, q = q, p
	}
	floor := func(v int64) int64 { return v >> tileShift }
	for r := floor(int64(p.Y)); r <= floor(int64(q.Y)); r++ {
		x0, x1 := int64(p.X), int64(q.X)
		if q.Y > p.Y {
			// Columns where the segment enters and leaves this row of tiles.
			x0 = columnAt(p, q, max(r*tileSide, int64(p.Y)))
			x1 = columnAt(p, q, min((r+1)*tileSide, int64(q.Y)))
		}
		if x0 > x1 {
			x0, x1 = x1, x0
		}
		if q.X != p.X && q.Y != p.Y {
			x0, x1 = max(x0-1, int64(min(p.X, q.X))), min(x1+1, int64(max(p.X, q.X)))
		}
		for c := floor(x0); c <= floor(x1); c++ {
			all = append(all, entry{uint64(uint32(r))<<32 | uint64(uint32(c)), a, k})
		}
	}
	return all
}

// columnAt is the column, rounded towards zero, of the segment p–q at row y.
func columnAt(p, q Point, y int64) int64 {
	return int64(p.X) + (int64(q.X)-int64(p.X))*(y-int64(p.Y))/(int64(q.Y)-int64(p.Y))
}

// clash tells whether two segments share more than one common end.
func clash(a, b, c, d Point) bool {
	if a == d || b == c {
		c, d = d, c
	}
	switch {
	case a == c && b == d:
		return true
	case a == c:
		return doublesBack(a, b, d)
	case b == d:
		return doublesBack(b, a, c)
	}
	if max(a.X, b.X) < min(c.X, d.X) || max(c.X, d.X) < min(a.X, b.X) ||
		max(a.Y, b.Y) < min(c.Y, d.Y) || max(c.Y, d.Y) < min(a.Y, b.Y) {
		return false
	}
	return sign(cross(a, b, c))*sign(cross(a, b, d)) <= 0 && sign(cross(c, d, a))*sign(cross(c, d, b)) <= 0
}

// doublesBack tells whether the segments from p to a and to b leave p the same way.
func doublesBack(p, a, b Point) bool {
	if cross(p, a, b) != 0 {
		return false
	}
	return (int64(a.X)-int64(p.X))*(int64(b.X)-int64(p.X))+(int64(a.Y)-int64(p.Y))*(int64(b.Y)-int64(p.Y)) > 0
}

func sign(v int64) int {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}
