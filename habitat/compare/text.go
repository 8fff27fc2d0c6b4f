package compare

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"rillwood/habitat/results"
)

// width is the widest line of a text, in characters.
const width = 80

// Text is the comparison for a person, no line wider than 80 columns. Of the
// candidates those are told that are or were among the first rows, all with 0.
func (r *Result) Text(rows int) string {
	var b strings.Builder
	line := func(label, format string, args ...any) {
		wrap(&b, fmt.Sprintf("  %-12s", label), fmt.Sprintf(format, args...))
	}
	b.WriteString("\n")
	wrap(&b, "", "Run A, before: "+r.A.words())
	wrap(&b, "", "Run B, after: "+r.B.words())
	if r.Same {
		line("changed", "nothing: the same inputs, settings, weights, suitability and candidates")
	} else if len(r.Changes) == 0 {
		line("changed", "no input, setting or weight that the records hold")
	}
	kind, doubts := "", 0
	for i := range r.Changes {
		if isDoubt(r.Changes[i].Field) {
			doubts++
			continue
		}
		label := r.Changes[i].Kind
		if label == kind {
			label = ""
		}
		kind = r.Changes[i].Kind
		line(label, "%s", r.Changes[i].words())
	}
	if doubts == 1 {
		line("doubt", "one figure of the profile is more or less sure than it was")
	} else if doubts > 1 {
		line("doubt", "%d figures of the profile are more or less sure than they were", doubts)
	}
	if d := r.Raster; d != nil {
		line("suitability", "mean change %+.4f on %s; up by %g or more on %s, down on %s; newly suitable %s, no longer %s",
			d.Mean+0, hectares(d.ComparedHa), Notable, hectares(d.RaisedHa), hectares(d.LoweredHa), hectares(d.GainedHa), hectares(d.LostHa))
		if d.OnlyAHa+d.OnlyBHa > 0 {
			line("", "known to A alone %s, to B alone %s", hectares(d.OnlyAHa), hectares(d.OnlyBHa))
		}
	}
	c := r.Counts
	line("candidates", "%d before, %d after: %d entered, %d left, %d rose, %d fell, %d stayed", r.A.Listed, r.B.Listed, c.Entered, c.Left, c.Rose, c.Fell, c.Stayed)
	for i, o := range r.Overlap {
		label := fmt.Sprintf("first %d", o.Top)
		if i > 0 {
			label = "whole list"
		}
		if o.Share == nil {
			line(label, "nothing to share: a list is empty")
			continue
		}
		line(label, "%d of %d on both lists (%.0f %%)", o.Shared, o.Of, 100**o.Share)
	}
	for _, n := range r.Notes {
		line("note", "%s", n)
	}
	if !r.Same {
		r.pairsText(&b, rows)
	}
	b.WriteString("\n")
	wrap(&b, "", Caution+" Ask whose land it is, and follow local law and posted signs.")
	return b.String()
}

func (s Side) words() string {
	text := s.Run
	if s.Name != "" {
		text = s.Name + ", " + text
	}
	return fmt.Sprintf("%s; a patch needs %g", text, s.Threshold)
}

func (c *Change) words() string {
	if c.Before == nil && c.After == nil {
		return c.What
	}
	if !scalar(c.Before) && !scalar(c.After) {
		if c.Before == nil {
			return fmt.Sprintf("%s: new, %s", c.What, shown(c.After))
		}
		if c.After == nil {
			return fmt.Sprintf("%s: left out, %s", c.What, shown(c.Before))
		}
	}
	return fmt.Sprintf("%s: %s → %s", c.What, shown(c.Before), shown(c.After))
}

// shown is a value in words; nothing beside a number is nought, beside a
// switch off.
func shown(v any) string {
	switch v := v.(type) {
	case nil:
		return "not given"
	case bool:
		if v {
			return "on"
		}
		return "off"
	case float64:
		return fmt.Sprintf("%.6g", v)
	case string:
		return results.Clip(v, 120)
	}
	return results.Clip(compactText(v), 120)
}

// pairsText lists the candidates that are or were among the first rows.
func (r *Result) pairsText(b *strings.Builder, rows int) {
	b.WriteString("\n  before  after  change   score            suit.          area ha      access\n")
	told := 0
	for i := range r.Candidates {
		p := &r.Candidates[i]
		if rows > 0 && !(p.Before != nil && p.Before.Rank <= rows || p.After != nil && p.After.Rank <= rows) {
			continue
		}
		told++
		x, y := p.Before, p.After
		if x == nil {
			x = &Candidate{}
		}
		if y == nil {
			y = &Candidate{}
		}
		row := fmt.Sprintf("  %6s  %5s  %-7s  %-15s  %-13s  %-11s  %s", rankText(p.Before), rankText(p.After), p.Status,
			both(x.Score, y.Score, 3), both(x.Suitability, y.Suitability, 2), both(x.AreaHa, y.AreaHa, 1), accessText(p))
		b.WriteString(strings.TrimRight(results.Clip(row, width), " ") + "\n")
		wrap(b, strings.Repeat(" ", 17), fmt.Sprintf("bottomland %s, finds %s, walk %s m", both(x.Bottomland, y.Bottomland, 2), both(x.Finds, y.Finds, 1), both(x.WalkM, y.WalkM, 0)))
		wrap(b, strings.Repeat(" ", 17), p.Why.Text)
	}
	if n := len(r.Candidates) - told; n > 0 {
		wrap(b, "  ", fmt.Sprintf("and %d more, of lower rank in both", n))
	}
}

func rankText(c *Candidate) string {
	if c == nil {
		return "-"
	}
	return fmt.Sprint(c.Rank)
}

// both shows a figure before and after, once where it is the same.
func both(x, y *float64, decimals int) string {
	p, q := number(x, decimals), number(y, decimals)
	if p == q {
		return p
	}
	return p + " → " + q
}

func accessText(p *Pair) string {
	switch {
	case p.Before == nil:
		return orUnknown(p.After.Access)
	case p.After == nil || p.Before.Access == p.After.Access:
		return orUnknown(p.Before.Access)
	}
	return orUnknown(p.Before.Access) + " → " + orUnknown(p.After.Access)
}

func hectares(ha float64) string {
	switch {
	case math.Abs(ha) >= 1000:
		return fmt.Sprintf("%.1f km²", ha/100)
	case math.Abs(ha) >= 100:
		return fmt.Sprintf("%.0f ha", ha)
	}
	return fmt.Sprintf("%.1f ha", ha)
}

// wrap writes text behind a label; words longer than a line are cut.
func wrap(b *strings.Builder, label, text string) {
	indent := utf8.RuneCountInString(label)
	col := indent
	b.WriteString(label)
	for i, word := range strings.Fields(printable(text)) {
		word = results.Clip(word, width-indent)
		n := utf8.RuneCountInString(word)
		switch {
		case i > 0 && col+1+n > width:
			b.WriteString("\n" + strings.Repeat(" ", indent))
			col = indent
		case i > 0:
			b.WriteByte(' ')
			col++
		}
		b.WriteString(word)
		col += n
	}
	b.WriteByte('\n')
}

// printable takes control characters out of what files say.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r >= 0x80 && r < 0xa0 {
			return ' '
		}
		return r
	}, s)
}
