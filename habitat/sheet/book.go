package sheet

import (
	"bytes"
	"context"
	_ "embed"
	"fmt"
	"html/template"
	"io"

	"rillwood/habitat/results"
	"rillwood/vector"
)

//go:embed book.html
var bookHTML string

var bookTemplate = template.Must(template.New("book").Funcs(functions).Parse(bookHTML))

// How many sheets the first page lists in one table and in two side by side;
// with more than mapRows in a table there is no room for the map.
const (
	oneTable = 18
	mapRows  = 20
	mostRows = 30
)

// entry is a sheet on the list of the first page.
type entry struct {
	Rank                     int
	Stream, Access           string
	Area, Finds, Check, Walk string
}

// Write makes a document of its own at path, beside it first: a page with the
// list of the sheets, a map of where they lie and all warnings, then the
// sheets, one to a page. It asks nothing of any network. Without candidates
// it is an error.
func Write(ctx context.Context, path string, run *results.Run, ranks []int) error {
	if len(ranks) == 0 {
		return fmt.Errorf("field sheets: no candidate is chosen; the shortlist has %s", listed(run))
	}
	for _, rank := range ranks {
		if run.Candidate(rank) == nil {
			return fmt.Errorf("no candidate %d; the shortlist has %s", rank, listed(run))
		}
	}
	d, err := newDrawing(run)
	if err != nil {
		return err
	}
	pages, err := d.pages(ctx, ranks)
	if err != nil {
		return err
	}
	title := short(run.Name, 60)
	if title == "" {
		title = "Scouting map"
	}
	var cautions []results.Caution
	for _, k := range run.Cautions {
		k.Title, k.Text = plain(k.Title), plain(k.Text)
		cautions = append(cautions, k)
	}
	lists, more := listsOf(run, ranks)
	var index template.HTML
	if rows := float64(len(lists[0])); len(lists) == 1 {
		index = d.index(ranks, 800, 860)
	} else if rows <= mapRows {
		index = d.index(ranks, 1900, 1150-42*rows)
	}
	var b bytes.Buffer
	err = bookTemplate.Execute(&b, struct {
		Run                             *results.Run
		Title, Rule, Call, Target, Grid string
		CSS                             template.CSS
		Index                           template.HTML
		Lists                           [][]entry
		Two                             bool
		More                            int
		Cautions                        []results.Caution
		Pages                           []Page
	}{run, title, Rule, plain(call(run.Help)), short(run.Target.Common, 80), gridName(run), CSS(), index, lists, len(lists) > 1, more, cautions, pages})
	if err != nil {
		return fmt.Errorf("field sheets: %w", err)
	}
	return vector.WriteBeside(path, func(w io.Writer) error {
		_, err := w.Write(b.Bytes())
		return err
	})
}

// listsOf deals the list into one table or two, and counts those without room.
func listsOf(run *results.Run, ranks []int) (lists [][]entry, more int) {
	long := 22
	if len(ranks) > oneTable {
		long = 20
	}
	var all []entry
	for _, rank := range ranks {
		c := run.Candidate(rank)
		e := entry{Rank: rank, Stream: short(c.Stream, long), Access: short(c.Access, 12), Area: figure(c.AreaHa, 1), Finds: figure(c.Finds, 1), Check: "–", Walk: "–"}
		if e.Stream == "" {
			e.Stream = "no name"
		}
		if e.Access == "" || e.Access == "unknown" {
			e.Access = "not known"
		}
		if c.Check95 > 0 {
			e.Check = fmt.Sprint(c.Check95)
		}
		if c.Walk != nil && c.Walk.OK {
			e.Walk = figure(c.Walk.DistanceM, 0)
		}
		all = append(all, e)
	}
	if len(all) <= oneTable {
		return [][]entry{all}, 0
	}
	if len(all) > 2*mostRows {
		all, more = all[:2*mostRows], len(all)-2*mostRows
	}
	half := (len(all) + 1) / 2
	return [][]entry{all[:half], all[half:]}, more
}
