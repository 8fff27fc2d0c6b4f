package habitat

import (
	"fmt"
	"math"
	"strings"
)

// Reasons are the numbers of a candidate that its words are made from.
// Numbers that are not known are NaN.
type Reasons struct {
	HeightM    float64    // mean height over the stream it drains to
	SlopePct   float64    // mean slope
	Bottomland float64    // mean probability, 0–1
	Cover      CoverGroup // most common cover; empty: no land cover was given
	Stream     string     // name of the stream; empty: unnamed
	StreamM    float64    // distance to it
	Dead       float64    // dead or dying host trees expected in the patch
	Finds      float64    // finds expected in the patch in season
	Host       string     // common name of the host that counts most
	Limit      Limit      // what holds the patch down
	TreesFor95 int        // dead trees to check for a 95 % chance of one find; 0: not known
	Short      bool       // the patch is not expected to hold that many
}

// Why says in two sentences of plain English why a patch is on the list and
// what to expect of it.
func Why(r Reasons) string { return r.place() + " " + r.yield() }

// place is the first sentence: what kind of ground, and where.
func (r Reasons) place() string {
	ground := "Ground"
	if !math.IsNaN(r.SlopePct) {
		switch {
		case r.SlopePct < 2:
			ground = "Flat ground"
		case r.SlopePct < 6:
			ground = "Gently sloping ground"
		default:
			ground = "Sloping ground"
		}
	}
	var b strings.Builder
	b.WriteString(ground)
	if r.Cover != "" && r.Cover != Unknown {
		b.WriteString(" under " + r.Cover.Words())
		if !strings.Contains(r.Cover.Words(), "woods") {
			b.Reset()
			b.WriteString(ground + ", mapped as " + r.Cover.Words() + ",")
		}
	}
	stream := "the nearest stream"
	if r.Stream != "" {
		stream = r.Stream
	}
	switch {
	case math.IsNaN(r.HeightM):
		b.WriteString(" near " + stream)
	case r.HeightM < 0.5:
		b.WriteString(", level with " + stream)
	default:
		fmt.Fprintf(&b, ", about %s above %s", metres(r.HeightM), stream)
	}
	if !math.IsNaN(r.StreamM) {
		if r.StreamM < 30 {
			b.WriteString(" and right beside it")
		} else {
			fmt.Fprintf(&b, " and %s from it", metres(r.StreamM))
		}
	}
	return strings.ReplaceAll(b.String(), ",,", ",") + "."
}

// yield is the second sentence: trees, finds, and what holds it down.
func (r Reasons) yield() string {
	var b strings.Builder
	host := r.Host
	if host == "" {
		host = "host trees"
	}
	switch n := int(math.Round(r.Dead)); {
	case math.IsNaN(r.Dead):
		fmt.Fprintf(&b, "How many dead trees it holds is not known; look for %s first", host)
	case n == 0:
		fmt.Fprintf(&b, "Hardly a dead host tree is expected (%s first)", host)
	default:
		fmt.Fprintf(&b, "About %s expected, %s first", count(n, "dead or dying host tree is", "dead or dying host trees are"), host)
		switch {
		case r.TreesFor95 > 0 && !r.Short && n >= r.TreesFor95:
			fmt.Fprintf(&b, ", enough for a good chance of one find (%d to check)", r.TreesFor95)
		case r.TreesFor95 > 0:
			fmt.Fprintf(&b, ", too few for a good chance of one find (%d to check)", r.TreesFor95)
		}
	}
	switch r.Limit {
	case LimitBottomland:
		b.WriteString("; it is held back by ground less surely a bottomland than the best")
	case LimitHosts:
		b.WriteString("; it is held back by cover that bears few host trees")
	case LimitCover:
		b.WriteString("; it is held back by ground that is hard to scout")
	}
	return b.String() + "."
}

// metres rounds a length the way one would say it.
func metres(m float64) string {
	switch {
	case m < 10:
		return fmt.Sprintf("%.1f m", m)
	case m < 100:
		return fmt.Sprintf("%.0f m", m)
	case m < 995:
		return fmt.Sprintf("%.0f m", math.Round(m/10)*10)
	}
	return fmt.Sprintf("%.1f km", m/1000)
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
