package picture

import (
	"encoding/binary"
	"fmt"
)

// face is a TrueType font whose glyphs are used as outlines: filled for
// text, stroked for halos, turned to follow a stream. It reads the tables the
// embedded Go fonts have (Apple TrueType Reference Manual, chapter 6;
// OpenType 1.9 head, hhea, hmtx, maxp, cmap format 4, loca, glyf). The fonts
// are compiled in, so damage is a programmer error and panics.
type face struct {
	unitsPerEm        float64
	ascent, capHeight float64 // em
	metrics           []byte  // hmtx
	longMetrics       int     // glyphs with an advance of their own
	glyf              []byte
	loca              []uint32
	cmap              []byte            // format 4 subtable
	glyphs            map[uint16]*glyph // parsed so far
}

// glyph is an outline in em units, y down, baseline at 0.
type glyph struct {
	advance  float64
	contours [][]curvePoint
}

// curvePoint is a point of a closed quadratic spline; two neighbours off the
// curve have a point on it halfway between them.
type curvePoint struct {
	x, y float64
	on   bool
}

var be = binary.BigEndian

func parseFace(ttf []byte) *face {
	tables := map[string][]byte{}
	for i := range int(be.Uint16(ttf[4:])) {
		rec := ttf[12+16*i:]
		off, n := be.Uint32(rec[8:]), be.Uint32(rec[12:])
		tables[string(rec[:4])] = ttf[off : off+n]
	}
	head, hhea := tables["head"], tables["hhea"]
	f := &face{
		unitsPerEm:  float64(be.Uint16(head[18:])),
		metrics:     tables["hmtx"],
		longMetrics: int(be.Uint16(hhea[34:])),
		glyf:        tables["glyf"],
		glyphs:      map[uint16]*glyph{},
	}
	f.ascent = float64(int16(be.Uint16(hhea[4:]))) / f.unitsPerEm
	n, loca := int(be.Uint16(tables["maxp"][4:])), tables["loca"]
	f.loca = make([]uint32, n+1)
	for i := range f.loca {
		if be.Uint16(head[50:]) == 0 {
			f.loca[i] = 2 * uint32(be.Uint16(loca[2*i:]))
		} else {
			f.loca[i] = be.Uint32(loca[4*i:])
		}
	}
	cmap := tables["cmap"]
	for i := range int(be.Uint16(cmap[2:])) {
		sub := cmap[be.Uint32(cmap[4+8*i+4:]):]
		if be.Uint16(sub) == 4 {
			f.cmap = sub
		}
	}
	if f.cmap == nil {
		panic("picture: embedded font has no format 4 character map")
	}
	for _, c := range f.glyph('H').contours {
		for _, p := range c {
			f.capHeight = max(f.capHeight, -p.y)
		}
	}
	return f
}

// index is the glyph of a character, 0 (the empty box) when there is none.
func (f *face) index(r rune) uint16 {
	if r > 0xffff {
		return 0
	}
	c, n := uint16(r), int(be.Uint16(f.cmap[6:]))
	ends, starts := f.cmap[14:], f.cmap[16+n:]
	deltas, offsets := f.cmap[16+2*n:], f.cmap[16+3*n:]
	for i := 0; i < n; i += 2 {
		if c > be.Uint16(ends[i:]) {
			continue
		}
		start := be.Uint16(starts[i:])
		if c < start {
			return 0
		}
		off := be.Uint16(offsets[i:])
		if off == 0 {
			return c + be.Uint16(deltas[i:])
		}
		g := be.Uint16(offsets[i+int(off)+2*int(c-start):])
		if g == 0 {
			return 0
		}
		return g + be.Uint16(deltas[i:])
	}
	return 0
}

func (f *face) glyph(r rune) *glyph {
	id := f.index(r)
	g, ok := f.glyphs[id]
	if !ok {
		at := 4 * min(int(id), f.longMetrics-1)
		g = &glyph{
			advance:  float64(be.Uint16(f.metrics[at:])) / f.unitsPerEm,
			contours: f.outline(id, 0),
		}
		if r == '-' {
			g.narrow(0.62)
		}
		f.glyphs[id] = g
	}
	return g
}

