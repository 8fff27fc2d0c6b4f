package habitat

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"
)

const (
	maxWhy      = 450 // characters of Why
	maxWinter   = 110 // characters of a host's winter clause
	shortWinter = 70  // the second host's clause is told when no longer than this
)

// Reasons are the facts of a candidate that its words are made from.
// Numbers that are not known are NaN, words that are not known empty.
type Reasons struct {
	HeightM      float64    // mean height over the stream it drains to
	SlopePct     float64    // mean slope
	Bottomland   float64    // mean probability, 0–1
	Cover        CoverGroup // most common cover; empty: no land cover was given
	Stream       string     // name of the stream; empty: unnamed
	StreamM      float64    // distance to it
	Dead         float64    // dead or dying host trees expected in the patch
	Finds        float64    // finds expected in the patch in season
	Host         string     // common name of the host that counts most
	Winter       string     // what to know it by in winter, one clause
	Second       string     // common name of the host that counts second
	SecondWinter string     // its clause
	Evidence     []string   // what other layers say, in a few words each, the weightiest first; two are told
	Access       string     // leave to enter, as a label; shown beside the words, not in them
	Limit        Limit      // what holds the patch down
	TreesFor95   int        // dead trees to check for a 95 % chance of one find; 0: not known
	Short        bool       // the patch is not expected to hold that many
}

// Why says in exactly two sentences of at most 450 characters why a patch is
// on the list and what limits it, and what to look for on arrival. Where the
// room is short, the lesser facts are left out: the second host, then the
// evidence, then the winter clause. Names and phrases that come from
// layers are cleaned of marks that would end a sentence.
func Why(r Reasons) string {
	r = r.plain()
	words := ""
	for _, told := range []telling{
		{2, true, true, true}, {2, true, true, false}, {1, true, true, false}, {1, true, false, false}, {0, true, false, false}, {},
	} {
		words = r.place(told.evidence) + r.yield() + ". " + r.arrival(told) + "."
		if utf8.RuneCountInString(words) <= maxWhy {
			break
		}
	}
	return words
}

// telling says which of the facts that may be left out are told.
type telling struct {
	evidence                     int
	winter, second, secondWinter bool
}

// plain is r with its words cleaned and shortened.
func (r Reasons) plain() Reasons {
	r.Stream = plainName(r.Stream)
	r.Host, r.Second = strings.TrimRight(plainName(r.Host), "."), strings.TrimRight(plainName(r.Second), ".")
	r.Winter, r.SecondWinter = plainClause(r.Winter), plainClause(r.SecondWinter)
	if r.Host == "" {
		r.Host, r.Winter, r.Second = r.Second, r.SecondWinter, ""
	}
	if r.Second == r.Host {
		r.Second = ""
	}
	var told []string
	unbracketed := strings.NewReplacer("(", "", ")", "") // they stand in brackets themselves
	for _, e := range r.Evidence {
		if e = plainClause(unbracketed.Replace(e)); e != "" && len(told) < 2 {
			told = append(told, clip(e, 60))
		}
	}
	r.Evidence = told
	return r
}

// place is the subject of the first sentence: what kind of ground, and where.
func (r Reasons) place(evidence int) string {
	ground := "Ground"
	switch {
	case !known(r.SlopePct):
	case r.SlopePct < 2:
		ground = "Flat ground"
	case r.SlopePct < 6:
		ground = "Gently sloping ground"
	default:
		ground = "Sloping ground"
	}
	var where []string
	if r.Cover != "" && r.Cover != Unknown {
		if cover := r.Cover.Words(); strings.Contains(cover, "woods") {
			ground += " under " + cover
		} else {
			where = append(where, "mapped as "+cover)
		}
	}
	stream, distance := r.Stream, ""
	if stream == "" {
		stream = "the nearest stream"
	}
	beside := known(r.StreamM) && r.StreamM < 30
	if known(r.StreamM) {
		distance = metres(r.StreamM)
	}
	if known(r.HeightM) {
		at := "level with " + stream
		if r.HeightM >= 0.5 {
			at = "about " + metres(r.HeightM) + " above " + stream
		}
		switch {
		case beside:
			at += " and right beside it"
		case distance != "":
			at += " and " + distance + " from it"
		}
		where = append(where, at)
	} else {
		switch {
		case beside:
			where = append(where, "right beside "+stream)
		case distance != "":
			where = append(where, distance+" from "+stream)
		default:
			ground += " near " + stream
		}
	}
	if len(where) > 0 {
		ground += ", " + strings.Join(where, ", ")
	}
	if told := r.Evidence[:min(evidence, len(r.Evidence))]; len(told) > 0 {
		ground += " (" + strings.Join(told, "; ") + ")"
	}
	if len(where) > 0 {
		ground += ","
	}
	return ground
}

// yield is the rest of the first sentence: trees, whether they are enough,
// and what holds the patch down.
func (r Reasons) yield() string {
	var b strings.Builder
	switch n := math.Round(r.Dead); {
	case !known(r.Dead):
		b.WriteString(" may hold host trees, but how many dead ones is not known")
	case n < 1:
		b.WriteString(" is expected to hold hardly a dead host tree")
	default:
		trees := "trees"
		if n == 1 {
			trees = "tree"
		}
		fmt.Fprintf(&b, " is expected to hold about %.0f dead or dying host %s%s", n, trees, r.enough(n))
	}
	switch r.Limit {
	case LimitBottomland:
		b.WriteString("; it is held back by ground less surely a bottomland than the best")
	case LimitHosts:
		b.WriteString("; it is held back by cover that bears few host trees")
	case LimitCover:
		b.WriteString("; it is held back by ground that is hard to scout")
	}
	return b.String()
}

// enough holds n trees against the number to check. A patch may hold enough
// and yet show one tree fewer, since what it holds is rounded.
func (r Reasons) enough(n float64) string {
	if r.TreesFor95 <= 0 {
		return ""
	}
	need := float64(r.TreesFor95)
	verdict := ", enough"
	switch {
	case r.Short && n >= need:
		verdict = ", too few of the likeliest kind"
	case r.Short || n < need-1:
		verdict = ", too few"
	case n < need:
		verdict = ", just enough"
	}
	return fmt.Sprintf("%s for a 95 %% chance of one find (%d to check)", verdict, r.TreesFor95)
}

// arrival is the second sentence: what to look for first.
func (r Reasons) arrival(told telling) string {
	if r.Host == "" {
		return "Look first for dead or dying trees of any host"
	}
	s := "Look first for dead " + r.Host
	clause := told.winter && r.Winter != ""
	if clause {
		s += ": " + r.Winter
	}
	if !told.second || r.Second == "" {
		return s
	}
	if clause {
		s += "; then " + r.Second
	} else {
		s += ", then for " + r.Second
	}
	if told.secondWinter && r.SecondWinter != "" && utf8.RuneCountInString(r.SecondWinter) <= shortWinter {
		s += ": " + r.SecondWinter
	}
	return s
}
