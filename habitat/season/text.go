package season

import (
	"fmt"
	"strings"

	"rillwood/internal/terminal"
)

// shownSeasons is how many seasons the table lists; all are in the JSON.
const shownSeasons = 10

// Text is the outlook for a person, in lines of at most 80 columns.
func (o *Outlook) Text() string {
	var b strings.Builder
	say := func(format string, args ...any) {
		b.WriteString(terminal.Wrap("", fmt.Sprintf(format, args...), terminal.Standard))
	}
	o.stationText(&b)
	b.WriteByte('\n')
	say("Rule of profile %s for %s. %s", terminal.Plain(o.Profile), terminal.Plain(o.Target), o.Assumption)
	for _, w := range o.Rule.Words() {
		b.WriteString(terminal.Wrap("  ", w, terminal.Standard))
	}
	if o.South {
		say("Months are moved by half a year, for the southern half of the Earth.")
	}
	for _, n := range o.NotAsked {
		b.WriteString(terminal.Wrap("not judged: ", n, terminal.Standard))
	}
	o.seasonText(&b)
	o.comingText(&b)
	o.typicalText(&b)
	o.seasonsText(&b)
	if o.Score != nil {
		b.WriteString("\n" + o.Score.Text())
	}
	for _, n := range o.Notes {
		b.WriteString(terminal.Wrap("note: ", n, terminal.Standard))
	}
	b.WriteByte('\n')
	say("%s", o.Caution)
	return b.String()
}

func (o *Outlook) stationText(b *strings.Builder) {
	s := o.Station
	id := ""
	if s.ID != "" {
		id = "station " + terminal.Plain(s.ID) + ", "
	}
	b.WriteString(terminal.Wrap("", fmt.Sprintf("%s: %s%s; %s", terminal.Plain(s.File), id, s.Format, s.Units), terminal.Standard))
	gaps := "no gap"
	switch {
	case s.Gaps == 1:
		gaps = fmt.Sprintf("one gap of %s", plural(s.GapDays, "day"))
	case s.Gaps > 1:
		gaps = fmt.Sprintf("%d gaps of %s together", s.Gaps, plural(s.GapDays, "day"))
	}
	fmt.Fprintf(b, "%s to %s, %s, %s\n", s.First, s.Last, plural(s.Days, "day"), gaps)
	if s.Cut {
		b.WriteString("  the file goes on; what follows counts all of it\n")
	}
	fmt.Fprintf(b, "  %-8s%9s%9s%9s%9s\n", "", "values", "missing", "failed", "traces")
	for _, t := range s.Elements {
		if t.Known == 0 && t.Failed == 0 {
			fmt.Fprintf(b, "  %-8s%9s\n", t.Element, "none")
			continue
		}
		fmt.Fprintf(b, "  %-8s%9d%9d%9d%9d\n", t.Element, t.Known, t.Missing, t.Failed, t.Trace)
	}
	b.WriteString(terminal.Wrap("  ", "failed: quality control; dropped, and among the missing", terminal.Standard))
	if s.Crossed > 0 {
		fmt.Fprintf(b, "  %s with the minimum above the maximum: both dropped\n", plural(s.Crossed, "day"))
	}
	if len(s.Ignored) > 0 {
		b.WriteString(terminal.Wrap("  ", "columns not used: "+terminal.Plain(strings.Join(s.Ignored, ", ")), terminal.Standard))
	}
	for _, w := range s.Warnings {
		b.WriteString(terminal.Wrap("warning: ", w, terminal.Standard))
	}
}

