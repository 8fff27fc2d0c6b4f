package habitat

import (
	"bytes"
	"encoding/json"

	"rillwood/habitat/field"
	"rillwood/habitat/season"
	"rillwood/habitat/weather"
)

// SeasonFile is one file of a season outlook.
type SeasonFile struct {
	Name string
	Data []byte
}

// SeasonFiles are the files of an outlook, in order: the whole of it as JSON,
// the season's days as CSV, the strip plot as PNG and SVG, and the windows as a
// calendar with the cautions of the profile.
func SeasonFiles(o *season.Outlook, p *Profile) ([]SeasonFile, error) {
	var data bytes.Buffer
	e := json.NewEncoder(&data)
	e.SetIndent("", "  ")
	if err := e.Encode(o); err != nil {
		return nil, err
	}
	png, err := o.Strip("png")
	if err != nil {
		return nil, err
	}
	svg, err := o.Strip("svg")
	if err != nil {
		return nil, err
	}
	var cautions []string
	for _, c := range ShortCautions(p) {
		cautions = append(cautions, c.Title+": "+c.Text)
	}
	return []SeasonFile{
		{"season.json", data.Bytes()},
		{"days.csv", o.Daily()},
		{"strip.png", png},
		{"strip.svg", svg},
		{"windows.ics", o.ICal(cautions)},
	}, nil
}

// VisitsOf are the days on which dead or dying host trees were looked at. Rows
// whose finds were told as not confirmed are left out unless they are wanted:
// they are neither a find nor none.
func VisitsOf(recs []field.Record, unconfirmed bool) []season.Visit {
	var out []season.Visit
	for _, r := range recs {
		if r.Inspected == 0 || r.Condition == field.Alive || !unconfirmed && r.Found > 0 && r.Confirmed == "no" {
			continue
		}
		out = append(out, season.Visit{Day: weather.DayAt(r.Date), Found: r.Found > 0})
	}
	return out
}