// narrow squeezes a glyph sideways. The hyphen of the Go fonts is drawn as
// wide as a dash, for program text; in prose it would read as one.
func (g *glyph) narrow(k float64) {
	g.advance *= k
	for _, c := range g.contours {
		for i := range c {
			c[i].x *= k
		}
	}
}

// Flags of simple glyphs and of the parts of compound ones.
const (
	flagOn, flagShortX, flagShortY, flagRepeat, flagSameX, flagSameY = 1, 2, 4, 8, 16, 32

	partWords, partXY, partScale, partMore, partXYScale, partMatrix = 1, 2, 8, 32, 64, 128
)

func (f *face) outline(id uint16, depth int) [][]curvePoint {
	d := f.glyf[f.loca[id]:f.loca[id+1]]
	if len(d) == 0 {
		return nil
	}
	if depth > 4 {
		panic(fmt.Sprintf("picture: glyph %d of the embedded font is nested too deeply", id))
	}
	n := int(int16(be.Uint16(d)))
	if n < 0 {
		return f.compound(d[10:], depth)
	}
	ends := d[10:]
	total := 0
	if n > 0 {
		total = int(be.Uint16(ends[2*(n-1):])) + 1
	}
	b := d[10+2*n+2+int(be.Uint16(d[10+2*n:])):]
	flags := make([]byte, 0, total)
	for len(flags) < total {
		fl := b[0]
		b = b[1:]
		flags = append(flags, fl)
		if fl&flagRepeat != 0 {
			for range b[0] {
				flags = append(flags, fl)
			}
			b = b[1:]
		}
	}
	axis := func(short, same byte) []float64 {
		out, v := make([]float64, total), 0
		for i, fl := range flags {
			switch {
			case fl&short != 0 && fl&same != 0:
				v, b = v+int(b[0]), b[1:]
			case fl&short != 0:
				v, b = v-int(b[0]), b[1:]
			case fl&same == 0:
				v, b = v+int(int16(be.Uint16(b))), b[2:]
			}
			out[i] = float64(v) / f.unitsPerEm
		}
		return out
	}
	xs, ys := axis(flagShortX, flagSameX), axis(flagShortY, flagSameY)
	contours, first := make([][]curvePoint, n), 0
	for i := range contours {
		last := int(be.Uint16(ends[2*i:]))
		for j := first; j <= last; j++ {
			contours[i] = append(contours[i], curvePoint{xs[j], -ys[j], flags[j]&flagOn != 0})
		}
		first = last + 1
	}
	return contours
}

// compound puts together a glyph made of others, such as an accented letter.
func (f *face) compound(d []byte, depth int) [][]curvePoint {
	var all [][]curvePoint
	for {
		fl, id := be.Uint16(d), be.Uint16(d[2:])
		d = d[4:]
		var dx, dy float64
		if fl&partWords != 0 {
			dx, dy, d = float64(int16(be.Uint16(d))), float64(int16(be.Uint16(d[2:]))), d[4:]
		} else {
			dx, dy, d = float64(int8(d[0])), float64(int8(d[1])), d[2:]
		}
		if fl&partXY == 0 {
			dx, dy = 0, 0 // parts pinned point to point do not occur in these fonts
		}
		fixed := func() float64 {
			v := float64(int16(be.Uint16(d))) / (1 << 14)
			d = d[2:]
			return v
		}
		xx, xy, yx, yy := 1.0, 0.0, 0.0, 1.0
		switch {
		case fl&partScale != 0:
			xx = fixed()
			yy = xx
		case fl&partXYScale != 0:
			xx, yy = fixed(), fixed()
		case fl&partMatrix != 0:
			xx, xy, yx, yy = fixed(), fixed(), fixed(), fixed()
		}
		for _, c := range f.outline(id, depth+1) {
			moved := make([]curvePoint, len(c))
			for i, p := range c {
				x, y := p.x, -p.y
				moved[i] = curvePoint{xx*x + yx*y + dx/f.unitsPerEm, -(xy*x + yy*y + dy/f.unitsPerEm), p.on}
			}
			all = append(all, moved)
		}
		if fl&partMore == 0 {
			return all
		}
	}
}
