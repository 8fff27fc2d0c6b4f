package region

import (
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// labels is a small raster of patch numbers for tests, 0 for none.
type labels struct {
	w, h int
	cell []int
}

// drawn reads a picture: '.' is no patch, 'a' is patch 1, 'b' patch 2 …, '#' is patch 1.
func drawn(picture string) labels {
	rows := strings.Fields(picture)
	l := labels{w: len(rows[0]), h: len(rows)}
	for _, r := range rows {
		for _, c := range r {
			switch c {
			case '.':
				l.cell = append(l.cell, 0)
			case '#':
				l.cell = append(l.cell, 1)
			default:
				l.cell = append(l.cell, int(c-'a')+1)
			}
		}
	}
	return l
}

// picture is the inverse of drawn.
func (l labels) picture() string {
	var b strings.Builder
	for i, v := range l.cell {
		if i%l.w == 0 {
			b.WriteByte('\n')
		}
		if v == 0 {
			b.WriteByte('.')
		} else {
			b.WriteByte(byte('a' + (v-1)%26))
		}
	}
	return b.String()
}

func (l labels) at(x, y int) int {
	if x < 0 || y < 0 || x >= l.w || y >= l.h {
		return 0
	}
	return l.cell[y*l.w+x]
}

// runs gives the labelled cells as runs, with the label as group.
func (l labels) runs() []Run {
	var runs []Run
	for y := range l.h {
		for x := 0; x < l.w; x++ {
			v := l.at(x, y)
			if v == 0 {
				continue
			}
			x0 := x
			for l.at(x+1, y) == v {
				x++
			}
			runs = append(runs, Run{Y: int32(y), X0: int32(x0), X1: int32(x + 1), Group: int32(v)})
		}
	}
	return runs
}

// patches makes one patch of each label, touching or not.
func (l labels) patches() []Patch {
	n := 0
	for _, v := range l.cell {
		n = max(n, v)
	}
	out := make([]Patch, n)
	for i := range out {
		out[i].ID = i
	}
	for _, r := range l.runs() {
		out[r.Group-1].Runs = append(out[r.Group-1].Runs, r)
	}
	return out
}

// paint is the inverse of patches.
func paint(w, h int, patches []Patch) labels {
	l := labels{w: w, h: h, cell: make([]int, w*h)}
	for i, p := range patches {
		for _, r := range p.Runs {
			for x := r.X0; x < r.X1; x++ {
				if l.cell[int(r.Y)*w+int(x)] != 0 {
					panic("patches overlap")
				}
				l.cell[int(r.Y)*w+int(x)] = i + 1
			}
		}
	}
	return l
}

// anyLabels draws rasters of several kinds: noise, smooth blobs, nested boxes, checkerboards.
func anyLabels(maxSide, maxLabel int) *rapid.Generator[labels] {
	return rapid.Custom(func(t *rapid.T) labels {
		l := labels{w: rapid.IntRange(1, maxSide).Draw(t, "w"), h: rapid.IntRange(1, maxSide).Draw(t, "h")}
		l.cell = make([]int, l.w*l.h)
		n := rapid.IntRange(1, maxLabel).Draw(t, "labels")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		switch rapid.IntRange(0, 3).Draw(t, "kind") {
		case 0: // noise
			for i := range l.cell {
				l.cell[i] = rng.IntN(n + 1)
			}
		case 1: // blobs: noise, smoothed by taking a neighbour's value
			for i := range l.cell {
				l.cell[i] = rng.IntN(n + 1)
			}
			for range 6 * len(l.cell) {
				x, y := rng.IntN(l.w), rng.IntN(l.h)
				u, v := x+rng.IntN(3)-1, y+rng.IntN(3)-1
				if u >= 0 && v >= 0 && u < l.w && v < l.h {
					l.cell[y*l.w+x] = l.cell[v*l.w+u]
				}
			}
		case 2: // boxes, one over the other
			for range 1 + rng.IntN(8) {
				x, y := rng.IntN(l.w), rng.IntN(l.h)
				u, v := x+rng.IntN(l.w-x)+1, y+rng.IntN(l.h-y)+1
				c := rng.IntN(n + 1)
				for yy := y; yy < v; yy++ {
					for xx := x; xx < u; xx++ {
						l.cell[yy*l.w+xx] = c
					}
				}
			}
		case 3: // checkerboard with some squares turned
			for i := range l.cell {
				l.cell[i] = (i%l.w + i/l.w) % 2 * (1 + rng.IntN(n))
				if rng.IntN(12) == 0 {
					l.cell[i] = 1
				}
			}
		}
		return l
	})
}

// python finds a Python that can import module, or skips the test.
func python(t *testing.T, module string) string {
	t.Helper()
	for _, p := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(p, "-c", "import "+module).Run() == nil {
			return p
		}
	}
	t.Skipf("no python3 with %s here: the comparison with it is not run", module)
	return ""
}
