package approach

import (
	"context"
	"fmt"
	"slices"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

const chunk = 4096 // segments or ways handed to a worker at a time

// joints are what makes one network of the ways: new vertices, and links.
type joints struct {
	splits []split
	links  []link
}

func (j *joints) append(more joints) {
	j.splits = append(j.splits, more.splits...)
	j.links = append(j.links, more.links...)
}

// chunks calls f for stretches of 0 … n−1 on several workers and joins what
// they give in order.
func chunks(ctx context.Context, workers, n int, f func(from, to int) joints) (joints, error) {
	out := make([]joints, (n+chunk-1)/chunk)
	err := raster.Parallel(ctx, workers, len(out), func(_, i int) error {
		out[i] = f(i*chunk, min((i+1)*chunk, n))
		return nil
	})
	var all joints
	for _, j := range out {
		all.append(j)
	}
	return all, err
}

// level finds where ways meet at grade: each pair of segments that cross or
// touch, unless one is a bridge. Shared vertices need no mention, since places
// with the same coordinates are one vertex.
func (l *lines) level(ctx context.Context, workers int) (joints, error) {
	return chunks(ctx, workers, len(l.segs), func(from, to int) joints {
		var out joints
		for i := from; i < to; i++ {
			s := l.segs[i]
			if l.ways[s.way].Bridge {
				continue
			}
			box := orb.MultiPoint{s.a, s.b}.Bound().Pad(touchM)
			l.tree.Search(box.Min, box.Max, func(_, _ [2]float64, j int32) bool {
				o := l.segs[j]
				if int(j) <= i || l.ways[o.way].Bridge {
					return true
				}
				hits, n := meet(s.a, s.b, o.a, o.b)
				for _, h := range hits[:n] {
					out.add(split{int32(i), h.ta, h.at}, s, split{j, h.tb, h.at}, o)
				}
				return true
			})
		}
		return out
	})
}

// add records one meeting of two segments. When it is an end of both and their
// coordinates differ by a hair, a link makes them one.
func (j *joints) add(p split, ps segment, q split, qs segment) {
	switch {
	case p.inside() || q.inside():
		for _, s := range [2]split{p, q} {
			if s.inside() {
				j.splits = append(j.splits, s)
			}
		}
		// The meeting place has the coordinates of the end, which is a vertex.
	default:
		a, b := ps.end(p.t), qs.end(q.t)
		if a != b {
			j.links = append(j.links, link{a: a, b: b, start: -1})
		}
	}
}

func (s segment) end(t float64) orb.Point {
	if t == 0 {
		return s.a
	}
	return s.b
}

// loose joins ends of ways that share no vertex with another way to the nearest
// place of each other way within snapM, unless water or closed ground lies
// between. It gives how many could not be joined for that reason.
func (l *lines) loose(ctx context.Context, g Ground, snapM float64, workers int) (joints, int, error) {
	shared := make(map[orb.Point]int32, len(l.segs))
	for _, w := range l.ways {
		for _, p := range w.Line {
			shared[p]++
		}
	}
	parts := make([]int, len(l.ways)/chunk+1)
	all, err := chunks(ctx, workers, len(l.ways), func(from, to int) joints {
		var out joints
		for w := from; w < to; w++ {
			for _, p := range l.ends(int32(w)) {
				if shared[p] > 1 {
					continue
				}
				for _, o := range l.near(p, snapM, int32(w)) {
					if o.dist <= touchM && !l.ways[o.way].Bridge && !l.ways[w].Bridge {
						continue // joined at grade
					}
					if water, closed := g.Blocked(p, o.at); water || closed {
						parts[from/chunk]++
						continue
					}
					if o.inside() {
						out.splits = append(out.splits, o.split)
					}
					if o.at != p {
						out.links = append(out.links, link{a: p, b: o.at, start: -1})
					}
				}
			}
		}
		return out
	})
	refused := 0
	for _, n := range parts {
		refused += n
	}
	return all, refused, err
}

// park joins starts to the network: to each way within snapM, else straight
// over the ground to the nearest within startReachM that can be reached dry.
func (l *lines) park(ctx context.Context, starts []Start, g Ground, snapM float64, workers int) (joints, []string, error) {
	all, err := chunks(ctx, workers, len(starts), func(from, to int) joints {
		var out joints
		for i := from; i < to; i++ {
			p := starts[i].Point
			if !finite(p) {
				continue
			}
			joined := false
			for _, o := range l.near(p, startReachM) {
				if o.dist > snapM && joined {
					break
				}
				if water, closed := g.Blocked(p, o.at); water || closed {
					continue
				}
				if o.inside() {
					out.splits = append(out.splits, o.split)
				}
				out.links = append(out.links, link{a: p, b: o.at, start: int32(i), off: o.dist > snapM, bridged: l.bridged(p, o, snapM)})
				joined = true
			}
		}
		return out
	})
	var warnings []string
	joined := make([]bool, len(starts))
	for _, k := range all.links {
		joined[k.start] = true
	}
	alone, first := 0, -1
	for i, s := range starts {
		switch {
		case !finite(s.Point):
			warnings = append(warnings, fmt.Sprintf("start %d (%q) is at %g, %g, which is no place: left out", i+1, s.Name, s.Point[0], s.Point[1]))
		case !joined[i]:
			if alone++; first < 0 {
				first = i
			}
		}
	}
	if alone > 0 && len(l.ways) > 0 {
		warnings = append(warnings, fmt.Sprintf("%d of %d starts have no path or road within %d m on dry, open ground and serve by straight legs only, the first: start %d (%q)",
			alone, len(starts), startReachM, first+1, starts[first].Name))
	}
	return all, warnings, err
}

// bridged says whether a start's link to an offer crosses no stream; see link.
func (l *lines) bridged(p orb.Point, o offer, snapM float64) bool {
	way := l.ways[o.way]
	if o.dist <= snapM {
		return way.Bridge || way.Kind == Road
	}
	if !way.Bridge {
		return false
	}
	for i := 1; i < len(way.Line); i++ {
		if _, d2 := onto(p, way.Line[i-1], way.Line[i]); d2 <= touchM*touchM {
			return true
		}
	}
	return false
}

// settle sorts the new vertices and drops those named twice.
func (j *joints) settle() {
	slices.SortFunc(j.splits, compareSplits)
	j.splits = slices.Compact(j.splits)
}
