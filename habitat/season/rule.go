package season

import (
	"fmt"
	"time"
)

// Rule says on which days it is worth going out. It is an assumption to be
// tried against finds, not a published model: every figure lives in the
// profile. Only Months must be given; a condition that is nil is not asked.
// Temperatures are °C, rain and snow depth mm. "Within n days" counts the day
// itself as the first.
type Rule struct {
	// Months of the season, 1–12, in the order they come; the first begins the
	// season and gives it its year. They are northern: see Rule.South.
	Months     []int       `yaml:"months,flow" json:"months"`
	Freeze     *Freeze     `yaml:"freeze,omitempty" json:"freeze,omitempty"`
	Mild       *Mild       `yaml:"mild,omitempty" json:"mild,omitempty"`
	Wet        *Wet        `yaml:"wet,omitempty" json:"wet,omitempty"`
	Cool       *Cool       `yaml:"cool,omitempty" json:"cool,omitempty"`
	DegreeDays *DegreeDays `yaml:"degree_days,omitempty" json:"degree_days,omitempty"`
	Window     WindowRule  `yaml:"window,omitempty" json:"window"`
	Source     string      `yaml:"source" json:"source"`
}

// Freeze asks for frost before the day: thaw after freeze, where Mild says
// what a thaw is.
type Freeze struct {
	TminAtMostC float64 `yaml:"tmin_at_most_c" json:"tmin_at_most_c"`
	WithinDays  int     `yaml:"within_days" json:"within_days"`
	Source      string  `yaml:"source,omitempty" json:"source,omitempty"`
}

// Mild asks for mild days in a row, of which the day is the last.
type Mild struct {
	TmaxAtLeastC float64  `yaml:"tmax_at_least_c" json:"tmax_at_least_c"`
	TminAtLeastC *float64 `yaml:"tmin_at_least_c,omitempty" json:"tmin_at_least_c,omitempty"` // nights too, where given
	Days         int      `yaml:"days" json:"days"`
	Source       string   `yaml:"source,omitempty" json:"source,omitempty"`
}

// Wet asks for rain, or for snow gone, within some days: one of the two is
// enough. Snow gone is the sum of falls in snow depth from day to day, those
// onto days with Tmax above 0 °C only.
type Wet struct {
	WithinDays    int      `yaml:"within_days" json:"within_days"`
	RainAtLeastMM *float64 `yaml:"rain_at_least_mm,omitempty" json:"rain_at_least_mm,omitempty"`
	MeltAtLeastMM *float64 `yaml:"melt_at_least_mm,omitempty" json:"melt_at_least_mm,omitempty"` // of snow depth
	Source        string   `yaml:"source,omitempty" json:"source,omitempty"`
}

// Cool asks that the day is not too warm.
type Cool struct {
	TmaxAtMostC float64 `yaml:"tmax_at_most_c" json:"tmax_at_most_c"`
	Source      string  `yaml:"source,omitempty" json:"source,omitempty"`
}

// DegreeDays asks that warmth gathered since a day of the year lies between
// two bounds.
type DegreeDays struct {
	Start    string   `yaml:"start" json:"start"` // month and day of month, as 02-01; northern
	BaseC    float64  `yaml:"base_c" json:"base_c"`
	CutoffC  *float64 `yaml:"cutoff_c,omitempty" json:"cutoff_c,omitempty"` // warmth above it does not count
	Method   Method   `yaml:"method" json:"method"`
	Low      float64  `yaml:"low" json:"low"`
	High     float64  `yaml:"high" json:"high"`
	FillDays int      `yaml:"fill_days" json:"fill_days"` // longest gap filled from the days beside it; beyond one the sum is not known
	Source   string   `yaml:"source,omitempty" json:"source,omitempty"`
}

// WindowRule says how good days join to windows.
type WindowRule struct {
	BridgeDays int `yaml:"bridge_days,omitempty" json:"bridge_days"` // days in a row that may fail, or not be known, inside a window
	LeastDays  int `yaml:"least_days,omitempty" json:"least_days"`   // shorter windows are left out; 0 is as 1
}

// Limits on a rule; a longer look back is a slip.
const (
	maxLookBack = 120
	maxDegree   = 10_000
)

