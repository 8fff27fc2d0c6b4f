package season

import (
	"fmt"
	"math"

	"rillwood/habitat/weather"
)

// ForecastDay is one coming day.
type ForecastDay struct {
	Day     weather.Day `json:"day"`
	TminC   *float64    `json:"tmin_c"`
	TmaxC   *float64    `json:"tmax_c"`
	RainMM  *float64    `json:"rain_mm"`
	Good    Truth       `json:"good"`
	Window  bool        `json:"in_window"`
	Failing []Condition `json:"failing,omitempty"`
	Unknown []Condition `json:"unknown,omitempty"`
}

func (o *Outlook) forecastDays(f *weather.Series) {
	j := o.joined
	s := j.Series
	in := inSpans(j.Windows, s.Len())
	if f.First > o.Station.Last+1 {
		o.Notes = append(o.Notes, fmt.Sprintf("the forecast begins on %s, %d days after the record's last; the days between are not known", f.First, f.First-o.Station.Last-1))
	}
	if f.First <= o.Station.Last {
		o.Notes = append(o.Notes, fmt.Sprintf("the forecast's days up to %s are in the record already and were not used", o.Station.Last))
	}
	for _, w := range f.Account.Warnings {
		o.Notes = append(o.Notes, "forecast: "+w)
	}
	for i := int(o.Station.Last-s.First) + 1; i < s.Len(); i++ {
		d := ForecastDay{Day: s.First + weather.Day(i), Good: j.Good[i], Window: in[i]}
		d.TminC, d.TmaxC, d.RainMM = known(s.Values[weather.Tmin][i]), known(s.Values[weather.Tmax][i]), known(s.Values[weather.Precip][i])
		for _, c := range j.Asked {
			switch j.By[c][i] {
			case No:
				d.Failing = append(d.Failing, c)
			case Unknown:
				d.Unknown = append(d.Unknown, c)
			}
		}
		o.Coming = append(o.Coming, d)
	}
}

// known is a value rounded to a tenth, nil where there is none.
func known(v float64) *float64 {
	if v != v {
		return nil
	}
	v = tenth(v)
	return &v
}

func tenth(v float64) float64 { return math.Round(v*10)/10 + 0 }
