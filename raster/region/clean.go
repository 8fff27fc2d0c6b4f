package region

// fillHoles fills background that one patch encloses: 4-connected, fewer than
// minHole cells, with no cell of another patch in it. Keep-out cells in a hole
// count towards its size but are left out, as is ground of another kind. part is tidy; so is the result.
func fillHoles(part []Run, minHole int, kind int32, taken, keepOut rowIndex) []Run {
	x0, x1 := part[0].X0, part[0].X1
	for _, r := range part {
		x0, x1 = min(x0, r.X0), max(x1, r.X1)
	}
	// The background of the box and a rim around it, as runs; the rim joins all
	// of the outside into the first component.
	group := part[0].Group
	gaps := make([]Run, 0, 2*len(part)+2)
	gaps = append(gaps, Run{Y: part[0].Y - 1, X0: x0 - 1, X1: x1 + 1})
	rowsOf(part, func(y int32, row []Run) {
		at := x0 - 1
		for _, r := range row {
			if at < r.X0 {
				gaps = append(gaps, Run{Y: y, X0: at, X1: r.X0})
			}
			at = r.X1
		}
		gaps = append(gaps, Run{Y: y, X0: at, X1: x1 + 1})
	})
	gaps = append(gaps, Run{Y: part[len(part)-1].Y + 1, X0: x0 - 1, X1: x1 + 1})
	label, n := components(gaps, 0)
	if n == 1 {
		return part
	}
	size := make([]int, n)
	for i, g := range gaps {
		size[label[i]] += g.cells()
	}
	fill := make([]bool, n)
	for i := 1; i < n; i++ {
		fill[i] = size[i] < minHole
	}
	for i, g := range gaps {
		if fill[label[i]] && len(taken.meet(g.Y, g.X0, g.X1)) > 0 {
			fill[label[i]] = false // another patch lives in there
		}
	}
	for i, g := range gaps {
		if !fill[label[i]] {
			continue
		}
		at := g.X0
		for _, k := range keepOut.meet(g.Y, g.X0, g.X1) {
			if k.Group == kind {
				continue
			}
			if at < k.X0 {
				part = append(part, Run{Y: g.Y, X0: at, X1: k.X0, Group: group})
			}
			at = max(at, k.X1)
		}
		if at < g.X1 {
			part = append(part, Run{Y: g.Y, X0: at, X1: g.X1, Group: group})
		}
	}
	return tidy(part)
}

// open2 keeps the cells that lie in some 2×2 block of the patch: the
// morphological opening by a 2×2 square. part is tidy; so is the result.
func open2(part []Run) []Run {
	// blocks are the north-west cells of all full 2×2 blocks.
	var blocks []Run
	var above []Run
	rowsOf(part, func(y int32, row []Run) {
		if len(above) > 0 && above[0].Y == y-1 {
			i, j := 0, 0
			for i < len(above) && j < len(row) {
				a, b := max(above[i].X0, row[j].X0), min(above[i].X1, row[j].X1)-1
				if a < b {
					blocks = append(blocks, Run{Y: y - 1, X0: a, X1: b, Group: row[j].Group})
				}
				if above[i].X1 < row[j].X1 {
					i++
				} else {
					j++
				}
			}
		}
		above = row
	})
	// Each block covers its own row and the next, one column more to the east.
	out := make([]Run, 0, len(part))
	var last []Run
	emit := func(y int32, upper, lower []Run) {
		i, j := 0, 0
		for i < len(upper) || j < len(lower) {
			var r Run
			if j == len(lower) || i < len(upper) && upper[i].X0 <= lower[j].X0 {
				r = upper[i]
				i++
			} else {
				r = lower[j]
				j++
			}
			if k := len(out) - 1; k >= 0 && out[k].Y == y && out[k].X1 >= r.X0 {
				out[k].X1 = max(out[k].X1, r.X1+1)
				continue
			}
			out = append(out, Run{Y: y, X0: r.X0, X1: r.X1 + 1, Group: r.Group})
		}
	}
	rowsOf(blocks, func(y int32, row []Run) {
		if len(last) > 0 && last[0].Y < y-1 {
			emit(last[0].Y+1, last, nil)
			last = nil
		}
		emit(y, last, row)
		last = row
	})
	if len(last) > 0 {
		emit(last[0].Y+1, last, nil)
	}
	return out
}
