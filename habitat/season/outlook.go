package season

import (
	"fmt"

	"rillwood/habitat/weather"
)

// Assumption is what is said of the rule wherever it is shown.
const Assumption = "The rule is an assumption with no published source. All its thresholds stand in the profile; try it against the days of your finds and change it."

// Question is what an outlook is made of.
type Question struct {
	Series   *weather.Series
	Forecast *weather.Series // nil = none; only days after the record's last are used
	Rule     *Rule
	Year     *int // in which the season to show begins; nil = the last one begun
	Target   string
	Profile  string
	South    bool // the station lies south of the equator: the rule's months are moved by half a year
	Caution  string
}

// Outlook is the answer.
type Outlook struct {
	Target     string        `json:"target"`
	Profile    string        `json:"profile"`
	Assumption string        `json:"assumption"`
	Rule       *Rule         `json:"rule"` // as it was asked, months of the station's half of the Earth
	South      bool          `json:"south"`
	NotAsked   []string      `json:"not_asked,omitempty"`
	Station    Station       `json:"station"`
	Season     Shown         `json:"season"`
	Typical    Typical       `json:"typical"`
	Seasons    []Summary     `json:"seasons"`
	Coming     []ForecastDay `json:"forecast,omitempty"`
	Score      *Score        `json:"score,omitempty"`
	Notes      []string      `json:"notes,omitempty"`
	Caution    string        `json:"caution"`

	measured, joined *Judgement
}

// Station says what was read.
type Station struct {
	File     string          `json:"file"`
	ID       string          `json:"id,omitempty"`
	Format   string          `json:"format"`
	Units    string          `json:"units"`
	First    weather.Day     `json:"first"`
	Last     weather.Day     `json:"last"`
	Days     int             `json:"days"`
	Cut      bool            `json:"read_until"` // the file goes on; the counts below are of all of it
	Elements []weather.Tally `json:"elements"`
	weather.Account
}

// Summary is one season in short.
type Summary struct {
	Year        int          `json:"year"` // in which it begins
	Label       string       `json:"label"`
	First       weather.Day  `json:"first"`
	Last        weather.Day  `json:"last"`
	Judged      int          `json:"judged_days"` // of the season's days
	Good        int          `json:"good_days"`
	WindowDays  int          `json:"window_days"`
	Windows     int          `json:"windows"`
	FirstWindow *weather.Day `json:"first_window,omitempty"`
	Complete    bool         `json:"complete"` // over, and nine of ten days judged
	Counts      Counts       `json:"counts"`
}

// Shown is the season the outlook is about.
type Shown struct {
	Summary
	Until   weather.Day `json:"until"` // the last measured day of it
	Over    bool        `json:"over"`
	Windows []Window    `json:"windows_so_far"` // with those of the forecast
	// How it stands beside complete seasons on the same day of the year.
	Others     int   `json:"others"`
	OthersLess int   `json:"others_with_fewer_window_days"`
	ToDate     Range `json:"others_window_days_to_date"`
}

// Window is a run of good days, short breaks included.
type Window struct {
	First    weather.Day `json:"first"`
	Last     weather.Day `json:"last"`
	Days     int         `json:"days"`
	Good     int         `json:"good_days"`
	Forecast int         `json:"forecast_days"` // of them, not measured yet
	Open     bool        `json:"open"`          // it reaches the last day known and may go on
	LowC     float64     `json:"lowest_c"`
	HighC    float64     `json:"highest_c"`
	RainMM   *float64    `json:"rain_mm"` // as far as it is known; nil where no day's is
}

