package main

import (
	"fmt"
	"time"

	"rillwood/habitat"
	"rillwood/habitat/field"
)

type recordAddCmd struct {
	Store    string            `arg:"" help:"Folder of the store; made if missing." type:"path" complete:"folder"`
	Files    []string          `arg:"" name:"file" help:"Tables (.csv), waypoints (.gpx), point layers (.geojson, .gpkg, .shp …)." type:"path" complete:"csv,tsv,gpx,geojson,json,gpkg,shp,fgb"`
	Map      map[string]string `help:"Columns under other names, as in date=Day,lon=X." mapsep:"," placeholder:"OURS=THEIRS,…"`
	CRS      string            `name:"crs" help:"System of the coordinates, where they are not longitude and latitude." placeholder:"EPSG:n"`
	Layer    string            `help:"Layer of a file with several." placeholder:"NAME"`
	RunDir   string            `name:"run" help:"Folder of a map: resolves its candidates, and what lies outside it is refused." type:"path" complete:"folder" placeholder:"DIR"`
	Date     string            `help:"Day of rows that tell none." placeholder:"YYYY-MM-DD"`
	Dates    string            `help:"How days such as 3/4/2026 are meant: iso, mdy or dmy." default:"iso" placeholder:"ORDER" complete:"=iso,mdy,dmy"`
	Observer string            `help:"Who looked, for rows that do not say." placeholder:"WHO"`
	Profile  string            `help:"Profile with the hosts' names, built in or a file." default:"${profile}" placeholder:"NAME" complete:"profile"`
	SkipBad  bool              `help:"Take the rows that are right and list the others."`
	Correct  bool              `help:"Rows that the store holds with other content take the place of those."`
	JSON     bool              `name:"json" help:"Print what was added as JSON."`
}

// added is what came of reading trips in, for a program.
type added struct {
	Store     string      `json:"store"`
	Added     int         `json:"added"`
	Already   int         `json:"held_already"`
	Corrected int         `json:"corrected"`
	Refused   int         `json:"refused"`
	Examples  int         `json:"examples_left_out"`
	Flags     []flagCount `json:"flags"`
	Notes     []string    `json:"notes"`
	Problems  []string    `json:"problems"` // of the rows refused
}

// flagCount counts the rows that carry one.
type flagCount struct {
	Flag string `json:"flag"`
	Rows int    `json:"rows"`
}

func flagsIn(t field.Tally) []flagCount {
	out := []flagCount{}
	for _, f := range t.Flags {
		out = append(out, flagCount{f.Flag, f.Rows})
	}
	return out
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
	done := added{Store: store.Path(), Notes: []string{}, Problems: []string{}}
	for _, file := range r.Files {
		in, err := field.Read(c.ctx, file, o)
		if err != nil {
			return err
		}
		for _, n := range in.Notes {
			c.say("note", "%s", n)
		}
		done.Notes = append(done.Notes, in.Notes...)
		all, problems = append(all, in.Records...), append(problems, in.Problems...)
		done.Refused, done.Examples = done.Refused+in.Refused, done.Examples+in.Examples
	}
	listProblems(c, problems)
	if done.Refused > 0 && !r.SkipBad {
		return fmt.Errorf("rows that cannot be taken: %d of %d, so nothing was added; mend them, or take the others with --skip-bad", done.Refused, done.Refused+len(all))
	}
	for _, p := range problems {
		done.Problems = append(done.Problems, p.Error())
	}
	if len(all) > 0 {
		if r.Correct {
			done.Added, done.Corrected, done.Already, err = store.Correct(all)
		} else {
			done.Added, done.Already, err = store.Append(all)
		}
		if err != nil {
			return err
		}
		if _, err := loadStore(c, r.Store); err != nil {
			return err
		}
	}
	done.Flags = flagsIn(field.Count(all))
	return c.tell(r.JSON, done, done.text())
}

func (a added) text() string {
	text := fmt.Sprintf("rows added: %d, held already: %d", a.Added, a.Already)
	for _, n := range []struct {
		what string
		n    int
	}{{"corrected", a.Corrected}, {"refused", a.Refused}, {"the template's examples left out", a.Examples}} {
		if n.n > 0 {
			text += fmt.Sprintf(", %s: %d", n.what, n.n)
		}
	}
	text += fmt.Sprintf("\nstore: %s\n", a.Store)
	if len(a.Flags) > 0 {
		text += "Flagged\n"
	}
	for _, f := range a.Flags {
		text += fmt.Sprintf("  %s: rows %d\n", f.Flag, f.Rows)
	}
	return text
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
			c.say("refused", "and %d more", len(problems)-manyLines)
			return
		}
		c.say("refused", "%v", p)
	}
}
