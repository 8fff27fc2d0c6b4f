package sheet

import (
	"context"
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"rillwood/habitat/results"
	"rillwood/vector"
)

// Size of a sheet's map in units of its drawing, a tenth of a millimetre.
const (
	mapWide = 1240.0
	mapHigh = 900.0
)

// leastExtent is the least ground a sheet's map shows, metres from west to east.
const leastExtent = 700.0

// farEntry is how far beyond the patch the entry may lie to be drawn; a farther
// one is pointed at from the edge.
const farEntry = 1500.0

// drawing holds what the maps of all sheets share, in the frame's grid.
type drawing struct {
	run     *results.Run
	to      *vector.Transformer
	streams []gridLine
	shapes  map[int]orb.MultiPolygon
}

type gridLine struct {
	name  string
	order int
	line  orb.MultiLineString
	box   orb.Bound
}

func newDrawing(run *results.Run, to *vector.Transformer) (*drawing, error) {
	d := &drawing{run: run, to: to, shapes: map[int]orb.MultiPolygon{}}
	for _, s := range run.Streams {
		g, err := to.Geometry(s.Line)
		if err != nil {
			return nil, fmt.Errorf("streams: %w", err)
		}
		l := g.(orb.MultiLineString)
		d.streams = append(d.streams, gridLine{s.Name, s.Order, l, l.Bound()})
	}
	for _, c := range run.Candidates {
		g, err := to.Geometry(c.Shape)
		if err != nil {
			return nil, fmt.Errorf("candidate %d: %w", c.Rank, err)
		}
		d.shapes[c.Rank] = g.(orb.MultiPolygon)
	}
	return d, nil
}

// view is a piece of ground on the drawing.
type view struct {
	bound orb.Bound // metres
	drawn orb.Bound // what is drawn: more to the sides, for the box on the page may be wider
	scale float64   // units a metre
}

func (v view) at(p orb.Point) (x, y float64) {
	return (p[0] - v.bound.Min[0]) * v.scale, (v.bound.Max[1] - p[1]) * v.scale
}

// frame chooses the ground shown: the patch, its entry when near, a margin.
func (d *drawing) frame(c *results.Candidate) view {
	b := d.shapes[c.Rank].Bound()
	if w := c.Walk; w != nil && w.OK {
		entry := orb.Point{w.EntryEast, w.EntryNorth}
		if b.Pad(farEntry).Contains(entry) {
			b = b.Extend(entry)
		}
	}
	wide, high := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
	wide = max(leastExtent, 1.25*wide, 1.25*high*mapWide/mapHigh)
	mid := b.Center()
	v := view{scale: mapWide / wide}
	high = mapHigh / v.scale
	v.bound = orb.Bound{Min: orb.Point{mid[0] - wide/2, mid[1] - high/2}, Max: orb.Point{mid[0] + wide/2, mid[1] + high/2}}
	v.drawn = orb.Bound{Min: orb.Point{v.bound.Min[0] - wide/2, v.bound.Min[1]}, Max: orb.Point{v.bound.Max[0] + wide/2, v.bound.Max[1]}}
	return v
}

func num(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10+0, 'f', -1, 64) }

// draw makes the map of one candidate, and says in words how far the grid's
// north is from true north there.
func (d *drawing) draw(ctx context.Context, c *results.Candidate) (template.HTML, string, error) {
	v := d.frame(c)
	var s strings.Builder
	fmt.Fprintf(&s, `<svg viewBox="0 0 %s %s" role="img" aria-label="Map of patch %d" xmlns="http://www.w3.org/2000/svg" font-family="system-ui,sans-serif">`, num(mapWide), num(mapHigh), c.Rank)
	if err := d.ground(ctx, &s, v); err != nil {
		return "", "", err
	}
	d.drawStreams(&s, v)
	for _, o := range d.run.Candidates {
		if o.Rank != c.Rank {
			d.neighbour(&s, v, &o)
		}
	}
	s.WriteString(path(v, rings(d.shapes[c.Rank]), true, `fill="none" stroke="#fff" stroke-width="13" stroke-linejoin="round"`))
	s.WriteString(path(v, rings(d.shapes[c.Rank]), true, `class="patch" fill="none" stroke="#000" stroke-width="7" stroke-linejoin="round"`))
	if err := d.way(&s, v, c); err != nil {
		return "", "", err
	}
	ticks(&s, v)
	scaleBar(&s, v)
	northArrow(&s)
	s.WriteString("</svg>")
	turn, err := d.convergence(c)
	return template.HTML(s.String()), turn, err
}

func (d *drawing) ground(ctx context.Context, s *strings.Builder, v view) error {
	g, err := d.run.Crop(ctx, v.drawn)
	if err != nil || g == nil {
		return err
	}
	uri, err := groundImage(g)
	if err != nil {
		return err
	}
	x0, y0 := v.at(orb.Point{g.Bound.Min[0], g.Bound.Max[1]})
	x1, y1 := v.at(orb.Point{g.Bound.Max[0], g.Bound.Min[1]})
	fmt.Fprintf(s, `<image x="%s" y="%s" width="%s" height="%s" preserveAspectRatio="none" href="%s"/>`, num(x0), num(y0), num(x1-x0), num(y1-y0), uri)
	return nil
}

