package main

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"

	"rillwood/habitat"
	"rillwood/habitat/season"
	"rillwood/habitat/weather"
	"rillwood/internal/newfile"
)

// weatherFlags say what a station's table does not.
type weatherFlags struct {
	Units     string  `help:"Units of a weather table whose columns do not name them: metric (°C, mm), us (°F, inches) or tenths (of °C and mm)." placeholder:"UNITS" complete:"=metric,us,tenths"`
	SnowTimes float64 `help:"Multiply snow fallen and snow depth by this, where they stand in other units than the rest." default:"1" placeholder:"N"`
	South     bool    `help:"The weather station lies in the southern half of the Earth: move the months by half a year."`
}

type seasonCmd struct {
	weatherFlags
	Station       string `arg:"" help:"Daily record of a weather station: GHCN-Daily .dly or CSV by station, or a CSV table." type:"path" complete:"csv,dly,gz"`
	Profile       string `help:"Profile whose rule to use, built in or a file (default: ${profile})." placeholder:"NAME" complete:"profile"`
	Target        string `help:"Another target of the same ground, built in or a file, and its rule." placeholder:"NAME" complete:"target"`
	Forecast      string `help:"Forecast for the days after the record, as a CSV table." type:"path" placeholder:"FILE" complete:"csv"`
	ForecastUnits string `help:"Its units, where they are others than the record's." placeholder:"UNITS" complete:"=metric,us,tenths"`
	Season        *int   `help:"Year in which the season to show begins (default: the last one begun in the record)." placeholder:"YEAR"`
	Until         string `help:"Read the record as it was at the end of this day, such as 2025-12-31." placeholder:"DATE"`
	Records       string `help:"Folder of field records (rillwood record): hold the rule against the days of finds and of visits without one." type:"path" placeholder:"STORE" complete:"folder"`
	Unconfirmed   bool   `help:"Count finds told as not confirmed by spore print."`
	Output        string `short:"o" help:"Folder to write the outlook into: JSON, days as CSV, strip plot as PNG and SVG, calendar file." type:"path" placeholder:"FOLDER" complete:"folder"`
	JSON          bool   `name:"json" help:"Print the outlook as JSON."`
}

func (s *seasonCmd) Run(c *console) error {
	debug.SetGCPercent(100) // texts are many small things: see main
	p, rule, err := seasonRule(s.Profile, s.Target)
	if err != nil {
		return err
	}
	series, err := s.read(s.Station)
	if err != nil {
		return err
	}
	if s.Until != "" {
		day, err := weather.ParseDay(s.Until)
		if err != nil {
			return fmt.Errorf("--until: %w", err)
		}
		whole := series
		if series = whole.Until(day); series == nil {
			return fmt.Errorf("--until: %s lies before the record, which begins on %s", day, whole.First)
		}
	}
	q := season.Question{Series: series, Rule: rule, Year: s.Season, Target: p.Target.Common, Profile: p.Name, South: s.South,
		Caution: habitat.Cautions(p)[0].Text}
	if s.Forecast != "" {
		units := s.ForecastUnits
		if units == "" {
			units = s.Units
		}
		if q.Forecast, err = readWeather(s.Forecast, "--forecast-units", units); err != nil {
			return err
		}
	}
	o, err := season.Answer(q)
	if err != nil {
		return err
	}
	if s.Records != "" {
		recs, err := loadStore(c, s.Records)
		if err != nil {
			return err
		}
		if o.Score, err = o.ScoreVisits(habitat.VisitsOf(recs, s.Unconfirmed)); err != nil {
			return fmt.Errorf("%s: %w", s.Records, err)
		}
	}
	text := o.Text()
	if s.Output != "" {
		wrote, err := writeOutlook(s.Output, o, p)
		if err != nil {
			return err
		}
		text += "\nwrote " + strings.Join(wrote, ", ") + "\n"
	}
	return c.tell(s.JSON, o, text)
}

// seasonRule is the rule of a profile, or of a target laid over it, by name or
// file.
func seasonRule(name, target string) (*habitat.Profile, *season.Rule, error) {
	if name == "" {
		name = habitat.DefaultProfile
	}
	p, err := habitat.LoadProfile(name)
	if err != nil {
		return nil, nil, err
	}
	if target != "" {
		t, err := habitat.LoadTarget(target)
		if err != nil {
			return nil, nil, fmt.Errorf("--target: %w", err)
		}
		if p, err = p.For(t); err != nil {
			return nil, nil, err
		}
	}
	rule, err := p.SeasonRule()
	return p, rule, err
}

// read reads a station's record as the flags say.
func (f weatherFlags) read(path string) (*weather.Series, error) {
	series, err := readWeather(path, "--units", f.Units)
	if err != nil || f.SnowTimes == 1 {
		return series, err
	}
	if err := series.ScaleSnow(f.SnowTimes); err != nil {
		return nil, fmt.Errorf("--snow-times: %w", err)
	}
	return series, nil
}

// readWeather reads a station's record in units told by a flag.
func readWeather(path, flag, units string) (*weather.Series, error) {
	told, err := weather.ParseUnits(units)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", flag, err)
	}
	return weather.Read(path, told)
}

// writeOutlook writes all files of an outlook into a folder.
func writeOutlook(dir string, o *season.Outlook, p *habitat.Profile) ([]string, error) {
	files, err := habitat.SeasonFiles(o, p)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("--output: %w", err)
	}
	var wrote []string
	for _, f := range files {
		path := filepath.Join(dir, f.Name)
		if err := newfile.WriteBytes(path, f.Data); err != nil {
			return nil, fmt.Errorf("--output: %w", err)
		}
		wrote = append(wrote, path)
	}
	return wrote, nil
}
