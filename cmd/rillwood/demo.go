package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"

	"rillwood/fixtures"
	"rillwood/habitat"
	"rillwood/internal/newfile"
	"rillwood/internal/terminal"
)

type demoCmd struct {
	Dir      string `arg:"" help:"Folder to write into; made if missing." type:"path" complete:"folder"`
	Size     string `help:"Columns and rows of the county." default:"2000x2000" placeholder:"COLSxROWS"`
	Seed     uint64 `help:"Another number, another county." default:"1"`
	DataOnly bool   `help:"Make the layers and the survey file, and stop there."`
	Quiet    bool   `short:"q" help:"No progress."`
	JSON     bool   `name:"json" help:"Print the summary as JSON."`
}

// demoCell is the side of the demo county's cells in metres.
const demoCell = 10

// secondsPerCell is what a unit of work (see windows.go) takes for each cell of
// the county, by which the first stage, which tells nothing, is drawn.
const secondsPerCell = 2.5e-9

func (d *demoCmd) Run(c *console) error {
	cols, rows, err := parseSize(d.Size)
	if err != nil {
		return err
	}
	survey := filepath.Join(d.Dir, "survey.yaml")
	windows := countyWindows
	if !d.DataOnly {
		windows = append(append([]window{}, windows...), mapWindows(nil)...)
	}
	report, end := progress(c, d.Quiet, windows, secondsPerCell*float64(cols)*float64(rows))
	r, err := d.make(c, cols, rows, survey, report)
	end(err)
	switch {
	case err != nil:
		return err
	case d.DataOnly:
		return c.tell(d.JSON, struct {
			Survey string `json:"survey"`
			Layers string `json:"layers"`
		}{survey, filepath.Join(d.Dir, "layers")}, fmt.Sprintf("wrote the layers and %s\n", survey))
	}
	path := terminal.Path(survey)
	return tellMap(c, d.JSON, r, fmt.Sprintf("An invented county: no such place. Change %s and run: rillwood map %s\n", path, path))
}

// make writes the county and maps it; there is no result where only the layers
// are wanted.
func (d *demoCmd) make(c *console, cols, rows int, survey string, report habitat.Progress) (*habitat.Result, error) {
	if report == nil {
		report = func(string, float64) {}
	}
	report("inventing the county", 0)
	county, err := fixtures.New(cols, rows, demoCell, d.Seed)
	if err != nil {
		return nil, err
	}
	text := habitat.Template(habitat.TemplateInputs{
		Name: fmt.Sprint(county.Boundary()[0].Get("name")), Elevation: "layers/elevation.tif", Unit: "m", Streams: "layers/streams.gpkg",
		LandCover: "layers/landcover.tif", Legend: "us-30m", Area: "layers/places.gpkg", AreaLayer: "boundary", Curve: "appalachian-highlands", Demo: "layers",
	})
	// A survey file someone has worked on is not the demo's to replace, nor
	// are the layers it names.
	if old, err := os.ReadFile(survey); err == nil && !bytes.Equal(old, text) {
		return nil, fmt.Errorf("%s is there already, is not what this demo would write, and was left alone; move it away or choose another folder", survey)
	}
	if err := os.MkdirAll(d.Dir, 0o755); err != nil {
		return nil, fmt.Errorf("make the folder: %w", err)
	}
	err = county.Write(c.ctx, filepath.Join(d.Dir, "layers"), func(stage string, done float64) { report("writing "+stage, done) })
	if err != nil {
		return nil, err
	}
	err = newfile.WriteBytes(survey, text)
	if err != nil || d.DataOnly {
		return nil, err
	}
	s, err := habitat.LoadSurvey(survey)
	if err != nil {
		return nil, err
	}
	return habitat.Map(c.ctx, s, report)
}

func parseSize(text string) (cols, rows int, err error) {
	var rest string
	if n, _ := fmt.Sscanf(text, "%dx%d%s", &cols, &rows, &rest); n != 2 {
		return 0, 0, fmt.Errorf("--size %q: want columns and rows, such as 2000x2000", text)
	}
	return cols, rows, nil
}
