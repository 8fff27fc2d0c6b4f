package approach

import (
	"context"
	"math"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// cut is a way cut into short straight pieces; piece i runs from at[i] to at[i+1].
type cut struct {
	at    []orb.Point
	marks []mark
}

// mark is what is known of one piece.
type mark struct {
	crossings int32
	wet       bool // in open water, with no bridge
	closed    bool // of a path, bridge or not: in ground closed to the public
	shut      shut // whether it is not walked
}

// shut says why a piece is not walked.
type shut uint8

const (
	notShut    shut = iota
	tooWet          // open water for too long
	tooPrivate      // closed ground for too long
	shutReasons
)

// asked is what is to be found out about the pieces of a way. Roads are asked
// nothing: they are taken to have bridges and to be public ways.
type asked struct{ fords, closed bool }

// cutWays cuts every way at its vertices and the given splits (sorted), and
// into pieces no longer than pieceM. Where a path meets open water or closed
// ground, or one without a bridge a stream, the pieces become so short that
// walker and obstacle are told apart.
func (l *lines) cutWays(ctx context.Context, splits []split, g Ground, o Options) ([]cut, error) {
	from := make([]int32, len(l.segs)+1) // splits of segment i: from[i] … from[i+1]
	for _, s := range splits {
		from[s.seg+1]++
	}
	for i := range l.segs {
		from[i+1] += from[i]
	}
	out := make([]cut, len(l.ways))
	err := raster.Parallel(ctx, o.Workers, (len(l.ways)+chunk-1)/chunk, func(_, k int) error {
		for w := k * chunk; w < min((k+1)*chunk, len(l.ways)); w++ {
			way := l.ways[w]
			c := cut{at: make([]orb.Point, 1, len(way.Line)), marks: make([]mark, 0, len(way.Line))}
			c.at[0] = way.Line[0]
			q := asked{fords: way.Kind == Path && !way.Bridge, closed: way.Kind == Path}
			for i := l.first[w]; i < l.first[w+1]; i++ {
				for _, s := range splits[from[i]:from[i+1]] {
					c.to(s.at, q, g)
				}
				c.to(l.segs[i].b, q, g)
			}
			if q.fords {
				c.soak(o.WetPathM)
			}
			if q.closed {
				c.fence(o.ClosedPathM)
			}
			out[w] = c
		}
		return nil
	})
	return out, err
}

// to goes on to the next vertex.
func (c *cut) to(p orb.Point, q asked, g Ground) {
	a := c.at[len(c.at)-1]
	if a == p {
		return
	}
	n := math.Ceil(distance(a, p) / pieceM)
	for i := 1.0; i <= n; i++ {
		b := p
		if i < n {
			b = between(a, p, i/n)
		}
		c.piece(b, q, g)
	}
}

// piece adds one piece, halved as long as it meets a stream or water and is
// longer than it needs to be.
func (c *cut) piece(b orb.Point, q asked, g Ground) {
	a := c.at[len(c.at)-1]
	if a == b {
		return
	}
	var m mark
	if q.closed {
		// Blocked may stop at the first obstacle: from the other end comes the other.
		wet, closed := g.Blocked(a, b)
		if wet != closed {
			w, c := g.Blocked(b, a)
			wet, closed = wet || w, closed || c
		}
		if q.fords {
			m.crossings, m.wet = int32(g.Crossings(a, b)), wet
		}
		m.closed = closed
		if d := distance(a, b); m.crossings > 0 && d > fordM || (wet || closed) && d > shoreM {
			c.piece(between(a, b, 0.5), q, g)
			c.piece(b, q, g)
			return
		}
	}
	c.at = append(c.at, b)
	c.marks = append(c.marks, m)
}

// soak judges each stretch in open water. One longer than wetM is not walked. A
// shorter one is a ford: one crossing, unless a mapped stream in it counts
// already. One of at most shoreM is where a cell's corner touches the path.
func (c *cut) soak(wetM float64) {
	for i := 0; i < len(c.marks); i++ {
		if !c.marks[i].wet {
			continue
		}
		first, length, crossings := i, 0.0, int32(0)
		for ; i < len(c.marks) && c.marks[i].wet; i++ {
			length += distance(c.at[i], c.at[i+1])
			crossings += c.marks[i].crossings
		}
		switch {
		case length > wetM:
			for k := first; k < i; k++ {
				c.marks[k].shut = tooWet
			}
		case length > shoreM && crossings == 0:
			c.marks[first].crossings = 1
		}
	}
}

// fence judges each stretch in ground closed to the public: one longer than
// closedM is not walked. A shorter one stays, since borders on maps are off by
// a cell.
func (c *cut) fence(closedM float64) {
	for i := 0; i < len(c.marks); i++ {
		first, length := i, 0.0
		for ; i < len(c.marks) && c.marks[i].closed; i++ {
			length += distance(c.at[i], c.at[i+1])
		}
		if length <= closedM {
			continue
		}
		for k := first; k < i; k++ {
			if c.marks[k].shut == notShut {
				c.marks[k].shut = tooPrivate
			}
		}
	}
}
