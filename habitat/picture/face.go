package picture

import (
	"fmt"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// face is a font whose glyphs are used as outlines: filled for text, stroked
// for halos, turned to follow a stream. Fonts are compiled in, so damage is a
// programmer error and panics.
type face struct {
	font      *sfnt.Font
	buffer    sfnt.Buffer
	capHeight float64 // em
	glyphs    map[sfnt.GlyphIndex]*glyph
}

// glyph is an outline in em units, y down, baseline at 0.
type glyph struct {
	advance float64
	outline []segment
}

// segment is one step along closed outlines: to begin a new one, straight on,
// or (TrueType has no other curves) along a parabola pulled towards via.
type segment struct {
	op      sfnt.SegmentOp
	via, to pt
}

func parseFace(ttf []byte) *face {
	font, err := sfnt.Parse(ttf)
	if err != nil {
		panic(fmt.Sprintf("picture: embedded font: %v", err))
	}
	f := &face{font: font, glyphs: map[sfnt.GlyphIndex]*glyph{}}
	for _, s := range f.glyph('H').outline {
		f.capHeight = max(f.capHeight, -s.to.y)
	}
	return f
}

// index is the glyph of a character, 0 (the empty box) when there is none.
func (f *face) index(r rune) sfnt.GlyphIndex {
	id, err := f.font.GlyphIndex(&f.buffer, r)
	if err != nil {
		panic(fmt.Sprintf("picture: embedded font, character %q: %v", r, err))
	}
	return id
}

func (f *face) glyph(r rune) *glyph {
	id := f.index(r)
	g, ok := f.glyphs[id]
	if !ok {
		g = f.load(id)
		// The hyphen of the Go fonts is drawn as wide as a dash, for program
		// text; in prose it would read as one.
		if id == f.index('-') {
			g.narrow(0.62)
		}
		f.glyphs[id] = g
	}
	return g
}

func (f *face) load(id sfnt.GlyphIndex) *glyph {
	// At one pixel a font unit nothing is rounded.
	em := fixed.I(int(f.font.UnitsPerEm()))
	advance, err := f.font.GlyphAdvance(&f.buffer, id, em, 0)
	if err != nil {
		panic(fmt.Sprintf("picture: embedded font, glyph %d: %v", id, err))
	}
	segments, err := f.font.LoadGlyph(&f.buffer, id, em, nil)
	if err != nil {
		panic(fmt.Sprintf("picture: embedded font, glyph %d: %v", id, err))
	}
	at := func(q fixed.Point26_6) pt { return pt{float64(q.X) / float64(em), float64(q.Y) / float64(em)} }
	g := &glyph{advance: float64(advance) / float64(em)}
	for _, s := range segments {
		if s.Op == sfnt.SegmentOpQuadTo {
			g.outline = append(g.outline, segment{s.Op, at(s.Args[0]), at(s.Args[1])})
		} else {
			g.outline = append(g.outline, segment{op: s.Op, to: at(s.Args[0])})
		}
	}
	return g
}

// narrow squeezes a glyph sideways.
func (g *glyph) narrow(k float64) {
	g.advance *= k
	for i := range g.outline {
		g.outline[i].via.x *= k
		g.outline[i].to.x *= k
	}
}

// polygon is the closed outline through the points.
func polygon(points ...pt) []segment {
	out := make([]segment, len(points))
	for i, q := range points {
		out[i] = segment{op: sfnt.SegmentOpLineTo, to: q}
	}
	if len(out) > 0 {
		out[0].op = sfnt.SegmentOpMoveTo
	}
	return out
}

// flatten turns closed outlines into closed polylines.
func flatten(outline []segment) [][]pt {
	var out [][]pt
	for _, s := range outline {
		if s.op == sfnt.SegmentOpMoveTo {
			out = append(out, []pt{s.to})
			continue
		}
		line := &out[len(out)-1]
		if s.op == sfnt.SegmentOpLineTo {
			*line = append(*line, s.to)
			continue
		}
		from := (*line)[len(*line)-1]
		for _, t := range [3]float64{1. / 3, 2. / 3, 1} {
			*line = append(*line, along(along(from, s.via, t), along(s.via, s.to, t), t))
		}
	}
	for i := range out {
		out[i] = append(out[i], out[i][0])
	}
	return out
}
