package sheet

import (
	"fmt"
	"html"
	"strings"
	"unicode/utf8"

	"github.com/paulmach/orb"
)

// labels keeps the room that words and marks take on a map, in units of the
// drawing, so that none is written over another.
type labels struct {
	s     *strings.Builder
	room  orb.Bound // of the whole map
	taken []orb.Bound
}

func newLabels(s *strings.Builder, wide, high float64) *labels {
	return &labels{s: s, room: orb.Bound{Min: orb.Point{4, 4}, Max: orb.Point{wide - 4, high - 4}}}
}

// take keeps the room around a point.
func (l *labels) take(x, y, wide, high float64) { l.taken = append(l.taken, around(x, y, wide, high)) }

func around(x, y, wide, high float64) orb.Bound {
	return orb.Bound{Min: orb.Point{x - wide/2, y - high/2}, Max: orb.Point{x + wide/2, y + high/2}}
}

func (l *labels) free(b orb.Bound) bool {
	if b.Min[0] < l.room.Min[0] || b.Min[1] < l.room.Min[1] || b.Max[0] > l.room.Max[0] || b.Max[1] > l.room.Max[1] {
		return false
	}
	for _, t := range l.taken {
		if t.Intersects(b) {
			return false
		}
	}
	return true
}

// write puts a text at the first of the places (its middle) that is free. With
// must it goes to the first one anyhow.
func (l *labels) write(text string, size float64, look string, places []orb.Point, must bool) bool {
	// Letters of the widest usual faces are 0.62 of their size wide on average.
	wide, high := 0.62*size*float64(utf8.RuneCountInString(text))+8, 1.15*size
	at, found := -1, false
	for i, p := range places {
		if l.free(around(p[0], p[1], wide, high)) {
			at, found = i, true
			break
		}
	}
	if !found {
		if !must || len(places) == 0 {
			return false
		}
		at = 0
	}
	p := places[at]
	p[0] = min(max(p[0], l.room.Min[0]+wide/2), max(l.room.Max[0]-wide/2, l.room.Min[0]+wide/2))
	p[1] = min(max(p[1], l.room.Min[1]+high/2), l.room.Max[1]-high/2)
	l.take(p[0], p[1], wide, high)
	fmt.Fprintf(l.s, `<text x="%s" y="%s" text-anchor="middle" font-size="%s" %s stroke="#fff" stroke-width="8" stroke-linejoin="round" paint-order="stroke">%s</text>`,
		num(p[0]), num(p[1]+0.36*size), num(size), look, html.EscapeString(text))
	return true
}