func (o *Outlook) seasonText(b *strings.Builder) {
	v := o.Season
	state := "so far, to " + v.Until.String()
	switch {
	case v.Over:
		next, _ := o.Rule.bounds(v.Year + 1)
		state = "over; the next begins on " + next.String()
	case v.Until < v.First:
		state = "not begun; it begins on " + v.First.String()
	}
	fmt.Fprintf(b, "\nSeason %s (%s to %s), %s\n", v.Label, v.First, v.Last, state)
	if len(v.Windows) == 0 {
		among := ""
		if v.Judged < v.Counts.Days {
			among = " among those judged"
		}
		b.WriteString("  no window of good days" + among + "\n")
	} else {
		fmt.Fprintf(b, "  %-24s%6s%6s%14s%9s\n", "window", "days", "good", "°C", "rain mm")
	}
	for _, w := range v.Windows {
		mark := ""
		switch {
		case w.Forecast == w.Days:
			mark = "  forecast"
		case w.Forecast > 0:
			mark = fmt.Sprintf("  last %d forecast", w.Forecast)
		case w.Open && !v.Over:
			mark = "  may go on"
		}
		fmt.Fprintf(b, "  %s to %s%6d%6d%14s%9s%s\n", w.First, w.Last, w.Days, w.Good, fmt.Sprintf("%.1f to %.1f", w.LowC, w.HighC), tenths(w.RainMM), mark)
	}
	if v.Until >= v.First {
		fmt.Fprintf(b, "  measured: %s in %s; %d of %d days judged\n", plural(v.WindowDays, "window day"), plural(v.Summary.Windows, "window"), v.Judged, v.Counts.Days)
	}
	if v.Others >= fewSeasons && v.Until >= v.First {
		b.WriteString(terminal.Wrap("  ", fmt.Sprintf("by the same day other seasons had %d window days (8 of 10: %d to %d); %d of %d had fewer",
			v.ToDate.Median, v.ToDate.Low, v.ToDate.High, v.OthersLess, v.Others), terminal.Standard))
	}
	o.countText(b)
}

func (o *Outlook) countText(b *strings.Builder) {
	c := o.Season.Counts
	if c.Days <= 0 {
		return
	}
	cut := ""
	if c.CutoffC != nil {
		cut = fmt.Sprintf(", cut off at %g °C", *c.CutoffC)
	}
	b.WriteString(terminal.Wrap("  ", fmt.Sprintf("freeze–thaw days: %d (below and above 0 °C), %d (-1 or less, 1 or more), %d (hard freeze, -2.2 or less, then 0 or more)",
		c.FreezeThaw.Strict, c.FreezeThaw.Firm, c.FreezeThaw.Hard), terminal.Standard))
	b.WriteString(terminal.Wrap("  ", fmt.Sprintf("degree-days above %g °C%s: %.0f (single sine), %.0f (average)", c.BaseC, cut, c.Sine, c.Average), terminal.Standard))
	if n := c.Days - c.TempDays; n > 0 {
		b.WriteString(terminal.Wrap("  ", fmt.Sprintf("%s without both temperatures: nothing is filled in, so that they count as 0 in these two lines", plural(n, "day")), terminal.Standard))
	}
}

func (o *Outlook) comingText(b *strings.Builder) {
	if len(o.Coming) == 0 {
		return
	}
	fmt.Fprintf(b, "\nComing days, by the forecast\n  %-12s%7s%7s%7s  %s\n", "day", "Tmin", "Tmax", "rain", "")
	for _, d := range o.Coming {
		words := "good"
		switch d.Good {
		case No:
			words = "no: " + conditionList(d.Failing)
		case Unknown:
			words = "not known: " + conditionList(d.Unknown)
		}
		if d.Window && d.Good != Yes {
			words += " (inside a window)"
		}
		fmt.Fprintf(b, "  %-12s%7s%7s%7s  %s\n", d.Day, tenths(d.TminC), tenths(d.TmaxC), tenths(d.RainMM), words)
	}
}

