package terrain

// Steepest-descent directions (D8): O'Callaghan J.F., Mark D.M. (1984) The
// extraction of drainage networks from digital elevation data, CVGIP
// 28(3):323–344; Jenson S.K., Domingue J.O. (1988) PE&RS 54(11):1593–1600.

// d8 gives the direction of every cell of a w×h window from z, which carries
// one more cell on each side (stride w+2): the neighbour with the largest drop
// per distance, Out for a cell beside missing ground with no lower
// neighbour, Pit for any other cell without one, NoData for NaN.
func d8(z []float32, w, h int, dir []uint8) {
	s := w + 2
	for y := range h {
		up := z[y*s : y*s+w+2]
		mid := z[(y+1)*s : (y+1)*s+w+2]
		down := z[(y+2)*s : (y+2)*s+w+2]
		out := dir[y*w : y*w+w]
		for x := range out {
			c := mid[x+1]
			if c != c {
				out[x] = NoData
				continue
			}
			// The diagonals' drops are scaled once, after the best of each
			// kind is known; NaN loses every comparison.
			e, se, so, sw := mid[x+2], down[x+2], down[x+1], down[x]
			we, nw, no, ne := mid[x], up[x], up[x+1], up[x+2]
			best, code := float32(0), uint8(Pit)
			if g := c - e; g > best {
				best, code = g, 0
			}
			if g := (c - se) * invSqrt2; g > best {
				best, code = g, 1
			}
			if g := c - so; g > best {
				best, code = g, 2
			}
			if g := (c - sw) * invSqrt2; g > best {
				best, code = g, 3
			}
			if g := c - we; g > best {
				best, code = g, 4
			}
			if g := (c - nw) * invSqrt2; g > best {
				best, code = g, 5
			}
			if g := c - no; g > best {
				best, code = g, 6
			}
			if g := (c - ne) * invSqrt2; g > best {
				code = 7
			}
			if code == Pit {
				if sum := e + se + so + sw + we + nw + no + ne; sum != sum {
					code = Out
				}
			}
			out[x] = code
		}
	}
}
