package main

import (
	"fmt"
	"runtime/debug"

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
	File string `arg:"" help:"File to write, .csv; must not exist yet." type:"path" complete:"csv"`
	JSON bool   `name:"json" help:"Print what was written as JSON."`
}

func (t *recordTemplateCmd) Run(c *console) error {
	if err := writeNew(t.File, field.Template()); err != nil {
		return err
	}
	return c.tell(t.JSON, wrote{[]string{t.File}},
		fmt.Sprintf("wrote %s\nReplace its examples by your own rows, then run: rillwood record add records %s\n", t.File, t.File))
}

type recordNoteCmd struct {
	JSON bool `name:"json" help:"Print it as JSON."`
}

func (n *recordNoteCmd) Run(c *console) error {
	return c.tell(n.JSON, struct {
		Notes   string `json:"notes"`
		Caution string `json:"caution"`
	}{field.NoteHelp, field.SafetyLine}, field.NoteHelp+"\n"+field.SafetyLine+"\n")
}