func (d *drawing) drawStreams(s *strings.Builder, v view) {
	named := map[string]bool{}
	for _, l := range d.streams {
		if !l.box.Intersects(v.drawn) {
			continue
		}
		width := num(4 + 2.5*float64(min(l.order, 6)))
		for _, line := range l.line {
			s.WriteString(path(v, []orb.LineString{line}, false, `fill="none" stroke="#20609f" stroke-width="`+width+`" stroke-linecap="round"`))
			if l.name != "" && !named[l.name] {
				named[l.name] = label(s, v, line, l.name)
			}
		}
	}
}

// label writes a stream's name where its line first runs well inside the map.
func label(s *strings.Builder, v view, line orb.LineString, name string) bool {
	inner := v.bound.Pad(-0.12 * (v.bound.Max[1] - v.bound.Min[1]))
	for _, p := range line {
		if !inner.Contains(p) {
			continue
		}
		x, y := v.at(p)
		anchor := "start"
		if x > mapWide*0.7 {
			anchor = "end"
		}
		fmt.Fprintf(s, `<text x="%s" y="%s" text-anchor="%s" font-size="34" font-style="italic" fill="#0b2f57" stroke="#fff" stroke-width="8" paint-order="stroke">%s</text>`, num(x), num(y-12), anchor, html.EscapeString(results.Clip(name, 40)))
		return true
	}
	return false
}

func (d *drawing) neighbour(s *strings.Builder, v view, o *results.Candidate) {
	shape := d.shapes[o.Rank]
	if !shape.Bound().Intersects(v.drawn) {
		return
	}
	s.WriteString(path(v, rings(shape), true, `fill="none" stroke="#555" stroke-width="4" stroke-dasharray="14 8"`))
	if p := (orb.Point{o.East, o.North}); v.bound.Pad(-60 / v.scale).Contains(p) {
		x, y := v.at(p)
		fmt.Fprintf(s, `<text x="%s" y="%s" text-anchor="middle" font-size="36" fill="#444" stroke="#fff" stroke-width="7" paint-order="stroke">%d</text>`, num(x), num(y+12), o.Rank)
	}
}

func (d *drawing) way(s *strings.Builder, v view, c *results.Candidate) error {
	w := c.Walk
	if w == nil || !w.OK {
		return nil
	}
	if line := d.run.Ways[c.Rank]; len(line) > 1 {
		g, err := d.to.Geometry(line)
		if err != nil {
			return err
		}
		s.WriteString(path(v, []orb.LineString{g.(orb.LineString)}, false, `fill="none" stroke="#fff" stroke-width="12"`))
		s.WriteString(path(v, []orb.LineString{g.(orb.LineString)}, false, `class="way" fill="none" stroke="#000" stroke-width="6" stroke-dasharray="20 13"`))
		start := g.(orb.LineString)[0]
		if v.bound.Contains(start) {
			x, y := v.at(start)
			fmt.Fprintf(s, `<circle cx="%s" cy="%s" r="20" fill="#000"/><text x="%s" y="%s" text-anchor="middle" font-size="28" font-weight="700" fill="#fff">S</text>`, num(x), num(y), num(x), num(y+10))
		}
	}
	entry := orb.Point{w.EntryEast, w.EntryNorth}
	x, y := v.at(entry)
	if v.bound.Contains(entry) {
		fmt.Fprintf(s, `<rect class="entry" x="%s" y="%s" width="30" height="30" fill="#fff" stroke="#000" stroke-width="6"/>`, num(x-15), num(y-15))
		return nil
	}
	// Too far to draw: an arrow at the edge says where and how far.
	mid := v.bound.Center()
	mx, my := v.at(mid)
	angle := math.Atan2(y-my, x-mx)
	k := min((mapWide/2-70)/math.Abs(math.Cos(angle)), (mapHigh/2-60)/math.Abs(math.Sin(angle)))
	ax, ay := mx+k*math.Cos(angle), my+k*math.Sin(angle)
	far := math.Hypot(entry[0]-mid[0], entry[1]-mid[1])
	fmt.Fprintf(s, `<g transform="translate(%s %s) rotate(%s)"><path d="M-34 -14H6V-28L40 0L6 28V14H-34Z" fill="#fff" stroke="#000" stroke-width="5"/></g>`, num(ax), num(ay), num(angle*180/math.Pi))
	fmt.Fprintf(s, `<text x="%s" y="%s" text-anchor="middle" font-size="32" stroke="#fff" stroke-width="8" paint-order="stroke">entry %.1f km</text>`, num(min(max(ax, 130), mapWide-130)), num(min(ay+62, mapHigh-20)), far/1000)
	return nil
}

// path is lines as an SVG path; those wholly outside are left out.
func path(v view, lines []orb.LineString, closed bool, look string) string {
	var d strings.Builder
	for _, l := range lines {
		if len(l) < 2 || !l.Bound().Intersects(v.drawn) {
			continue
		}
		last := ""
		for i, p := range l {
			x, y := v.at(p)
			at := num(x) + " " + num(y)
			switch {
			case i == 0:
				d.WriteString("M" + at)
			case at != last:
				d.WriteString("L" + at)
			}
			last = at
		}
		if closed {
			d.WriteString("Z")
		}
	}
	if d.Len() == 0 {
		return ""
	}
	return `<path ` + look + ` d="` + d.String() + `"/>`
}

func rings(m orb.MultiPolygon) (out []orb.LineString) {
	for _, p := range m {
		for _, r := range p {
			out = append(out, orb.LineString(r))
		}
	}
	return out
}