func (o *Outlook) typicalText(b *strings.Builder) {
	t, v := o.Typical, o.Season
	fmt.Fprintf(b, "\nUsual windows, of %s complete beside the one shown\n", plural(t.Seasons, "season"))
	if t.Few {
		b.WriteString(terminal.Wrap("  ", fmt.Sprintf("fewer than %d seasons: too few to say what is usual", fewSeasons), terminal.Standard))
		return
	}
	fmt.Fprintf(b, "  window days   %3d in the middle season, 8 of 10 between %d and %d\n", t.WindowDays.Median, t.WindowDays.Low, t.WindowDays.High)
	fmt.Fprintf(b, "  windows       %3d                       8 of 10 between %d and %d\n", t.Windows.Median, t.Windows.Low, t.Windows.High)
	if t.FirstDay != nil {
		fmt.Fprintf(b, "  first window  begins on %s in the middle season\n", t.FirstDay)
	}
	for i, s := range t.Best {
		head := ""
		if i == 0 {
			head = "best"
		}
		fmt.Fprintf(b, "  %-14s%s to %s: %.0f of 100 days in a window\n", head, s.First, s.Last, 100*s.Share)
	}
	if len(t.Best) > 0 {
		fmt.Fprintf(b, "  %-14swith %.0f %% of all window days of the record\n", "", 100*t.BestShare)
	}
	in := inSpans(o.joined.Windows, o.joined.Series.Len())
	fmt.Fprintf(b, "\n  %-18s%8s  %-26s%s\n", "of 100 days", "usually", "", "season "+v.Label)
	for _, p := range t.Parts {
		fmt.Fprintf(b, "  %-18s%8.0f  %-26s%s\n", p.First.String()+" to "+p.Last.String(), 100*p.Share, strings.Repeat("=", int(p.Share*26+0.5)), o.partOf(in, p))
	}
}

// partOf says how many days of a half month lay in windows of the season shown.
func (o *Outlook) partOf(in []bool, p Stretch) string {
	s := o.joined.Series
	first, _ := o.Rule.dayOf(o.Season.Year, p.First)
	last, ok := o.Rule.dayOf(o.Season.Year, p.Last)
	if !ok { // 29 February
		last, _ = o.Rule.dayOf(o.Season.Year, slot{p.Last.month, p.Last.day - 1})
	}
	days, inside := 0, 0
	for d := first; d <= last; d++ {
		if i := int(d - s.First); i >= 0 && i < s.Len() && (o.joined.Good[i] != Unknown || in[i]) {
			days++
			if in[i] {
				inside++
			}
		}
	}
	if days == 0 {
		return "-"
	}
	return fmt.Sprintf("%d of %d", inside, days)
}

func (o *Outlook) seasonsText(b *strings.Builder) {
	from := max(0, len(o.Seasons)-shownSeasons)
	fmt.Fprintf(b, "\n  %-9s%8s%9s%8s%9s%8s%7s%8s\n", "season", "judged", "windows", "days", "fr–thaw", "firm", "hard", "deg-d")
	for _, m := range o.Seasons[from:] {
		star := ""
		if !m.Complete {
			star = "  not whole"
		}
		c := m.Counts
		fmt.Fprintf(b, "  %-9s%8d%9d%8d%9d%8d%7d%8.0f%s\n", m.Label, m.Judged, m.Windows, m.WindowDays, c.FreezeThaw.Strict, c.FreezeThaw.Firm, c.FreezeThaw.Hard, c.Sine, star)
	}
	if from > 0 {
		fmt.Fprintf(b, "  and %s before; all are in the JSON\n", plural(from, "season"))
	}
}

func conditionList(cs []Condition) string {
	words := map[Condition]string{InMonths: "not the months", FreezeBefore: "frost before", MildSpell: "mild", WetBefore: "wet", NotTooWarm: "not too warm", WarmthGathered: "warmth gathered"}
	var out []string
	for _, c := range cs {
		out = append(out, words[c])
	}
	return strings.Join(out, ", ")
}

func tenths(v *float64) string {
	if v == nil {
		return "-"
	}
	return fmt.Sprintf("%.1f", *v)
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
