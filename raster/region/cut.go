package region

import "math"

// axisUnit is the length of the integer vector that stands for the principal
// axis: cells are projected in integers, so that a cut falls on the same cells
// on every machine.
const axisUnit = 1 << 12

// cut appends part, an 8-connected tidy patch, to parts, cut into pieces of at
// most maxCells cells (0: as it is).
func cut(parts [][]Run, part []Run, maxCells int) [][]Run {
	if maxCells < 1 || countCells(part) <= maxCells {
		return append(parts, part)
	}
	near, far := bisect(part)
	for _, half := range [2][]Run{near, far} {
		for _, p := range pieces(half) {
			parts = cut(parts, p, maxCells)
		}
	}
	return parts
}

// bisect cuts a patch of two cells or more across its principal axis. Cells are
// counted in slices one cell thick across the axis; the cut lies between two
// slices, at the place with the fewest cells beside it among those that leave a
// third of the cells on either side. Among equals the most even cut wins, then
// the first.
func bisect(part []Run) (near, far []Run) {
	ax, ay := principalAxis(part)
	x0, y0 := part[0].X0, part[0].Y
	at := func(x, y int32) int64 { return ax*int64(x-x0) + ay*int64(y-y0) }
	lo, hi := int64(math.MaxInt64), int64(math.MinInt64)
	total := 0
	for _, r := range part {
		a, b := at(r.X0, r.Y), at(r.X1-1, r.Y)
		lo, hi = min(lo, a, b), max(hi, a, b)
		total += r.cells()
	}
	slices := make([]int, (hi-lo)/axisUnit+1)
	for _, r := range part {
		p := at(r.X0, r.Y) - lo
		for range r.cells() {
			slices[p/axisUnit]++
			p += ax
		}
	}
	best, bestWidth, bestOdd, before := -1, 0, 0, 0
	for k := 1; k < len(slices); k++ {
		before += slices[k-1]
		if 3*before < total || 3*(total-before) < total {
			continue
		}
		width, odd := slices[k-1]+slices[k], max(2*before-total, total-2*before)
		if best < 0 || width < bestWidth || width == bestWidth && odd < bestOdd {
			best, bestWidth, bestOdd = k, width, odd
		}
	}
	if best < 0 {
		return halve(part, total/2)
	}
	limit := lo + int64(best)*axisUnit
	for _, r := range part {
		// Along a run the projection never falls: one change at most.
		a, n := at(r.X0, r.Y), int64(r.cells())
		b := a + ax*(n-1)
		switch {
		case a < limit && b < limit:
			near = append(near, r)
		case a >= limit && b >= limit:
			far = append(far, r)
		default:
			u, v := r, r
			u.X1 = r.X0 + int32((limit-a+ax-1)/ax)
			v.X0 = u.X1
			near, far = append(near, u), append(far, v)
		}
	}
	return near, far
}

// halve cuts after n cells in the order of rows: for the rare patch of which
// one slice holds more than a third.
func halve(part []Run, n int) (near, far []Run) {
	for _, r := range part {
		c := r.cells()
		switch {
		case n >= c:
			near = append(near, r)
		case n <= 0:
			far = append(far, r)
		default:
			u, v := r, r
			u.X1 = r.X0 + int32(n)
			v.X0 = u.X1
			near, far = append(near, u), append(far, v)
		}
		n -= c
	}
	return near, far
}

// principalAxis is the direction of the larger second moment of the cells, as
// an integer vector about axisUnit long; ax is never negative.
func principalAxis(part []Run) (ax, ay int64) {
	x0, y0 := part[0].X0, part[0].Y
	var n, sx, sy, sxx, sxy, syy float64
	for _, r := range part {
		c, a, y := float64(r.cells()), float64(r.X0-x0), float64(r.Y-y0)
		// Sums of a, a+1, … and of their squares, over the c cells of the run.
		s1 := c*a + c*(c-1)/2
		s2 := c*a*a + a*c*(c-1) + (c-1)*c*(2*c-1)/6
		n += c
		sx += s1
		sxx += s2
		sy += c * y
		syy += c * y * y
		sxy += s1 * y
	}
	vx, vy, cov := sxx-sx*sx/n, syy-sy*sy/n, sxy-sx*sy/n
	angle := math.Atan2(2*cov, vx-vy) / 2
	return int64(math.Round(axisUnit * math.Cos(angle))), int64(math.Round(axisUnit * math.Sin(angle)))
}
