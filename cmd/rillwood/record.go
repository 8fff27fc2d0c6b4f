package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"runtime/debug"
	"time"

	"rillwood/habitat"
	"rillwood/habitat/field"
)

type recordCmd struct {
	Template recordTemplateCmd `cmd:"" help:"Write a table to fill in, its columns explained."`
	Note     recordNoteCmd     `cmd:"" help:"Explain the notes that waypoints of a phone may hold."`
	Add      recordAddCmd      `cmd:"" help:"Read trips from tables, waypoints or point layers into a store of records."`
	List     recordListCmd     `cmd:"" help:"Say in short what a store holds."`
	Export   recordExportCmd   `cmd:"" help:"Write the records of a store as CSV, GeoJSON or GPX."`
}

// AfterApply lets memory be collected as seldom as is usual: records, unlike
// planes, are full of pointers (see main).
func (recordCmd) AfterApply() error {
	debug.SetGCPercent(100)
	return nil
}

type recordTemplateCmd struct {
	File string `arg:"" help:"File to write, .csv; must not exist yet." type:"path"`
}

func (t *recordTemplateCmd) Run(c *console) error {
	if err := writeNew(t.File, field.Template()); err != nil {
		return err
	}
	fmt.Fprintf(c.out, "wrote %s\nReplace its examples by your own rows, then run: rillwood record add records %s\n", t.File, t.File)
	return nil
}

type recordNoteCmd struct{}

func (recordNoteCmd) Run(c *console) error {
	_, err := fmt.Fprintf(c.out, "%s\n%s\n", field.NoteHelp, field.SafetyLine)
	return err
}

type recordAddCmd struct {
	Store    string            `arg:"" help:"Folder of the store; made if missing." type:"path"`
	Files    []string          `arg:"" name:"file" help:"Tables (.csv), waypoints (.gpx), point layers (.geojson, .gpkg, .shp …)." type:"path"`
	Map      map[string]string `help:"Columns under other names, as in date=Day,lon=X." mapsep:"," placeholder:"OURS=THEIRS,…"`
	CRS      string            `name:"crs" help:"System of the coordinates, where they are not longitude and latitude." placeholder:"EPSG:n"`
	Layer    string            `help:"Layer of a file with several." placeholder:"NAME"`
	RunDir   string            `name:"run" help:"Folder of a map: resolves its candidates, and what lies outside it is refused." type:"path" placeholder:"DIR"`
	Date     string            `help:"Day of rows that tell none." placeholder:"YYYY-MM-DD"`
	Dates    string            `help:"How days such as 3/4/2026 are meant: iso, mdy or dmy." default:"iso" placeholder:"ORDER"`
	Observer string            `help:"Who looked, for rows that do not say." placeholder:"WHO"`
	Profile  string            `help:"Profile with the hosts' names, built in or a file." default:"${profile}" placeholder:"NAME"`
	SkipBad  bool              `help:"Take the rows that are right and list the others."`
	Correct  bool              `help:"Rows that the store holds with other content take the place of those."`
}

// manyLines is how many problems or flags are printed.
const manyLines = 20

func (r *recordAddCmd) Run(c *console) error {
	o, err := r.options(c)
	if err != nil {
		return err
	}
	store, err := field.Open(r.Store)
	if err != nil {
		return err
	}
	var all []field.Record
	var problems []field.Problem
	refused, examples := 0, 0
	for _, file := range r.Files {
		in, err := field.Read(c.ctx, file, o)
		if err != nil {
			return err
		}
		for _, n := range in.Notes {
			fmt.Fprintf(c.err, "note: %s\n", n)
		}
		all, problems = append(all, in.Records...), append(problems, in.Problems...)
		refused, examples = refused+in.Refused, examples+in.Examples
	}
	listProblems(c, problems)
	if refused > 0 && !r.SkipBad {
		return fmt.Errorf("rows that cannot be taken: %d of %d, so nothing was added; mend them, or take the others with --skip-bad", refused, refused+len(all))
	}
	added, corrected, already := 0, 0, 0
	if len(all) > 0 {
		if r.Correct {
			added, corrected, already, err = store.Correct(all)
		} else {
			added, already, err = store.Append(all)
		}
		if err != nil {
			return err
		}
		if _, err := loadStore(c, r.Store); err != nil {
			return err
		}
	}
	fmt.Fprintf(c.out, "rows added: %d, held already: %d", added, already)
	if corrected > 0 {
		fmt.Fprintf(c.out, ", corrected: %d", corrected)
	}
	if refused > 0 {
		fmt.Fprintf(c.out, ", refused: %d", refused)
	}
	if examples > 0 {
		fmt.Fprintf(c.out, ", the template's examples left out: %d", examples)
	}
	fmt.Fprintf(c.out, "\nstore: %s\n", store.Path())
	if flags := field.Count(all).Flags; len(flags) > 0 {
		fmt.Fprintln(c.out, "Flagged")
		for _, f := range flags {
			fmt.Fprintf(c.out, "  %s: rows %d\n", f.Flag, f.Rows)
		}
	}
	return nil
}

