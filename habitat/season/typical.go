package season

import (
	"cmp"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"

	"rillwood/habitat/weather"
)

// poolDays on either side of a day of the year lend it their years: single
// days of even ninety years scatter too much to be read.
const poolDays = 7

// completeShare of a season's days must be judged before it tells what is
// usual.
const completeShare = 0.9

// fewSeasons are too few to say what is usual.
const fewSeasons = 5

// Usual is how one day of the year has been in all years.
type Usual struct {
	Day      slot    `json:"day"`
	Years    int     `json:"years"`     // in which it was judged
	InWindow int     `json:"in_window"` // of them, in which it lay in a window
	Share    float64 `json:"share"`     // of windows among the judged days within a week of it; NaN-free: 0 where none was judged
	group    int     // days of the year that follow each other without a break
}

// ByMonth gives how many days of each month, January first, lay in windows in
// the mean of all years in which they were judged.
func (t Typical) ByMonth() (days [12]float64) {
	for _, u := range t.Days {
		if u.Years == 0 {
			continue
		}
		share := float64(u.InWindow) / float64(u.Years)
		if u.Day == (slot{time.February, 29}) {
			share *= 97. / 400 // years that have the day
		}
		days[u.Day.month-1] += share
	}
	return days
}

// Stretch is a part of the season, both days included.
type Stretch struct {
	First slot    `json:"first"`
	Last  slot    `json:"last"`
	Share float64 `json:"share"` // of the judged days in it that lay in a window
}

// Range is a median and the bounds that eight of ten seasons keep.
type Range struct {
	Low    int `json:"low"`
	Median int `json:"median"`
	High   int `json:"high"`
}

// Typical is what all years say.
type Typical struct {
	Seasons    int       `json:"seasons"` // complete ones, without the one shown; the ranges are of these
	Few        bool      `json:"too_few_to_say"`
	WindowDays Range     `json:"window_days"`
	Windows    Range     `json:"windows"`
	FreezeThaw Range     `json:"freeze_thaw_days"`
	FirstDay   *slot     `json:"first_window_median,omitempty"` // of seasons that had one
	Best       []Stretch `json:"best"`                          // the fewest days of the year with half of all window days, short breaks closed
	BestShare  float64   `json:"best_share"`                    // of all window days in them
	Parts      []Stretch `json:"parts"`                         // half months
	Days       []Usual   `json:"days"`
}

// usual counts every day of the year over all years of a judgement.
func (r *Rule) usual(j *Judgement) []Usual {
	s := j.Series
	in := inSpans(j.Windows, s.Len())
	slots := r.slots()
	out := make([]Usual, len(slots))
	for k, sl := range slots {
		u := Usual{Day: sl}
		if k > 0 {
			u.group = out[k-1].group
			if sl.day == 1 && int(sl.month) != int(slots[k-1].month)%12+1 {
				u.group++
			}
		}
		for year := r.yearOf(s.First); year <= r.yearOf(s.Last()); year++ {
			d, ok := r.dayOf(year, sl)
			i := int(d - s.First)
			if !ok || i < 0 || i >= s.Len() || j.Good[i] == Unknown && !in[i] {
				continue
			}
			u.Years++
			if in[i] {
				u.InWindow++
			}
		}
		out[k] = u
	}
	for k := range out {
		out[k].Share = shareOf(out, max(0, k-poolDays), min(len(out)-1, k+poolDays), out[k].group)
	}
	return out
}

// shareOf is the share of window days among the judged ones from day to day of
// the year, of one group.
func shareOf(days []Usual, from, to, group int) float64 {
	w, n := 0, 0
	for _, u := range days[from : to+1] {
		if u.group == group {
			w, n = w+u.InWindow, n+u.Years
		}
	}
	if n == 0 {
		return 0
	}
	return float64(w) / float64(n)
}

// closeDays is the longest break inside a stretch, and shorter stretches than
// this are left out.
const closeDays = 7

// best finds the fewest days of the year that hold half of all window days.
func best(days []Usual) (out []Stretch, share float64) {
	order := make([]int, len(days))
	total := 0
	for k, u := range days {
		order[k] = k
		total += u.InWindow
	}
	if total == 0 {
		return nil, 0
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(days[b].Share, days[a].Share) })
	chosen := make([]bool, len(days))
	held := 0
	for _, k := range order {
		if 2*held >= total {
			break
		}
		chosen[k] = true
		held += days[k].InWindow
	}
	held = 0
	for k := 0; k < len(days); k++ {
		if !chosen[k] {
			continue
		}
		last := k
		for m := k + 1; m < len(days) && m-last <= closeDays+1 && days[m].group == days[k].group; m++ {
			if chosen[m] {
				last = m
			}
		}
		if last-k+1 >= closeDays {
			out = append(out, Stretch{days[k].Day, days[last].Day, shareOf(days, k, last, days[k].group)})
			for _, u := range days[k : last+1] {
				held += u.InWindow
			}
		}
		k = last
	}
	return out, float64(held) / float64(total)
}

// halves are the half months of the season.
func halves(days []Usual) []Stretch {
	var out []Stretch
	for from := 0; from < len(days); {
		to := from
		for to+1 < len(days) && days[to+1].Day.month == days[from].Day.month && (days[to+1].Day.day > 15) == (days[from].Day.day > 15) {
			to++
		}
		out = append(out, Stretch{days[from].Day, days[to].Day, shareOf(days, from, to, days[from].group)})
		from = to + 1
	}
	return out
}

// typical sums up all years; the season of the year shown is not in the ranges.
func (r *Rule) typical(j *Judgement, seasons []Summary, shown int) Typical {
	t := Typical{Days: r.usual(j)}
	t.Best, t.BestShare = best(t.Days)
	t.Parts = halves(t.Days)
	var days, windows, thaws, firsts []float64
	for _, s := range seasons {
		if !s.Complete || s.Year == shown {
			continue
		}
		t.Seasons++
		days = append(days, float64(s.WindowDays))
		windows = append(windows, float64(s.Windows))
		thaws = append(thaws, float64(s.Counts.FreezeThaw.Strict))
		if s.FirstWindow != nil {
			firsts = append(firsts, float64(r.place(*s.FirstWindow)))
		}
	}
	t.Few = t.Seasons < fewSeasons
	t.WindowDays, t.Windows, t.FreezeThaw = rangeOf(days), rangeOf(windows), rangeOf(thaws)
	if len(firsts) > 0 {
		t.FirstDay = &t.Days[rangeOf(firsts).Median].Day
	}
	return t
}

// place is where a day of the season stands among the slots.
func (r *Rule) place(d weather.Day) int {
	_, m, dom := d.Date()
	return slices.Index(r.slots(), slot{m, dom})
}

func rangeOf(v []float64) Range {
	if len(v) == 0 {
		return Range{}
	}
	slices.Sort(v)
	q := func(p float64) int { return int(stat.Quantile(p, stat.Empirical, v, nil)) }
	return Range{q(0.1), q(0.5), q(0.9)}
}
