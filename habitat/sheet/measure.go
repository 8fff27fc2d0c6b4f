package sheet

import (
	"math"
	"strings"
)

// The width of letters, hundredths of their size, from the space to the tilde:
// of DejaVu Sans and its bold (read from the fonts), the widest face in which
// a sheet is likely to be set. What fits in it fits in the others.
var (
	letters = [95]uint8{32, 40, 46, 84, 64, 95, 78, 28, 39, 39, 50, 84, 32, 36, 32, 34,
		64, 64, 64, 64, 64, 64, 64, 64, 64, 64, 34, 34, 84, 84, 84, 53,
		100, 68, 69, 70, 77, 63, 58, 78, 75, 30, 30, 66, 56, 86, 75, 79,
		60, 79, 70, 64, 61, 73, 68, 99, 69, 61, 69, 39, 34, 39, 84, 50,
		50, 61, 64, 55, 64, 62, 35, 64, 63, 28, 28, 58, 28, 97, 63, 61,
		64, 64, 41, 52, 39, 63, 59, 82, 59, 59, 53, 64, 34, 64, 84}
	boldLetters = [95]uint8{35, 46, 52, 84, 70, 100, 87, 31, 46, 46, 52, 84, 38, 42, 38, 37,
		70, 70, 70, 70, 70, 70, 70, 70, 70, 70, 40, 40, 84, 84, 84, 58,
		100, 77, 76, 73, 83, 68, 68, 82, 84, 37, 37, 78, 64, 100, 84, 85,
		73, 85, 77, 72, 68, 81, 77, 110, 77, 72, 73, 46, 37, 46, 84, 50,
		50, 68, 72, 59, 72, 68, 44, 72, 71, 34, 34, 67, 34, 104, 71, 69,
		72, 72, 49, 60, 48, 71, 65, 92, 65, 65, 58, 71, 37, 71, 84}
)

// pointMM is a typographic point in millimetres: 72 to the inch of 25.4 mm.
const pointMM = 25.4 / 72

// piece is a part of a paragraph in one face.
type piece struct {
	text string
	bold bool
}

// wide is the width of a text at so many points, millimetres.
func (p piece) wide(points float64) float64 {
	table := &letters
	if p.bold {
		table = &boldLetters
	}
	sum := 0
	for _, r := range p.text {
		switch {
		case r >= ' ' && r <= '~':
			sum += int(table[r-' '])
		default: // foreign letters, dashes, the ellipsis
			sum += 100
		}
	}
	return float64(sum) / 100 * points * pointMM
}

// wrapped is how many lines a paragraph takes: words are set one after the
// other while they fit; one too long for a line is broken.
func wrapped(lineMM, points float64, pieces ...piece) int {
	n, at := 0, math.Inf(1)
	for _, p := range pieces {
		space := piece{" ", p.bold}.wide(points)
		for word := range strings.FieldsSeq(p.text) {
			w := piece{word, p.bold}.wide(points)
			if at+space+w > lineMM {
				n++
				at = 0
				if w > lineMM {
					more := int(w / lineMM)
					n += more
					w -= float64(more) * lineMM
				}
			} else {
				at += space
			}
			at += w
		}
	}
	return n
}

// columns is the height of items in two columns that are filled in turn, each
// item whole, the shorter height that does.
func columns(heights []float64) float64 {
	total := 0.0
	for _, h := range heights {
		total += h
	}
	least, left := total, 0.0
	for _, h := range heights {
		left += h
		least = min(least, max(left, total-left))
	}
	return least
}
