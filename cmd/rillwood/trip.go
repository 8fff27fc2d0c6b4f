package main

import (
	"fmt"
	"path/filepath"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // zones are known on machines without a list of them

	"rillwood/habitat"
	"rillwood/habitat/pack"
)

type tripCmd struct {
	Folder  string  `arg:"" name:"run" help:"Folder a map was written into." type:"path" complete:"folder"`
	Date    string  `help:"Day of the trip, as in 2026-12-05." required:"" placeholder:"DATE"`
	Start   string  `help:"Where you start and come back to: latitude and longitude, as in 43.3736,-87.0039 (--start=-43.4,171 where it begins with a minus)." placeholder:"PLACE"`
	Parking int     `help:"Start from the parking place of the way in to this candidate instead." placeholder:"RANK"`
	Zone    string  `help:"Time zone of the clock, such as America/Chicago; default: this machine's." placeholder:"NAME"`
	Offset  string  `name:"utc-offset" help:"Offset of the clock from UTC instead, as in --utc-offset=-6 or --utc-offset=5:30." placeholder:"HOURS"`
	Leave   string  `help:"When to leave, as in 9:30; default: sunrise." placeholder:"TIME"`
	Back    string  `help:"When to be back at the latest; default: so many minutes before sunset as --spare says." placeholder:"TIME"`
	Spare   float64 `help:"Minutes to be back before sunset." default:"45" placeholder:"MINUTES"`
	Speed   float64 `help:"Walking speed on level paths, km/h; slopes slow it (Tobler 1993)." default:"5" placeholder:"KMH"`
	OffPath float64 `help:"Walking speed off the path, km/h." default:"3" placeholder:"KMH"`
	Minutes float64 `name:"tree-minutes" help:"Minutes at each tree, walking to the next not counted." default:"4" placeholder:"MINUTES"`
	Wade    bool    `help:"Allow ways through streams without a bridge. Never through open water."`
	Private bool    `help:"Allow private ground: when you have asked the owners."`
	IDs     []int   `name:"ids" help:"Choose among these candidates only, by rank: 3,7,12." placeholder:"LIST"`
	Most    int     `name:"consider" help:"Consider so many stops, those that promise most." default:"40" placeholder:"N"`
	Survey  string  `help:"Survey file the map was made from; default: survey.yaml beside the folder of the run." type:"path" placeholder:"FILE" complete:"yaml,yml"`
	Profile string  `help:"Profile the map was made with, where it is not built in." complete:"profile" placeholder:"FILE"`
	Output  string  `short:"o" help:"Folder to write trip.json, trip.gpx and trip.geojson into (default: \"trip\" beside the folder of the run)." type:"path" complete:"folder" placeholder:"DIR"`
	Quiet   bool    `short:"q" help:"No progress."`
	JSON    bool    `name:"json" help:"Print the plan as JSON."`
}

func (t *tripCmd) Run(c *console) error {
	o, err := t.options(c)
	if err != nil {
		return err
	}
	report, end := progress(c, t.Quiet, tripWindows, 0)
	plan, err := habitat.PlanTrip(c.ctx, t.Folder, o, report)
	end(err)
	if err != nil {
		return err
	}
	folder := t.Output
	if folder == "" {
		folder = filepath.Join(filepath.Dir(t.Folder), "trip")
	}
	files, err := habitat.WriteTrip(folder, plan, pack.WriteTrip)
	if err != nil {
		return err
	}
	text := plan.Text(c.outScreen)
	text += fmt.Sprintf("\nWrote %s into %s. On the page of the run: rillwood report %s --trip %s\n", strings.Join(files, ", "), folder, t.Folder, filepath.Join(folder, files[0]))
	return c.tell(t.JSON, plan, text)
}

