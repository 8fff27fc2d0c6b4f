package trip

import (
	"fmt"
	"math"
	"strings"
	"time"

	"rillwood/internal/terminal"
)

func clock(t time.Time) string { return t.Format("15:04") }

func round(v float64, decimals int) float64 {
	k := math.Pow(10, float64(decimals))
	return math.Round(v*k)/k + 0
}

// span says minutes as hours and minutes.
func span(minutes float64) string {
	m := int(math.Round(minutes))
	if m < 60 {
		return fmt.Sprintf("%d min", m)
	}
	return fmt.Sprintf("%d h %02d min", m/60, m%60)
}

func distance(m float64) string {
	if m >= 1000 {
		return fmt.Sprintf("%.1f km", m/1000)
	}
	return fmt.Sprintf("%.0f m", m)
}

// Text is the plan for a person on a screen. What comes from layers has no
// control characters left.
func (p *Plan) Text(on terminal.Screen) string {
	var b strings.Builder
	day, err := time.Parse(time.DateOnly, p.Date)
	title := p.Date
	if err == nil {
		title = day.Format("Monday 2 January 2006")
	}
	if p.Name != "" {
		title += ", " + terminal.Plain(p.Name)
	}
	fmt.Fprintf(&b, "\n%s\n", on.Paint(terminal.Bold, terminal.Clip(title, on.Width())))
	line := func(label, format string, args ...any) {
		b.WriteString(terminal.Wrap(fmt.Sprintf("  %-12s", label), terminal.Plain(fmt.Sprintf(format, args...)), on.Width()))
	}
	line("daylight", "%s", p.light())
	line("start", "%s", p.startWords())
	if len(p.Stops) == 0 {
		line("no trip", "nothing can be reached, searched and left again in that time; see below what was left out and why")
	} else {
		line("the day", "leave %s, back %s, at the latest %s", clock(p.Leave), clock(p.Back), clock(p.BackBy))
		line("walking", "%s between the stops, %s, %.0f m up", distance(p.Totals.Metres), span(p.Totals.WalkingMin), p.Totals.ClimbM)
		line("searching", "%s at %d dead or dying trees", span(p.Totals.StayingMin), p.Totals.Trees)
		line("expected", "%.1f finds; %s", p.Totals.Finds, p.howGood())
		b.WriteString(p.table(on))
		if words := p.ReserveWords(); words != "" {
			line("in reserve", "%s", words)
		}
	}
	for _, c := range p.Cautions {
		line("mind", "%s", c)
	}
	for _, o := range p.LeftOut {
		line("left out", "%s: %s", plural(len(o.Ranks), "patch", "patches"), o.Why)
	}
	for _, k := range p.Known {
		line("known", "%s", k)
	}
	for _, k := range p.NotKnown {
		line("not known", "%s", k)
	}
	fmt.Fprintf(&b, "\n%s\n", on.Paint(terminal.Bold, "Before you go"))
	for _, c := range p.Warnings {
		b.WriteString(terminal.Wrap("  - ", c.Title+": "+c.Text, on.Width()))
	}
	return b.String()
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func (p *Plan) light() string {
	d := p.Daylight
	var parts []string
	for _, e := range []struct {
		what string
		at   *time.Time
	}{{"civil dawn", d.Dawn}, {"sunrise", d.Sunrise}, {"sunset", d.Sunset}, {"civil dusk", d.Dusk}} {
		if e.at != nil {
			parts = append(parts, e.what+" "+clock(*e.at))
		}
	}
	if d.Sunrise == nil {
		parts = append(parts, "the sun does not set")
	}
	return strings.Join(parts, ", ") + " (" + p.Zone + "); hills and clouds make it darker sooner"
}

func (p *Plan) startWords() string {
	at := fmt.Sprintf("%.5f, %.5f", p.Start.Lat, p.Start.Lon)
	if p.Start.Name != "" {
		at += " (" + p.Start.Name + ")"
	}
	return at
}

func (p *Plan) howGood() string {
	s := p.Search
	of := fmt.Sprintf("%s considered", plural(s.Considered, "stop", "stops"))
	if s.Proven {
		return "no plan finds more, of " + of
	}
	return fmt.Sprintf("a good plan of %s: the best one finds %.1f %% more at most", of, 100*s.Gap/(1-s.Gap))
}

// ReserveWords says where to go when time is left, "" where nowhere.
func (p *Plan) ReserveWords() string {
	var parts []string
	for _, r := range p.Reserve {
		parts = append(parts, fmt.Sprintf("patch %s (%s, %.1f finds, %s)", r.Label, plural(r.Trees, "tree", "trees"), r.Finds, r.Access))
	}
	if len(parts) == 0 {
		return ""
	}
	return "where you move on early, there is also " + strings.Join(parts, ", ") + "; be back by " + clock(p.BackBy) + " all the same"
}

// table is the stops in order; each has a second line of what to look for.
func (p *Plan) table(on terminal.Screen) string {
	var b strings.Builder
	wide := on.Width() >= 76
	head := "      walk  arrive   leave   trees  move on  finds"
	if wide {
		head = "  patch    walk              arrive   leave   trees  move on  finds  access"
	}
	fmt.Fprintf(&b, "\n%s\n", on.Paint(terminal.Faint, head))
	for _, s := range p.Stops {
		on1 := "–"
		if s.MoveOn != nil {
			on1 = fmt.Sprint(*s.MoveOn)
		}
		if wide {
			fmt.Fprintf(&b, "  %s  %s %s   %s    %s  %s  %s  %s  %s\n", terminal.Right(s.Label(), 5), terminal.Right(distance(s.Way.Metres), 6), terminal.Right(span(s.Way.Minutes), 10),
				clock(s.Arrive), clock(s.Depart), terminal.Right(fmt.Sprint(s.Trees), 6), terminal.Right(on1, 7), terminal.Right(fmt.Sprintf("%.1f", s.Finds), 5), terminal.Plain(s.Access))
		} else {
			fmt.Fprintf(&b, "  patch %s, %s\n", s.Label(), terminal.Plain(s.Access))
			fmt.Fprintf(&b, "  %s  %s   %s  %s  %s  %s\n", terminal.Right(distance(s.Way.Metres), 8), clock(s.Arrive), clock(s.Depart), terminal.Right(fmt.Sprint(s.Trees), 6), terminal.Right(on1, 7), terminal.Right(fmt.Sprintf("%.1f", s.Finds), 5))
		}
		words := terminal.Plain("look for " + strings.Join(s.Hosts, ", ") + s.placeWords())
		b.WriteString(terminal.Wrap("         ", words, on.Width()))
	}
	if p.Home != nil {
		if wide {
			fmt.Fprintf(&b, "  %s  %s %s   %s\n", terminal.Right("back", 5), terminal.Right(distance(p.Home.Metres), 6), terminal.Right(span(p.Home.Minutes), 10), clock(p.Back))
		} else {
			fmt.Fprintf(&b, "  back\n  %s  %s\n", terminal.Right(distance(p.Home.Metres), 8), clock(p.Back))
		}
	}
	b.WriteString(terminal.Wrap("  ", "move on: after so many empty trees with no find before, the next places are worth more; after a find stay. –: check them all", on.Width()))
	return b.String()
}

func (s Stop) placeWords() string {
	out := ""
	if s.Stream != "" {
		out += "; " + s.Stream
	}
	if s.Share < 0.995 {
		out += fmt.Sprintf("; %.0f %% of the patch lies on this side of the water", 100*s.Share)
	}
	return out
}
