package compare

import (
	"context"
	"math"
	"slices"

	"rillwood/raster"
)

// ground is what a run's rasters say over one candidate's cells: means, NaN
// where a layer is not there or knows nothing.
type ground map[string]float64

// grounds holds, for the outlines of each run, what each run's rasters say.
type grounds struct {
	overA, overB [2][]ground // [run A, run B][candidate]
	notes        []string
}

// measured are the layers looked at, and how a cell's value is taken.
var measured = []struct {
	layer string
	take  func(v float64) float64
	terms bool // asked only where weights changed
}{
	{"suitability", same, false}, {"bottomland", same, false}, {"evidence", same, false}, {"expected-finds", same, false},
	{"keep-out", func(v float64) float64 {
		if v > 0 {
			return 1
		}
		return 0
	}, false},
	{"access", same, false},
	{"relative-height", lnOf, true}, {"brook-height", lnOf, true}, {"slope", math.Log1p, true}, {"stream-distance", func(v float64) float64 { return v / 1000 }, true},
	{"valley-flatness", same, true},
}

func same(v float64) float64 { return v }

func lnOf(v float64) float64 { return math.Log(max(v, 1e-3)) }

// readGrounds looks at the rasters under the outlines of A, and under those of
// B that entered; at those of the terms of bottomland only where weights changed.
func readGrounds(ctx context.Context, a, b *Run, m *matching, changes []Change, workers int) (*grounds, error) {
	weights := slices.ContainsFunc(changes, func(c Change) bool { return c.bears == onWeights })
	g := &grounds{}
	type job struct {
		layer string
		path  string
		take  func(float64) float64
		spans [][]span
		into  []ground
	}
	var jobs []job
	for k, r := range []*Run{a, b} {
		for side, spans := range [][][]span{m.a, m.b} {
			into := &g.overA[k]
			if side == 1 {
				into = &g.overB[k]
			}
			*into = make([]ground, len(spans))
			for i := range *into {
				(*into)[i] = ground{}
			}
			for _, l := range measured {
				path := r.layer(l.layer)
				if path == "" || l.terms && !weights {
					continue
				}
				wanted := make([][]span, len(spans))
				for i, s := range spans {
					if side == 0 || m.ofB[i] < 0 {
						wanted[i] = s
					}
				}
				jobs = append(jobs, job{l.layer, path, l.take, wanted, *into})
			}
		}
	}
	means, faults := make([][]float64, len(jobs)), make([]error, len(jobs))
	err := raster.Parallel(ctx, max(1, workers), len(jobs), func(_, i int) error {
		means[i], faults[i] = meansOver(ctx, jobs[i].path, m.grid, jobs[i].spans, jobs[i].take)
		return ctx.Err()
	})
	if err != nil {
		return nil, err
	}
	for k, j := range jobs {
		// A layer only helps to explain: without it less is said.
		if faults[k] != nil {
			if note := "not looked at: " + faults[k].Error(); !slices.Contains(g.notes, note) {
				g.notes = append(g.notes, note)
			}
			continue
		}
		for i, v := range means[k] {
			j.into[i][j.layer] = v
		}
	}
	return g, nil
}

// meansOver is the mean of a raster over each list of spans, read in bands of
// rows. Sums go row by row, so that they do not hang on bands or workers.
func meansOver(ctx context.Context, path string, grid raster.Frame, lists [][]span, take func(float64) float64) ([]float64, error) {
	type piece struct {
		span
		list int
	}
	box, err := boxOf(path, grid)
	if err != nil {
		return nil, err
	}
	var pieces []piece
	for i, l := range lists {
		for _, s := range l {
			s.x0, s.x1 = max(s.x0, box.x0), min(s.x1, box.x1)
			if s.x0 < s.x1 && s.y >= box.y && s.y < box.y1 {
				pieces = append(pieces, piece{s, i})
			}
		}
	}
	slices.SortStableFunc(pieces, func(p, q piece) int { return p.y - q.y })
	sum, n := make([]float64, len(lists)), make([]int, len(lists))
	for len(pieces) > 0 {
		y0 := pieces[0].y
		end, x0, x1, y1 := 0, pieces[0].x0, pieces[0].x1, y0
		for end < len(pieces) && pieces[end].y < y0+bandRows {
			x0, x1, y1 = min(x0, pieces[end].x0), max(x1, pieces[end].x1), pieces[end].y+1
			end++
		}
		w := x1 - x0
		cells, err := readBand(ctx, path, grid.Cut(x0, y0, w, y1-y0))
		if err != nil {
			return nil, err
		}
		for _, p := range pieces[:end] {
			for _, v := range cells[(p.y-y0)*w+p.x0-x0 : (p.y-y0)*w+p.x1-x0] {
				if v == v {
					sum[p.list] += take(float64(v))
					n[p.list]++
				}
			}
		}
		pieces = pieces[end:]
	}
	for i := range sum {
		sum[i] /= float64(n[i]) // 0/0 is NaN: nothing is known there
	}
	return sum, nil
}

// cellBox is a window of the grid that may lie outside it.
type cellBox struct{ x0, y, x1, y1 int }

// boxOf is the part of the grid's plane that a raster covers: candidates that
// lie far away must not make a band as wide as the way to them.
func boxOf(path string, grid raster.Frame) (cellBox, error) {
	info, err := raster.Describe(path, "")
	if err != nil {
		return cellBox{}, err
	}
	b, err := raster.TransformBounds(info.Bounds(), info.CRS.WKT, grid.WKT)
	if err != nil {
		return cellBox{}, err
	}
	cell := func(v float64) int { return int(max(-1e9, min(1e9, math.Floor(v/grid.Cell)))) }
	return cellBox{cell(b[0]-grid.X0) - 1, cell(grid.Y0-b[3]) - 1, cell(b[2]-grid.X0) + 2, cell(grid.Y0-b[1]) + 2}, nil
}

// at is a value of the ground, NaN where it is not known.
func (g ground) at(layer string) float64 {
	if v, ok := g[layer]; ok {
		return v
	}
	return math.NaN()
}