// options reads the command line.
func (t *tripCmd) options(c *console) (habitat.TripOptions, error) {
	o := habitat.DefaultTripOptions()
	o.Survey, o.Profile, o.Parking, o.Wade, o.Private, o.Only, o.Consider = t.Survey, t.Profile, t.Parking, t.Wade, t.Private, t.IDs, t.Most
	o.SpareMin, o.TreeMinutes, o.Pace.PathKmh, o.Pace.OffKmh = t.Spare, t.Minutes, t.Speed, t.OffPath
	for _, f := range []struct {
		flag        string
		v, low, top float64
	}{{"--spare", t.Spare, 0, 600}, {"--speed", t.Speed, 0.5, 10}, {"--off-path", t.OffPath, 0.5, 10}, {"--tree-minutes", t.Minutes, 0.1, 120}, {"--consider", float64(t.Most), 1, 120}} {
		if !(f.v >= f.low && f.v <= f.top) {
			return o, fmt.Errorf("%s: expected a number from %g to %g, found %g", f.flag, f.low, f.top, f.v)
		}
	}
	day, err := time.Parse(time.DateOnly, t.Date)
	if err != nil {
		return o, fmt.Errorf("--date: expected a day such as 2026-12-05, found %q", t.Date)
	}
	o.Year, o.Month, o.Day = day.Year(), int(day.Month()), day.Day()
	switch {
	case t.Start != "" && t.Parking != 0:
		return o, usageError{fmt.Errorf("give --start or --parking, not both")}
	case t.Start != "":
		if o.Lat, o.Lon, err = placeOf(t.Start); err != nil {
			return o, fmt.Errorf("--start: %w", err)
		}
	case t.Parking < 1:
		return o, usageError{fmt.Errorf("give the start: --start LATITUDE,LONGITUDE, or --parking RANK for the parking place of a candidate")}
	}
	if o.Zone, o.ZoneName, err = t.zone(); err != nil {
		return o, err
	}
	if t.Zone == "" && t.Offset == "" {
		c.say("note", "times are by this machine's time zone (%s); name another with --zone or --utc-offset", day.In(time.Local).Format("UTC-07:00"))
	}
	if o.Leave, err = clockOf("--leave", t.Leave); err == nil {
		o.BackBy, err = clockOf("--back", t.Back)
	}
	return o, err
}

// zone is the clock the times are told by.
func (t *tripCmd) zone() (*time.Location, string, error) {
	switch {
	case t.Zone != "" && t.Offset != "":
		return nil, "", usageError{fmt.Errorf("give --zone or --utc-offset, not both")}
	case t.Zone != "":
		z, err := time.LoadLocation(t.Zone)
		if err != nil || t.Zone == "Local" {
			return nil, "", fmt.Errorf("--zone: no zone %q; give a name such as America/Chicago, or --utc-offset=-6", t.Zone)
		}
		return z, t.Zone, nil
	case t.Offset != "":
		text := strings.TrimPrefix(t.Offset, "+")
		hours, mins, _ := strings.Cut(text, ":")
		h, err := strconv.ParseFloat(hours, 64)
		m := 0.0
		if mins != "" && err == nil {
			m, err = strconv.ParseFloat(mins, 64)
		}
		if err != nil || !(h >= -12 && h <= 14) || !(m >= 0 && m < 60) {
			return nil, "", fmt.Errorf("--utc-offset: expected hours such as -6 or 5:30, found %q", t.Offset)
		}
		if strings.HasPrefix(text, "-") {
			m = -m
		}
		return time.FixedZone("", int(h*3600+m*60)), "", nil
	}
	return time.Local, "", nil
}

// placeOf reads latitude and longitude.
func placeOf(text string) (lat, lon float64, err error) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' || r == ';' })
	if len(parts) == 2 {
		if lat, err = strconv.ParseFloat(parts[0], 64); err == nil {
			lon, err = strconv.ParseFloat(parts[1], 64)
		}
	}
	if len(parts) != 2 || err != nil || !(lat >= -90 && lat <= 90) || !(lon >= -180 && lon <= 180) {
		return 0, 0, fmt.Errorf("expected latitude and longitude in degrees, as in 43.3736,-87.0039, found %q", text)
	}
	return lat, lon, nil
}

// clockOf reads a time of the day as minutes; "" is nil.
func clockOf(flag, text string) (*int, error) {
	if text == "" {
		return nil, nil
	}
	at, err := time.Parse("15:04", text)
	if err != nil {
		return nil, fmt.Errorf("%s: expected a time such as 9:30 or 15:45, found %q", flag, text)
	}
	m := 60*at.Hour() + at.Minute()
	return &m, nil
}