// Answer makes the outlook. It is an error when the record and the question do
// not meet.
func Answer(q Question) (*Outlook, error) {
	s, r := q.Series, q.Rule
	for _, e := range []weather.Element{weather.Tmin, weather.Tmax} {
		if !s.Has(e) {
			return nil, fmt.Errorf("%s: has no value of %s, without which no day can be judged", s.File, e)
		}
	}
	if q.South {
		r = r.South()
	}
	o := &Outlook{
		Target: q.Target, Profile: q.Profile, Assumption: Assumption, Rule: r, South: q.South, Caution: q.Caution,
		Station: Station{File: s.File, ID: s.Station, Format: s.Format, Units: s.Units, First: s.First, Last: s.Last(), Days: s.Len(), Cut: s.Cut,
			Elements: s.Account.Tallies(), Account: s.Account},
	}
	o.measured = Judge(s, r)
	o.joined, o.NotAsked = o.measured, o.measured.NotAsked
	if q.Forecast != nil {
		if q.Forecast.Last() <= s.Last() {
			return nil, fmt.Errorf("%s: ends on %s, and the record reaches %s; a forecast needs days after that", q.Forecast.File, q.Forecast.Last(), s.Last())
		}
		o.joined = Judge(s.Join(q.Forecast), r)
		o.forecastDays(q.Forecast)
	}
	from, to := r.yearOf(s.First), r.yearOf(s.Last())
	shown := to
	if q.Forecast != nil {
		shown = r.yearOf(q.Forecast.Last())
	}
	if q.Year != nil {
		if shown = *q.Year; shown < from || shown > max(to, r.yearOf(o.joined.Series.Last())) {
			return nil, fmt.Errorf("season %d: the record goes from %s to %s; seasons begin in %d to %d", shown, s.First, s.Last(), from, to)
		}
	}
	for year := from; year <= to; year++ {
		o.Seasons = append(o.Seasons, o.summary(year))
	}
	o.Typical = r.typical(o.measured, o.Seasons, shown)
	o.show(shown)
	return o, nil
}

// summary counts one season over the measured days.
func (o *Outlook) summary(year int) Summary {
	r, j := o.Rule, o.measured
	s := j.Series
	m := Summary{Year: year, Label: r.label(year)}
	m.First, m.Last = r.bounds(year)
	in := 0
	total := 0
	for d := m.First; d <= m.Last; d++ {
		i := int(d - s.First)
		if i >= 0 && i < s.Len() && j.By[InMonths][i] == No {
			continue // between the months of a season in parts
		}
		total++
		if i < 0 || i >= s.Len() {
			continue
		}
		if j.Good[i] != Unknown {
			m.Judged++
		}
		if j.Good[i] == Yes {
			m.Good++
		}
	}
	for _, w := range j.Windows {
		if d := s.First + weather.Day(w.First); d < m.First || d > m.Last {
			continue
		} else if m.FirstWindow == nil {
			m.FirstWindow = &d
		}
		in += w.Len()
		m.Windows++
	}
	m.WindowDays = in
	m.Complete = m.Last <= s.Last() && float64(m.Judged) >= completeShare*float64(total)
	m.Counts = r.count(s, m.First, min(m.Last, s.Last()))
	return m
}

// show fills in the season the outlook is about.
func (o *Outlook) show(year int) {
	j := o.joined
	s := j.Series
	v := &o.Season
	v.Summary = o.summary(year)
	v.Until = min(v.Summary.Last, o.Station.Last)
	v.Over = v.Summary.Last <= o.Station.Last
	for _, w := range j.Windows {
		first := s.First + weather.Day(w.First)
		if first < v.First || first > v.Last {
			continue
		}
		x := Window{First: first, Last: s.First + weather.Day(w.Last), Days: w.Len(), LowC: 100, HighC: -100}
		x.Open = w.Last == s.Len()-1
		rain, rained := 0.0, false
		for i := w.First; i <= w.Last; i++ {
			if j.Good[i] == Yes {
				x.Good++
			}
			if s.First+weather.Day(i) > o.Station.Last {
				x.Forecast++
			}
			if t := s.Values[weather.Tmin][i]; t == t {
				x.LowC = min(x.LowC, t)
			}
			if t := s.Values[weather.Tmax][i]; t == t {
				x.HighC = max(x.HighC, t)
			}
			if p := s.Values[weather.Precip][i]; p == p {
				rain, rained = rain+p, true
			}
		}
		x.LowC, x.HighC = tenth(x.LowC), tenth(x.HighC)
		if rained {
			x.RainMM = known(rain)
		}
		v.Windows = append(v.Windows, x)
	}
	o.compare(year)
}

// compare holds the season so far against the complete ones, up to the same
// day of the year.
func (o *Outlook) compare(year int) {
	v, j := &o.Season, o.measured
	s := j.Series
	in := inSpans(j.Windows, s.Len())
	toDate := func(year, days int) (n int) {
		first, last := o.Rule.bounds(year)
		for d := first; d <= min(last, first+weather.Day(days)-1); d++ {
			if i := int(d - s.First); i >= 0 && i < s.Len() && in[i] {
				n++
			}
		}
		return n
	}
	days := int(v.Until-v.First) + 1
	mine := toDate(year, days)
	var others []float64
	for _, m := range o.Seasons {
		if m.Complete && m.Year != year {
			n := toDate(m.Year, days)
			others = append(others, float64(n))
			if n < mine {
				v.OthersLess++
			}
		}
	}
	v.Others, v.ToDate = len(others), rangeOf(others)
}
