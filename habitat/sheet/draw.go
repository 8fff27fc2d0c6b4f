package sheet

import (
	"context"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"rillwood/habitat/results"
	"rillwood/vector"
)

// drawing holds what the maps of all sheets share, in the frame's grid.
type drawing struct {
	run     *results.Run
	to      *vector.Transformer // from WGS 84
	from    *vector.Transformer // to WGS 84
	streams []gridLine
	shapes  map[int]orb.MultiPolygon
}

type gridLine struct {
	name  string
	order int
	line  orb.MultiLineString
	box   orb.Bound
}

func newDrawing(run *results.Run) (*drawing, error) {
	d := &drawing{run: run, shapes: map[int]orb.MultiPolygon{}}
	var err error
	if d.to, err = vector.FromWGS84(run.Frame.WKT); err != nil {
		return nil, err
	}
	if d.from, err = vector.ToWGS84(run.Frame.WKT); err != nil {
		return nil, err
	}
	for _, s := range run.Streams {
		g, err := d.to.Geometry(s.Line)
		if err != nil {
			return nil, fmt.Errorf("streams: %w", err)
		}
		l := g.(orb.MultiLineString)
		d.streams = append(d.streams, gridLine{short(s.Name, 40), s.Order, l, l.Bound()})
	}
	slices.SortStableFunc(d.streams, func(a, b gridLine) int { return b.order - a.order })
	for _, c := range run.Candidates {
		g, err := d.to.Geometry(c.Shape)
		if err != nil {
			return nil, fmt.Errorf("candidate %d: %w", c.Rank, err)
		}
		d.shapes[c.Rank] = g.(orb.MultiPolygon)
	}
	return d, nil
}

// sketch is one map while it is drawn.
type sketch struct {
	*drawing
	*strings.Builder
	c      *results.Candidate
	v      view
	labels *labels
	key    []keyEntry
}

// draw makes the map of one candidate, its ground so many units high.
func (d *drawing) draw(ctx context.Context, c *results.Candidate, high float64) (template.HTML, error) {
	var b strings.Builder
	s := &sketch{drawing: d, Builder: &b, c: c, v: viewOf(d.shapes[c.Rank].Bound(), c.Walk, high)}
	s.labels = newLabels(&b, mapWide, high)
	fmt.Fprintf(s, `<svg viewBox="0 0 %s %s" role="img" aria-label="Map of patch %d, north up" xmlns="http://www.w3.org/2000/svg">`, num(drawingWide), num(marginTop+high+marginBottom), c.Rank)
	fmt.Fprintf(s, `<svg class="ground" x="%s" y="%s" width="%s" height="%s" viewBox="0 0 %s %s">`, num(marginLeft), num(marginTop), num(mapWide), num(high), num(mapWide), num(high))
	if err := s.ground(ctx); err != nil {
		return "", err
	}
	if err := s.rights(ctx); err != nil {
		return "", err
	}
	s.drawStreams()
	s.neighbours()
	s.patch()
	s.northArrow()
	if err := s.way(); err != nil {
		return "", err
	}
	s.names()
	s.WriteString("</svg>")
	if err := s.margin(); err != nil {
		return "", err
	}
	s.WriteString("</svg>")
	return template.HTML(b.String()), nil
}

func (s *sketch) ground(ctx context.Context) error {
	g, err := s.run.Crop(ctx, s.v.bound)
	if err != nil || g == nil {
		return err
	}
	uri, err := groundImage(g)
	if err != nil {
		return err
	}
	x0, y0 := s.v.at(orb.Point{g.Bound.Min[0], g.Bound.Max[1]})
	x1, y1 := s.v.at(orb.Point{g.Bound.Max[0], g.Bound.Min[1]})
	fmt.Fprintf(s, `<image x="%s" y="%s" width="%s" height="%s" preserveAspectRatio="none" href="%s"/>`, num(x0), num(y0), num(x1-x0), num(y1-y0), uri)
	return nil
}

// streamBytes is how much of a sheet its streams may take. Larger streams come
// first; where brooks crowd, the least are left out.
const streamBytes = 12_000

func (s *sketch) drawStreams() {
	near := s.v.near()
	most := s.Len() + streamBytes
	for _, l := range s.streams {
		if l.box.Intersects(near) && s.Len() < most {
			look := `class="stream" fill="none" stroke="#20609f" stroke-linecap="round" stroke-linejoin="round" stroke-width="` + num(4+2*float64(min(l.order, 6))) + `"`
			s.WriteString(s.v.path(l.line, look))
		}
	}
}

func (s *sketch) neighbours() {
	seen := false
	for _, o := range s.run.Candidates {
		if o.Rank == s.c.Rank {
			continue
		}
		outline := s.v.area(s.shapes[o.Rank], `class="neighbour" fill="none" stroke="#555" stroke-width="4" stroke-dasharray="4 7"`)
		if outline == "" {
			continue
		}
		s.WriteString(outline)
		seen = true
		if x, y := s.v.at(orb.Point{o.East, o.North}); s.labels.room.Contains(orb.Point{x, y}) {
			s.labels.write(fmt.Sprint(o.Rank), 34, `fill="#444"`, []orb.Point{{x, y}}, true)
		}
	}
	if seen {
		s.key = append(s.key, keyEntry{`<path d="M0 0H44" stroke="#555" stroke-width="4" stroke-dasharray="4 7"/>`, 44, "another patch"})
	}
}

// patch draws the outline, black on white so that it stands out of any ground,
// and a cross at its middle.
func (s *sketch) patch() {
	shape := s.shapes[s.c.Rank]
	s.WriteString(s.v.area(shape, `fill="none" stroke="#fff" stroke-width="13" stroke-linejoin="round"`))
	s.WriteString(s.v.area(shape, `class="patch" fill="none" stroke="#000" stroke-width="7" stroke-linejoin="round"`))
	x, y := s.v.at(orb.Point{s.c.East, s.c.North})
	cross := fmt.Sprintf(`d="M%s %sh32M%s %sv32"`, num(x-16), num(y), num(x), num(y-16))
	fmt.Fprintf(s, `<path %s stroke="#fff" stroke-width="12"/><path class="middle" %s stroke="#000" stroke-width="5"/>`, cross, cross)
	s.labels.take(x, y, 36, 36)
	s.key = append([]keyEntry{{`<path d="M0 0H44" stroke="#000" stroke-width="7"/>`, 44, "this patch"}, {`<path d="M0 0H28M14 -14V14" stroke="#000" stroke-width="5"/>`, 28, "its middle"}}, s.key...)
}

// names writes the streams' names where there is room, rather beside the patch
// than in it.
func (s *sketch) names() {
	const size = 33
	box := s.shapes[s.c.Rank].Bound()
	done := map[string]bool{}
	for _, l := range s.streams {
		if l.name == "" || done[l.name] || !l.box.Intersects(s.v.bound) {
			continue
		}
		var outside, inside []orb.Point
		for _, line := range l.line {
			for _, p := range along(line, 30/s.v.scale) {
				if !s.v.bound.Contains(p) {
					continue
				}
				x, y := s.v.at(p)
				for _, dy := range []float64{-30, 30} {
					if box.Contains(p) {
						inside = append(inside, orb.Point{x, y + dy})
					} else {
						outside = append(outside, orb.Point{x, y + dy})
					}
				}
			}
		}
		done[l.name] = s.labels.write(l.name, size, `font-style="italic" fill="#0b2f57"`, append(outside, inside...), false)
	}
}