// Check holds the rule against its ranges. It gives the key that is wrong, as
// it stands in the profile below season, and what is wrong; both are empty
// where all is well.
func (r *Rule) Check() (key, problem string) {
	if len(r.Months) == 0 {
		return "months", "missing; list the months of the season as numbers, such as [11, 12, 1]"
	}
	turns := 0
	for i, m := range r.Months {
		if m < 1 || m > 12 {
			return "months", fmt.Sprintf("expected months from 1 to 12, found %d", m)
		}
		if i == 0 {
			continue
		}
		if m <= r.Months[i-1] {
			turns++
		}
		if turns > 1 || turns == 1 && m >= r.Months[0] {
			return "months", fmt.Sprintf("expected months in the order they come, each once, found %v", r.Months)
		}
	}
	checks := []struct {
		key   string
		given bool
		check func() (string, string)
	}{
		{"freeze", r.Freeze != nil, func() (string, string) { return r.Freeze.check() }},
		{"mild", r.Mild != nil, func() (string, string) { return r.Mild.check() }},
		{"wet", r.Wet != nil, func() (string, string) { return r.Wet.check() }},
		{"cool", r.Cool != nil, func() (string, string) { return inRange("tmax_at_most_c", r.Cool.TmaxAtMostC, -60, 60, "°C") }},
		{"degree_days", r.DegreeDays != nil, func() (string, string) { return r.DegreeDays.check() }},
		{"window", true, func() (string, string) { return r.Window.check() }},
	}
	for _, c := range checks {
		if !c.given {
			continue
		}
		if key, problem := c.check(); problem != "" {
			return c.key + "." + key, problem
		}
	}
	if r.Mild != nil && r.Cool != nil && r.Mild.TmaxAtLeastC > r.Cool.TmaxAtMostC {
		return "cool.tmax_at_most_c", fmt.Sprintf("%g lies below mild.tmax_at_least_c, %g: no day would ever do", r.Cool.TmaxAtMostC, r.Mild.TmaxAtLeastC)
	}
	return "", ""
}

func (f *Freeze) check() (string, string) {
	if key, problem := inRange("tmin_at_most_c", f.TminAtMostC, -60, 60, "°C"); problem != "" {
		return key, problem
	}
	return days("within_days", f.WithinDays)
}

func (m *Mild) check() (string, string) {
	if key, problem := inRange("tmax_at_least_c", m.TmaxAtLeastC, -60, 60, "°C"); problem != "" {
		return key, problem
	}
	if m.TminAtLeastC != nil {
		if key, problem := inRange("tmin_at_least_c", *m.TminAtLeastC, -60, 60, "°C"); problem != "" {
			return key, problem
		}
	}
	return days("days", m.Days)
}

func (w *Wet) check() (string, string) {
	if w.RainAtLeastMM == nil && w.MeltAtLeastMM == nil {
		return "rain_at_least_mm", "missing; give rain_at_least_mm, melt_at_least_mm or both"
	}
	for _, v := range []struct {
		key   string
		value *float64
	}{{"rain_at_least_mm", w.RainAtLeastMM}, {"melt_at_least_mm", w.MeltAtLeastMM}} {
		if v.value == nil {
			continue
		}
		if key, problem := inRange(v.key, *v.value, 0.1, 5000, "mm"); problem != "" {
			return key, problem
		}
	}
	return days("within_days", w.WithinDays)
}

func (d *DegreeDays) check() (string, string) {
	if _, _, err := d.start(); err != nil {
		return "start", err.Error()
	}
	if key, problem := inRange("base_c", d.BaseC, -60, 60, "°C"); problem != "" {
		return key, problem
	}
	if d.CutoffC != nil && !(*d.CutoffC > d.BaseC && *d.CutoffC <= 60) {
		return "cutoff_c", fmt.Sprintf("expected above base_c, %g, up to 60 °C, found %g", d.BaseC, *d.CutoffC)
	}
	if d.Method != Average && d.Method != SingleSine {
		return "method", fmt.Sprintf("expected %s or %s, found %q", Average, SingleSine, string(d.Method))
	}
	if key, problem := inRange("low", d.Low, 0, maxDegree, "degree-days"); problem != "" {
		return key, problem
	}
	if !(d.High > d.Low && d.High <= maxDegree) {
		return "high", fmt.Sprintf("expected above low, %g, up to %d degree-days, found %g", d.Low, maxDegree, d.High)
	}
	if d.FillDays < 0 || d.FillDays > 30 {
		return "fill_days", fmt.Sprintf("expected 0 to 30 days, found %d", d.FillDays)
	}
	return "", ""
}

// start is the month and day the sum begins on. 29 February is refused: it
// does not come every year.
func (d *DegreeDays) start() (time.Month, int, error) {
	t, err := time.Parse("01-02", d.Start)
	if err != nil || t.Month() == time.February && t.Day() == 29 {
		return 0, 0, fmt.Errorf("expected month and day of each year, as 02-01 for 1 February, found %.20q", d.Start)
	}
	return t.Month(), t.Day(), nil
}

func (w WindowRule) check() (string, string) {
	if w.BridgeDays < 0 || w.BridgeDays > 30 {
		return "bridge_days", fmt.Sprintf("expected 0 to 30 days, found %d", w.BridgeDays)
	}
	if w.LeastDays < 0 || w.LeastDays > 60 {
		return "least_days", fmt.Sprintf("expected 0 to 60 days, found %d", w.LeastDays)
	}
	return "", ""
}

func inRange(key string, v, lo, hi float64, unit string) (string, string) {
	if v >= lo && v <= hi {
		return "", ""
	}
	return key, fmt.Sprintf("expected %g to %g %s, found %g", lo, hi, unit, v)
}

func days(key string, n int) (string, string) {
	if n >= 1 && n <= maxLookBack {
		return "", ""
	}
	return key, fmt.Sprintf("expected 1 to %d days, found %d", maxLookBack, n)
}
