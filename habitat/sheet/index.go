package sheet

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
)

// index is a map of where the sheets lie: streams, the edge of the map, and
// the numbers of the patches. It is so wide and at most so high, in tenths of
// a millimetre.
func (d *drawing) index(ranks []int, wide, most float64) template.HTML {
	const least = 300.0
	box := d.shapes[ranks[0]].Bound()
	for _, r := range ranks {
		box = box.Union(d.shapes[r].Bound())
	}
	margin := 0.06*max(box.Max[0]-box.Min[0], box.Max[1]-box.Min[1]) + leastExtent/2
	box = box.Pad(margin)
	// The box of the drawing is as flat as the ground, within reason.
	high := min(max(wide*(box.Max[1]-box.Min[1])/(box.Max[0]-box.Min[0]), least), most)
	v := view{high: high, scale: min(wide/(box.Max[0]-box.Min[0]), high/(box.Max[1]-box.Min[1]))}
	mid := box.Center()
	v.bound.Min = orb.Point{mid[0] - wide/v.scale/2, mid[1] - high/v.scale/2}
	v.bound.Max = orb.Point{mid[0] + wide/v.scale/2, mid[1] + high/v.scale/2}

	var b strings.Builder
	l := newLabels(&b, wide, high)
	fmt.Fprintf(&b, `<svg viewBox="0 0 %s %s" role="img" aria-label="Where the patches lie, north up" xmlns="http://www.w3.org/2000/svg">`, num(wide), num(high))
	d.mainStreams(&b, v)
	for _, r := range ranks {
		b.WriteString(v.area(d.shapes[r], `fill="#000" stroke="#000" stroke-width="5"`))
		c := d.run.Candidate(r)
		x, y := v.at(orb.Point{c.East, c.North})
		l.take(x, y, 20, 20)
	}
	m := roundStep(wide / v.scale / 6)
	fmt.Fprintf(&b, `<path class="bar-m" data-m="%g" d="M20 %sv12h%sv-12" fill="none" stroke="#000" stroke-width="5"/>`, m, num(high-40), num(m*v.scale))
	l.take(20+m*v.scale/2, high-30, m*v.scale+30, 50)
	l.write(fmt.Sprintf("%g m", m), 34, "", []orb.Point{{20 + m*v.scale + 90, high - 30}}, true)
	l.write("N ↑", 40, `font-weight="700"`, []orb.Point{{wide - 60, 40}}, true)
	left := 0
	for _, r := range ranks {
		c := d.run.Candidate(r)
		x, y := v.at(orb.Point{c.East, c.North})
		var places []orb.Point
		for _, far := range []float64{42, 62, 90, 130} {
			for _, to := range []orb.Point{{1, 0}, {-1, 0}, {0, -1}, {0, 1}, {.8, -.8}, {-.8, .8}, {.8, .8}, {-.8, -.8}} {
				places = append(places, orb.Point{x + far*to[0], y + far*to[1]})
			}
		}
		if !l.write(fmt.Sprint(r), 38, `font-weight="700"`, places, false) {
			left++
		}
	}
	if left > 0 { // one over another could be read as neither
		l.write(fmt.Sprintf("numbers without room: %d", left), 30, "", []orb.Point{{wide - 240, high - 30}, {240, 30}, {240, high - 80}}, true)
	}
	fmt.Fprintf(&b, `<rect x="2" y="2" width="%s" height="%s" fill="none" stroke="#000" stroke-width="4"/></svg>`, num(wide-4), num(high-4))
	return template.HTML(b.String())
}

// indexBytes is the most that the streams of the index map may take.
const indexBytes = 40_000

// mainStreams draws the streams, the largest first while there is room.
func (d *drawing) mainStreams(b *strings.Builder, v view) {
	order := slices.Clone(d.streams)
	slices.SortStableFunc(order, func(x, y gridLine) int { return y.order - x.order })
	thin := simplify.DouglasPeucker(3 / v.scale) // a third of a millimetre
	end := b.Len() + indexBytes
	for _, s := range order {
		if !s.box.Intersects(v.bound) {
			continue
		}
		piece := v.path(thin.MultiLineString(s.line.Clone()), `fill="none" stroke="#20609f" stroke-width="`+num(3+1.5*float64(min(s.order, 6)))+`"`)
		if b.Len()+len(piece) > end {
			return
		}
		b.WriteString(piece)
	}
}
