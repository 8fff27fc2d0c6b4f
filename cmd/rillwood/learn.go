package main

import (
	"errors"
	"fmt"
	"os"

	"rillwood/habitat"
	"rillwood/habitat/season"
)

// learnCmd learns from field records (fromRecords), or from a layer that shows
// where the bottoms are (fromLayer).
type learnCmd struct {
	Folder  string `arg:"" name:"run" help:"Folder of the map to learn with." type:"path" complete:"folder"`
	Store   string `arg:"" optional:"" help:"Folder of the field records to learn from (rillwood record)." type:"path" complete:"folder"`
	Out     string `help:"Profile to write, .yaml; must not exist yet." type:"path" required:"" placeholder:"FILE" complete:"yaml,yml"`
	Profile string `help:"Profile the map was made with, where it is not built in." placeholder:"FILE" complete:"profile"`
	JSON    bool   `name:"json" help:"Print what was learned as JSON."`

	OutOfSeason bool `help:"Count visits outside the season for hit rates too."`
	Unconfirmed bool `help:"Count finds told as not confirmed by spore print."`

	Weather string `help:"Daily record of a weather station: hold the rule for good days against the visits too (rillwood season)." type:"path" placeholder:"FILE" complete:"csv,dly,gz"`
	weatherFlags

	FromLayer string   `help:"Instead of records: floodplain or alluvium, polygons or a raster of codes, to fit the bottomland weights again to." type:"path" complete:"gpkg,geojson,shp,fgb,tif" placeholder:"FILE"`
	Layer     string   `help:"Layer of a file with several." placeholder:"NAME"`
	Where     string   `help:"Take only the polygons that fulfil this, as after WHERE in SQL." placeholder:"TEXT"`
	CRS       string   `name:"crs" help:"Coordinate system of a layer that declares none." placeholder:"EPSG:n"`
	Field     string   `help:"Field of the polygons that tells." placeholder:"NAME"`
	Values    []string `help:"Its values, or a raster's codes and ranges of codes, that are bottom." placeholder:"LIST"`
	Known     []string `help:"Values or codes that are mapped ground at all (default: every one)." placeholder:"LIST"`
	Inside    bool     `help:"Every polygon is bottom; the rest of the layer's bounding box is not."`
	Block     float64  `help:"Side of the blocks that are fitted on and scored by turns, in kilometres." default:"5" placeholder:"KM"`
}

func (l *learnCmd) Run(c *console) error {
	if (l.Store == "") == (l.FromLayer == "") {
		return errors.New("learn: name the folder of the field records to learn from, or a layer with --from-layer; one of the two")
	}
	if l.FromLayer != "" && l.Weather != "" {
		return errors.New("--weather: tells of the days of visits, so it goes with field records, not with --from-layer")
	}
	// Looked at first: a fit takes a while, and Write refuses what is there.
	if err := freeFile("--out", l.Out); err != nil {
		return err
	}
	if l.Store != "" {
		return l.fromRecords(c)
	}
	run, err := habitat.OpenRun(l.Folder)
	if err != nil {
		return err
	}
	return l.fromLayer(c, run)
}

func (l *learnCmd) fromRecords(c *console) error {
	run, p, recs, err := openLearning(c, l.Folder, l.Store, l.Profile)
	if err != nil {
		return err
	}
	judge, err := l.seasonJudge(c, p)
	if err != nil {
		return err
	}
	learned, err := habitat.LearnFromRecords(c.ctx, run, p, recs, habitat.LearnOptions{OutOfSeason: l.OutOfSeason, Unconfirmed: l.Unconfirmed})
	if err != nil {
		return err
	}
	days, err := judge(recs)
	if err != nil {
		return err
	}
	learned.Profile.Name = profileNameOf(l.Out)
	if err := learned.Profile.Write(l.Out); err != nil {
		return err
	}
	text := learned.Text()
	if days != nil {
		text += "\n" + days.Text()
	}
	return l.tell(c, text, struct {
		Profile string `json:"profile"`
		*habitat.Learned
		Season *season.Score `json:"season,omitempty"`
	}{l.Out, learned, days})
}

// tell prints what was learned, for a person or for a program.
func (l *learnCmd) tell(c *console, text string, data any) error {
	return c.tell(l.JSON, data, fmt.Sprintf("%s\nwrote %s; name it as profile: in the survey and make the map again\n", text, l.Out))
}

func (l *learnCmd) fromLayer(c *console, run *habitat.Run) error {
	if !(l.Block > 0) {
		return fmt.Errorf("--block: expected kilometres above 0, found %g", l.Block)
	}
	r, err := habitat.Refit(c.ctx, run, habitat.Reference{
		Path: l.FromLayer, Layer: l.Layer, Where: l.Where, CRS: l.CRS,
		Field: l.Field, Values: l.Values, Known: l.Known, Inside: l.Inside,
	}, habitat.RefitOptions{Profile: l.Profile, BlockM: 1000 * l.Block})
	if err != nil {
		return err
	}
	if err := r.Profile.Write(l.Out); err != nil {
		return err
	}
	return l.tell(c, r.Text(), struct {
		Profile string `json:"profile"`
		*habitat.Refitted
	}{l.Out, r})
}

// freeFile refuses a file that is there.
func freeFile(flag, path string) error {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%s: %q is there already; choose another name", flag, path)
	}
	return nil
}
