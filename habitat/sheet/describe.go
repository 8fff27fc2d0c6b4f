package sheet

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"rillwood/habitat/results"
)

// learning is what a sheet says of a patch that is listed for what it teaches.
const learning = "Learning visit: listed for what a visit teaches the map, with finds or without. Look as hard as anywhere; none found counts as much."

// Rule is the first rule of every sheet.
const Rule = "A map says where to look, never what is safe to eat."

// sheetData is what the template shows.
type sheetData struct {
	Run        *results.Run
	C          *results.Candidate
	RunName    string
	Title      string
	Map        template.HTML
	North      string
	GridName   string
	Places     []place
	Facts      []fact
	Stamp      stamp
	Walk, Why  string
	WayWarn    []string
	Evidence   string
	Winter     []winter
	Rows       []row // of the tally
	Others     string
	Deadly     []results.Caution // what may kill, for the box at the top
	Poison     *results.Caution
	Cautions   []results.Caution // the rest of the short list
	Call, Rule string
	Learning   string
	Number, Of int
	Plan       plan
	Gates      []int // places for five strokes: inspected
	Finds      []int // found
	Blank      []int
}

type fact struct{ Name, Value string }

type winter struct{ Host, Mark string }

// row is a host of the tally with the trees of it that the patch should hold.
type row struct{ Host, Expected string }

// stamp says who may enter; Look is the class it is shown in.
type stamp struct{ Look, Words, Note string }

// place is a spot in degrees and in the frame's grid.
type place struct{ Name, Lat, Lon, East, North string }

func locate(name string, lon, lat, e, n float64) place {
	return place{name, fmt.Sprintf("%.5f", lat), fmt.Sprintf("%.5f", lon), fmt.Sprintf("%.0f", e), fmt.Sprintf("%.0f", n)}
}

// The most characters of words that come from layers.
const (
	mostTitle    = 88
	mostWhy      = 460
	mostEvidence = 200
	mostWalk     = 200
	mostOthers   = 480
	mostNote     = 110
	mostMark     = 112 // more than a profile's
	mostHost     = 26
	mostRow      = 31 // host and trees expected, in the tally
)

func describe(run *results.Run, c *results.Candidate) *sheetData {
	d := &sheetData{
		Run: run, C: c, RunName: short(run.Name, 48), Title: titleOf(c), GridName: gridName(run), Rule: Rule, Call: plain(call(run.Help)),
		Stamp:  stampOf(c),
		Places: []place{locate("Middle", c.Lon, c.Lat, c.East, c.North)},
	}
	if w := c.Walk; w != nil {
		d.Walk = sentence(short(w.Note, mostWalk))
		if w.OK {
			d.Places = append([]place{locate("Entry", w.EntryLon, w.EntryLat, w.EntryEast, w.EntryNorth)}, d.Places...)
			if w.Crossings > 0 && len(w.Cautions) == 0 {
				d.WayWarn = []string{fmt.Sprintf("Crosses water without a mapped bridge, times: %d.", w.Crossings)}
			}
			for _, k := range w.Cautions {
				d.WayWarn = append(d.WayWarn, plain(k))
			}
		}
	} else {
		d.Walk = "Not known: the survey named no paths or roads."
	}
	if c.Learning {
		d.Learning = learning
	}
	d.facts()
	d.hosts()
	d.cautions()
	return d
}

func (d *sheetData) facts() {
	c := d.C
	check := "no number is enough"
	if c.Check95 > 0 {
		check = fmt.Sprint(c.Check95)
		if !c.HoldsCheck {
			check += " (holds fewer)"
		}
	}
	area := "–"
	if !math.IsNaN(c.AreaHa) {
		area = figure(c.AreaHa, 1) + " ha (" + figure(c.AreaHa*1e4/acre, 1) + " acres)"
	}
	d.Facts = []fact{
		{"Trees to check, 95 %", check},
		{"Finds in season", span(c.Finds, c.FindsLow, c.FindsHigh, 1)},
		{"Dead trees, suitability", figure(c.DeadTrees, 0) + ", " + figure(c.SMean, 2)},
		{"Area", area},
	}
}

// acre is the international acre, 43,560 square feet of 0.3048 m.
const acre = 43560 * 0.3048 * 0.3048

// mostWinter is how many hosts a sheet tells how to know.
const mostWinter = 3

