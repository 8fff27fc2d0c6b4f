package habitat

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rillwood/internal/terminal"
)

// Text is the year for a person, no line wider than 80 columns.
func (y *Year) Text(rows int) string {
	var b strings.Builder
	name := terminal.Plain(y.Name)
	if name == "" {
		name = "This ground"
	}
	fmt.Fprintf(&b, "\n%s through the year\n\n", terminal.Clip(name, 60))
	y.strip(&b)
	y.table(&b, rows)
	b.WriteString("\nBest patches, most expected finds first\n")
	for k, t := range y.Targets {
		label := fmt.Sprintf("  %c  ", 'A'+k)
		for _, v := range []struct {
			where string
			YearVisits
		}{{"open or by permit", t.Open}, {"ask the owner first", t.Ask}} {
			b.WriteString(terminal.Wrap(label, fmt.Sprintf("%s: %s", v.where, v.YearVisits), 80))
			label = "     "
		}
	}
	b.WriteString("\nMonth by month\n")
	for m := 0; m < 12; {
		n := m + 1
		for n < 12 && slices.Equal(y.Months[n].Targets, y.Months[m].Targets) {
			n++
		}
		label := monthNames[m]
		if n > m+1 {
			label += " to " + monthNames[n-1]
		}
		b.WriteString(terminal.Wrap(fmt.Sprintf("  %-12s", label), y.inSeason(m), 80))
		m = n
	}
	b.WriteString("\nHow to tell them\n")
	for k, t := range y.Targets {
		for i, c := range t.Cautions {
			label := "     "
			if i == 0 {
				label = fmt.Sprintf("  %c  ", 'A'+k)
			}
			b.WriteString(terminal.Wrap(label, c.Title+": "+c.Text, 80))
		}
	}
	for _, n := range y.Notes {
		b.WriteString(terminal.Wrap("  note  ", terminal.Plain(n), 80))
	}
	fmt.Fprintf(&b, "\n%s\n", y.Caution)
	return b.String()
}

var monthNames = []string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}

// strip shows the months of each target: a mark, or the good days of a month.
func (y *Year) strip(b *strings.Builder) {
	wide := 0
	for _, t := range y.Targets {
		wide = max(wide, terminal.Width(terminal.Clip(t.Common, 26)))
	}
	fmt.Fprintf(b, "     %s ", terminal.Left("", wide))
	for _, m := range monthNames {
		fmt.Fprintf(b, " %3s", m)
	}
	b.WriteString("\n")
	known := false
	for k, t := range y.Targets {
		fmt.Fprintf(b, "  %c  %s ", 'A'+k, terminal.Left(terminal.Clip(terminal.Plain(t.Common), 26), wide))
		for m := 1; m <= 12; m++ {
			cell := "·"
			switch {
			case !slices.Contains(t.Months, m):
			case t.GoodDays != nil:
				cell, known = strconv.Itoa(int(t.GoodDays[m-1]+0.5)), true
			default:
				cell = "■"
			}
			fmt.Fprintf(b, " %s", terminal.Right(cell, 3))
		}
		b.WriteString("\n")
	}
	if known {
		b.WriteString("     numbers: good days of a month in mean years, by the profile's rule, which is\n     an assumption\n")
	}
}

// table lists the first rows of the shortlist with what they are worth.
func (y *Year) table(b *strings.Builder, rows int) {
	if rows <= 0 || rows > len(y.Candidates) {
		rows = len(y.Candidates)
	}
	fmt.Fprintf(b, "\nExpected finds in season, by target\n  rank  area ha  access ")
	for k := range y.Targets {
		fmt.Fprintf(b, " %5c", 'A'+k)
	}
	b.WriteString("  stream\n")
	for _, c := range y.Candidates[:rows] {
		line := fmt.Sprintf("  %4d  %7.1f  %s", c.Rank, c.AreaHa, terminal.Left(terminal.Plain(c.Access), 7))
		for _, f := range c.Finds {
			line += fmt.Sprintf(" %5.1f", f)
		}
		line += "  "
		b.WriteString(line + terminal.Clip(terminal.Plain(c.Stream), max(1, 80-terminal.Width(line))) + "\n")
	}
	if rows < len(y.Candidates) {
		fmt.Fprintf(b, "  and %d more (--all)\n", len(y.Candidates)-rows)
	}
}

// inSeason names the targets of a month.
func (y *Year) inSeason(m int) string {
	var words []string
	for k, t := range y.Targets {
		if slices.Contains(y.Months[m].Targets, t.Name) {
			words = append(words, fmt.Sprintf("%c %s", 'A'+k, terminal.Plain(t.Common)))
		}
	}
	if len(words) == 0 {
		return "nothing in season"
	}
	return strings.Join(words, ", ")
}

// String is the patches and what they hold together.
func (v YearVisits) String() string {
	if len(v.Ranks) == 0 {
		return "none"
	}
	words := make([]string, len(v.Ranks))
	for i, r := range v.Ranks {
		words[i] = strconv.Itoa(r)
	}
	return fmt.Sprintf("%s (%.1f finds)", strings.Join(words, ", "), v.Finds)
}
