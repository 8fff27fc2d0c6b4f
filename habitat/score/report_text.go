package score

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

const columns = 80

// Text is the report in lines of at most 80 columns.
func (r *Report) Text() string {
	var b strings.Builder
	title := "How good the map has been"
	if r.What != "" {
		title += ": " + r.What
	}
	wrap(&b, "", title)
	wrap(&b, "  ", r.ground())
	b.WriteString("\n                    AUC ± SE        Brier   skill     TSS   Boyce   slope\n")
	for _, m := range r.Maps {
		name := m.Name
		if m.Naive {
			name += " (naive)"
		}
		wrap(&b, "", name)
		row(&b, "unseen blocks", m.Blocked)
		row(&b, "random folds", m.Random)
	}
	b.WriteByte('\n')
	wrap(&b, "  ", "AUC: chance that a yes scores above a no, 0.5 is a toss; its error lets records of one block be alike. Brier: squared error, 0 best; skill: against one chance for all, 0 is none. TSS: share of yes caught less share of no caught. Boyce: −1 to 1, above 0 where finds thicken as the map rises. Slope: 1 is right, below 1 too bold.")
	r.calibration(&b)
	for _, why := range r.reasons() {
		b.WriteByte('\n')
		wrap(&b, "  ", why)
	}
	for _, w := range r.Warnings {
		b.WriteByte('\n')
		wrap(&b, "  ", w)
	}
	return b.String()
}

// ground says what was looked at and how it was parted.
func (r *Report) ground() string {
	if r.Records == 0 {
		return "No records."
	}
	text := fmt.Sprintf("%s in %s of %s, %.6g looks, %.6g yes", count(r.Records, "record"), count(r.Side.Blocks, "block"), kilometres(r.Side.M), r.Trials, r.Found)
	if r.Trials > 0 {
		text += " (" + share(r.Found/r.Trials) + ")"
	}
	text += ": " + r.Side.How + "."
	if r.Folds > 0 {
		text += fmt.Sprintf(" Whole blocks in %d folds;", r.Folds)
	}
	if r.RandomFolds > 0 {
		text += fmt.Sprintf(" %d random folds, seed %d.", r.RandomFolds, r.Seed)
	}
	return text
}

func row(b *strings.Builder, label string, s Scores) {
	auc := number(s.AUC, 3)
	if f := s.AUCByPlace; f.Known() && finite(f.SE) != nil {
		auc = fmt.Sprintf("%.3f ± %.3f", f.Value, f.SE)
	}
	line := fmt.Sprintf("  %-16s  %-13s  %7s %7s %7s %7s %7s", label, auc,
		number(s.Brier, 3), number(s.Skill, 2), number(s.TSS, 2), number(s.Boyce.Index, 2), number(s.Logits.Slope, 2))
	b.WriteString(strings.TrimRight(line, " ") + "\n")
}

// number is a figure, or a dash.
func number(f Figure, digits int) string {
	if finite(f.Value) == nil {
		return "–"
	}
	text := fmt.Sprintf("%.*f", digits, f.Value)
	if strings.Trim(text, "-0.") == "" { // no −0.00
		return strings.TrimPrefix(text, "-")
	}
	return strings.Replace(text, "-", "−", 1)
}

// calibration is the table of the last map that is not naive.
func (r *Report) calibration(b *strings.Builder) {
	for i := len(r.Maps) - 1; i >= 0; i-- {
		m := r.Maps[i]
		if m.Naive {
			continue
		}
		if len(m.Blocked.Bins) == 0 {
			return
		}
		b.WriteByte('\n')
		wrap(b, "", "What "+m.Name+" said of unseen blocks, and what came of it")
		b.WriteString("       said    seen    95 % interval    yes of looks\n")
		for _, c := range m.Blocked.Bins {
			fmt.Fprintf(b, "     %6.3f  %6.3f    %.3f – %.3f    %g of %g\n", c.Said, c.Seen, c.Low, c.High, c.Found, c.Of)
		}
		wrap(b, "  ", "Intervals are Wilson's and take looks as independent; trees of one stop are not, so they are rather too narrow.")
		return
	}
}

// reasons says once each why a figure on unseen blocks is a dash.
func (r *Report) reasons() []string {
	var out []string
	for _, m := range r.Maps {
		seen := map[string]bool{}
		for _, f := range []struct {
			name string
			Figure
		}{
			{"AUC", m.Blocked.AUC}, {"Brier", m.Blocked.Brier}, {"skill", m.Blocked.Skill}, {"TSS", m.Blocked.TSS},
			{"Boyce", m.Blocked.Boyce.Index}, {"slope", m.Blocked.Logits.Slope},
		} {
			if f.Known() || seen[f.Why] {
				continue
			}
			seen[f.Why] = true
			out = append(out, fmt.Sprintf("%s: no %s: %s.", m.Name, f.name, f.Why))
		}
	}
	return out
}

// wrap writes words in lines of at most 80 columns; a sign stays with its
// number.
func wrap(b *strings.Builder, indent, text string) {
	const held = "\x00"
	text = strings.ReplaceAll(text, " %", held+"%")
	line := indent
	for _, word := range strings.Fields(text) {
		word = strings.ReplaceAll(word, held, " ")
		if line != indent && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > columns {
			b.WriteString(line + "\n")
			line = indent
		}
		if line != indent {
			line += " "
		}
		line += word
	}
	b.WriteString(line + "\n")
}