func (r *recordAddCmd) options(c *console) (field.Options, error) {
	o := field.Options{Map: r.Map, CRS: r.CRS, Layer: r.Layer, DateOrder: r.Dates, Observer: r.Observer, Today: time.Now()}
	switch r.Dates {
	case "iso", "mdy", "dmy":
	default:
		return o, fmt.Errorf("--dates: %q is no order of day and month; want iso, mdy or dmy", r.Dates)
	}
	if r.Date != "" {
		day, err := time.Parse(time.DateOnly, r.Date)
		if err != nil {
			return o, fmt.Errorf("--date: %q is not a day; write it as 2026-01-31", r.Date)
		}
		o.Day = day
	}
	p, err := habitat.LoadProfile(r.Profile)
	if err != nil {
		return o, err
	}
	o.Vocabulary = field.NewVocabulary(fieldHosts(p))
	if r.RunDir != "" {
		if o.Run, err = field.OpenRun(c.ctx, r.RunDir); err != nil {
			return o, err
		}
	}
	return o, nil
}

// fieldHosts is a profile's host vocabulary.
func fieldHosts(p *habitat.Profile) []field.Host {
	out := make([]field.Host, len(p.Hosts))
	for i, h := range p.Hosts {
		out[i] = field.Host{ID: h.ID, Common: h.Common, Scientific: h.Scientific, Kin: h.Kin}
	}
	return out
}

func listProblems(c *console, problems []field.Problem) {
	for i, p := range problems {
		if i == manyLines {
			fmt.Fprintf(c.err, "refused: and %d more\n", len(problems)-manyLines)
			return
		}
		fmt.Fprintf(c.err, "refused: %v\n", p)
	}
}

type recordListCmd struct {
	Store string `arg:"" help:"Folder of the store." type:"path"`
}

func (l *recordListCmd) Run(c *console) error {
	records, err := loadStore(c, l.Store)
	if err != nil {
		return err
	}
	_, err = fmt.Fprint(c.out, field.Count(records).Text())
	return err
}

// loadStore reads a store and says which of its lines are damaged.
func loadStore(c *console, dir string) ([]field.Record, error) {
	store, err := field.Open(dir)
	if err != nil {
		return nil, err
	}
	records, warnings, err := store.Load()
	if err != nil {
		return nil, err
	}
	for _, w := range warnings {
		fmt.Fprintf(c.err, "warning: %s\n", w)
	}
	return records, nil
}

type recordExportCmd struct {
	Store   string  `arg:"" help:"Folder of the store." type:"path"`
	Out     string  `help:"File to write: .csv, .geojson or .gpx; must not exist yet." type:"path" required:"" placeholder:"FILE"`
	Blur    float64 `help:"Coarsen positions to the middles of grid cells of this side, in metres." placeholder:"METRES"`
	NoNotes bool    `help:"Leave notes and observers out."`
}

func (e *recordExportCmd) Run(c *console) error {
	records, err := loadStore(c, e.Store)
	if err != nil {
		return err
	}
	if filepath.Clean(e.Out) == filepath.Join(e.Store, field.RecordsFile) {
		return errors.New("--out: this is the store itself; choose another file")
	}
	// What is there may be the notebook itself, or the blurred copy that exact
	// places would stand in afterwards.
	if err := freeFile("--out", e.Out); err != nil {
		return err
	}
	if err := field.Export(e.Out, records, field.ExportOptions{BlurM: e.Blur, NoNotes: e.NoNotes}); err != nil {
		return err
	}
	fmt.Fprintf(c.out, "wrote %s, rows: %d\n", e.Out, len(records))
	switch {
	case e.Blur == 0:
		fmt.Fprintln(c.out, "It holds exact places; before others see it think of --blur 2000 and --no-notes.")
	case !e.NoNotes:
		fmt.Fprintln(c.out, "Notes and observers are in it and may tell the place; --no-notes leaves them out.")
	}
	return nil
}
