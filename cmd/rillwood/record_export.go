package main

import (
	"errors"
	"fmt"
	"path/filepath"

	"rillwood/habitat/field"
)

type recordExportCmd struct {
	Store   string  `arg:"" help:"Folder of the store." type:"path" complete:"folder"`
	Out     string  `help:"File to write: .csv, .geojson or .gpx; must not exist yet." type:"path" required:"" placeholder:"FILE" complete:"csv,geojson,gpx"`
	Blur    float64 `help:"Coarsen positions to the middles of grid cells of this side, in metres." placeholder:"METRES"`
	NoNotes bool    `help:"Leave notes and observers out."`
	JSON    bool    `name:"json" help:"Print what was written as JSON."`
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
	text := fmt.Sprintf("wrote %s, rows: %d\n", e.Out, len(records))
	switch {
	case e.Blur == 0:
		text += "It holds exact places; before others see it think of --blur 2000 and --no-notes.\n"
	case !e.NoNotes:
		text += "Notes and observers are in it and may tell the place; --no-notes leaves them out.\n"
	}
	return c.tell(e.JSON, struct {
		Wrote  []string `json:"wrote"`
		Rows   int      `json:"rows"`
		Exact  bool     `json:"exact_places"`
		Noted  bool     `json:"with_notes"`
		BlurM  float64  `json:"blur_m"`
		Safety string   `json:"caution"`
	}{[]string{e.Out}, len(records), e.Blur == 0, !e.NoNotes, e.Blur, field.SafetyLine}, text)
}
