package region

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// flood labels cells by flood fill, numbered by first appearance from 1.
func flood(l labels, diagonal bool) labels {
	out := labels{w: l.w, h: l.h, cell: make([]int, len(l.cell))}
	n := 0
	for i, v := range l.cell {
		if v == 0 || out.cell[i] != 0 {
			continue
		}
		n++
		out.cell[i] = n
		todo := []int{i}
		for len(todo) > 0 {
			k := todo[len(todo)-1]
			todo = todo[:len(todo)-1]
			for dy := -1; dy <= 1; dy++ {
				for dx := -1; dx <= 1; dx++ {
					if !diagonal && dx != 0 && dy != 0 {
						continue
					}
					x, y := k%l.w+dx, k/l.w+dy
					if l.at(x, y) == v && out.cell[y*l.w+x] == 0 {
						out.cell[y*l.w+x] = n
						todo = append(todo, y*l.w+x)
					}
				}
			}
		}
	}
	return out
}

func TestLabelAgainstFloodFill(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := anyLabels(24, 4).Draw(t, "raster")
		runs := l.runs()
		if rapid.Bool().Draw(t, "cells") { // one run a cell: neighbours in a row join too
			var single []Run
			for _, r := range runs {
				for x := r.X0; x < r.X1; x++ {
					single = append(single, Run{Y: r.Y, X0: x, X1: x + 1, Group: r.Group})
				}
			}
			runs = single
		}
		for reach, diagonal := range []bool{false, true} {
			want := flood(l, diagonal)
			label, n := components(runs, int32(reach))
			if most := slices.Max(want.cell); n != most {
				t.Fatalf("diagonal %v: %d components, want %d%s", diagonal, n, most, l.picture())
			}
			for i, r := range runs {
				for x := r.X0; x < r.X1; x++ {
					if got, want := int(label[i])+1, want.at(int(x), int(r.Y)); got != want {
						t.Fatalf("diagonal %v: cell %d,%d in component %d, want %d%s", diagonal, x, r.Y, got, want, l.picture())
					}
				}
			}
		}
	})
}

func TestLabelNothing(t *testing.T) {
	if label, n := Label(nil); len(label) != 0 || n != 0 {
		t.Errorf("no runs: %v, %d components", label, n)
	}
}