// hosts puts the trees that bear most finds into the tally, tells how to know
// them, and names the others.
func (d *sheetData) hosts() {
	why := plain(d.C.Why)
	var others []string
	for i, t := range hostOrder(d.Run, d.C) {
		h := d.Run.HostByID(t.Host)
		name := short(h.Common, mostHost)
		if i < mainHosts {
			expected := span(t.Expected, t.Low, t.High, 0)
			d.Rows = append(d.Rows, row{results.Clip(name, max(10, mostRow-utf8.RuneCountInString(expected))), expected})
		} else {
			others = append(others, name+" "+figure(t.Expected, 0))
		}
		if h.Winter != "" && len(d.Winter) < mostWinter {
			d.Winter = append(d.Winter, winter{name, short(h.Winter, mostMark)})
			// The marks stand in their own line; twice would cost room.
			why = strings.Replace(why, ": "+plain(h.Winter), "", 1)
		}
	}
	d.Others = shortList(others, "; ", mostOthers)
	d.Why = results.Clip(why, mostWhy)
	var more []string
	for _, e := range d.C.Evidence {
		if e = plain(e); !strings.Contains(d.Why, e) {
			more = append(more, e)
		}
	}
	d.Evidence = shortList(more, "; ", mostEvidence)
}

// mainHosts is how many hosts have a row in the tally.
const mainHosts = 5

// hostOrder is the trees of a patch, those that bear finds most first: what a
// tree bears on average times how many there are.
func hostOrder(run *results.Run, c *results.Candidate) []results.TreeCount {
	rate := func(t results.TreeCount) float64 {
		h := run.HostByID(t.Host)
		if h.Common == c.FirstHost {
			return math.Inf(1)
		}
		if v := t.Expected * h.Hits / h.Of; !math.IsNaN(v) {
			return v
		}
		return 0
	}
	out := slices.Clone(c.Trees)
	slices.SortStableFunc(out, func(a, b results.TreeCount) int { return cmp.Compare(rate(b), rate(a)) })
	return out
}

// cautions parts the short list: what may kill at the table goes to the top,
// whole; the rest to the foot.
func (d *sheetData) cautions() {
	for _, k := range d.Run.Cautions {
		k.Title, k.Text = plain(k.Title), plain(k.Text)
		switch {
		case k.Key == "poison":
			d.Poison = &k
		case k.Key == "lookalike" || k.Key == "print":
			d.Deadly = append(d.Deadly, k)
		case k.Key == "map" && k.Text == "": // an old run that tells none
		case k.Key == "map":
			// The rule stands on the sheet; what more it says goes with it.
			if rest := strings.TrimSpace(strings.TrimPrefix(k.Text, Rule)); rest != "" {
				k.Text = rest
				d.Deadly = append(d.Deadly, k)
			}
		case k.Short:
			d.Cautions = append(d.Cautions, k)
		}
	}
}

func titleOf(c *results.Candidate) string {
	where := plain(c.Stream)
	if where == "" {
		where = "Stream without a name"
	}
	if len(c.Land) > 0 {
		where = results.Clip(where, mostTitle/2) + ", " + shortList(c.Land, ", ", mostTitle/2)
	}
	return results.Clip(where, mostTitle)
}

func gridName(run *results.Run) string {
	name := short(run.Frame.Name, 60)
	if run.Frame.EPSG > 0 {
		name = strings.TrimSpace(fmt.Sprintf("%s, EPSG:%d", name, run.Frame.EPSG))
	}
	return name
}

func stampOf(c *results.Candidate) stamp {
	note := short(c.AccessNote, mostNote)
	switch strings.ToLower(note) {
	case "permit or registration needed", "closed": // what the stamp itself says
		note = ""
	}
	switch c.Access {
	case "open":
		return stamp{"open", "Open ground.", sentence(note)}
	case "permit":
		return stamp{"permit", "PERMIT OR REGISTRATION NEEDED.", sentence(note)}
	case "private":
		return stamp{"private", "PRIVATE GROUND: ASK THE OWNER FIRST.", ""}
	case "closed":
		return stamp{"closed", "CLOSED GROUND: DO NOT ENTER.", sentence(note)}
	}
	return stamp{"unknown", "OWNER NOT KNOWN: ASK FIRST.", ""}
}

// sentence gives words a capital and a full stop.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	r := []rune(s)
	s = strings.ToUpper(string(r[:1])) + string(r[1:])
	if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "…") {
		s += "."
	}
	return s
}
