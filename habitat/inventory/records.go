package inventory

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"rillwood/vector"
)

const (
	maxDiameterCm = 500  // no tree of these woods is 5 m thick: a wrong unit
	maxExpansion  = 1000 // trees one record may stand for
	maxKinds      = 5000 // distinct names that are counted apart
)

// record is one tree, in the source's own coordinates until placed.
type record struct {
	x, y   float64
	at     int64  // line or feature id
	parts  []part // hosts; nil for none, or for a tree that does not count
	trees  float64
	status status
}

// tally counts records and remembers where the first few are.
type tally struct {
	n     int
	first []string
}

func (t *tally) add(what string, at int64) {
	t.n++
	if len(t.first) < 3 {
		t.first = append(t.first, fmt.Sprintf("%s %d", what, at))
	}
}

func (t *tally) String() string {
	more := ""
	if t.n > len(t.first) {
		more = ", …"
	}
	return fmt.Sprintf("%s (%s%s)", counted(t.n), strings.Join(t.first, ", "), more)
}

func counted(n int) string {
	if n == 1 {
		return "1 record"
	}
	return fmt.Sprintf("%d records", n)
}

// reading gathers records and what is to be said about them.
type reading struct {
	layout
	species *speciesTable
	minCm   float64
	what    string // "line" or "FID"

	records []record
	named   []bool // hosts that some record names
	known   int    // records of hosts that have a status
	dead    int    // of these, dead or dying

	kinds                                        map[string]int // species that are no host
	trees                                        bool           // whether any record names a tree that is known, host or not
	winged, turned                               int            // turned: a latitude beyond 90 beside a longitude within
	badPlace, thin, unsized, odd, gone, badCount tally
	oddWord                                      string
}

func newReading(l layout, hosts []Host, minCm float64, what string) *reading {
	return &reading{layout: l, species: newSpeciesTable(hosts), minCm: minCm, what: what, named: make([]bool, len(hosts)), kinds: map[string]int{}}
}

// add takes in one record with a usable place; value gives the field at a
// position of the layout, NULL for −1. Every record with a place counts for
// the surveyed extent, whatever else is wrong with it.
func (r *reading) add(x, y float64, at int64, value func(i int) vector.Value) error {
	if len(r.records) == MaxRecords {
		return fmt.Errorf("more than %d records; cut the file into parts", MaxRecords)
	}
	r.records = append(r.records, record{x: x, y: y, at: at, trees: 1})
	t := &r.records[len(r.records)-1]
	name := value(r.layout.species)
	parts := r.species.find(name)
	if parts == nil {
		r.other(name)
		return nil
	}
	r.trees = true
	for _, p := range parts {
		r.named[p.host] = true
	}
	if t.status = readStatus(value(r.status)); t.status == statusOdd {
		if t.status = statusNone; r.odd.n == 0 {
			r.oddWord = value(r.status).String()
		}
		r.odd.add(r.what, at)
	}
	if t.status == statusRemoved {
		r.gone.add(r.what, at)
		return nil
	}
	if r.diameter >= 0 {
		cm, ok := value(r.diameter).Float()
		cm *= r.cm
		if !ok || cm <= 0 || cm > maxDiameterCm {
			r.unsized.add(r.what, at)
		} else if cm < r.minCm {
			r.thin.add(r.what, at)
			return nil
		}
	}
	if v := value(r.expansion); r.expansion >= 0 {
		n, ok := v.Float()
		if !ok || n <= 0 || n > maxExpansion {
			r.badCount.add(r.what, at)
			n = 1
		}
		t.trees = n
	}
	if t.status != statusNone {
		r.known++
		if t.status == statusDead {
			r.dead++
		}
	}
	t.parts = parts
	return nil
}

// other counts a species that is no host.
func (r *reading) other(name vector.Value) {
	if code, ok := name.Int(); ok && code == wingedElm {
		r.winged++
	}
	r.trees = r.trees || isTree(name)
	key := plainName(name.String())
	if len(key) > 60 {
		key = strings.ToValidUTF8(key[:60], "")
	}
	if _, seen := r.kinds[key]; !seen && len(r.kinds) >= maxKinds {
		key = "others"
	}
	r.kinds[key]++
}

// findings are the warnings about the records as read.
func (r *reading) findings() []string {
	out := slices.Clone(r.noColumns)
	say := func(t *tally, format string, a ...any) {
		if t.n > 0 {
			out = append(out, t.String()+" "+fmt.Sprintf(format, a...))
		}
	}
	say(&r.badPlace, "without a usable place left out")
	say(&r.gone, "of removed trees not counted")
	say(&r.thin, "under %g cm not counted", r.minCm)
	say(&r.unsized, "without a usable diameter are counted as large enough")
	say(&r.odd, "with a status that is not known, such as %s: taken as none", quote(r.oddWord))
	say(&r.badCount, "with a number of trees that is not 0 to %d: counted as one tree", maxExpansion)
	if r.known > 0 && r.dead == r.known {
		out = append(out, "every record with a status is dead or dying: if living trees were not recorded, the density is that of the dead alone and too low")
	}
	if r.winged > 0 {
		out = append(out, fmt.Sprintf("%s with code %d, winged elm, no host here: some tables exchange the codes 971, 972 (American elm) and 975 (slippery elm); make sure this file does not", counted(r.winged), wingedElm))
	}
	if len(r.kinds) > 0 {
		out = append(out, fmt.Sprintf("%s of no host (%s) show what was surveyed and count for nothing else", counted(r.others()), r.kindsText()))
	}
	return out
}

// others is how many records are of no host.
func (r *reading) others() (n int) {
	for _, c := range r.kinds {
		n += c
	}
	return n
}

// kindsText says how many species are no host, and the most frequent.
func (r *reading) kindsText() string {
	keys := slices.SortedFunc(maps.Keys(r.kinds), func(a, b string) int {
		return cmp.Or(cmp.Compare(r.kinds[b], r.kinds[a]), cmp.Compare(a, b))
	})
	var most []string
	for _, k := range keys[:min(3, len(keys))] {
		most = append(most, fmt.Sprintf("%s %d", quote(k), r.kinds[k]))
	}
	return fmt.Sprintf("%d kinds; most: %s", len(keys), strings.Join(most, ", "))
}

// checkSpecies refuses records of which not one names a tree: another column
// was read, or the names are in no language known here.
func (r *reading) checkSpecies() error {
	if r.trees || len(r.kinds) == 0 {
		return nil
	}
	return fmt.Errorf("column %s: not one of %s names a tree species that is known (%s); name the column of species codes, scientific or English names", quote(r.layout.speciesName), counted(r.others()), r.kindsText())
}
