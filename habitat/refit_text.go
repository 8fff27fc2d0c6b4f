package habitat

import (
	"fmt"
	"strings"
)

// Text is the fit for a person. No line is wider than 80 columns.
func (r *Refitted) Text() string {
	var b strings.Builder
	b.WriteString("\nBottomland weights fitted again\n")
	line := func(label, format string, args ...any) {
		wrapInto(&b, fmt.Sprintf("  %-11s", label), fmt.Sprintf(format, args...))
	}
	line("reference", "%s", r.Reference)
	every := "every cell"
	if r.Step > 1 {
		every = fmt.Sprintf("every %d columns and rows", r.Step)
	}
	line("cells", "%d (%s), %.1f %% of them bottom, in %d blocks of %g km; since cells of one block say much the same, they count as %d independent ones",
		r.Cells, every, 100*float64(r.Bottoms)/float64(r.Cells), r.Blocks, r.BlockM/1000, r.Effective)
	line("half odds", "reached on %.1f %% of them, before on %.1f %%", 100*r.ShareAfter, 100*r.ShareBefore)
	b.WriteString("\n  weight              before     sd    after     sd   90 % interval\n")
	for _, w := range r.Weights {
		held := ""
		if w.Held {
			held = "  held at 0"
		}
		fmt.Fprintf(&b, "  %-16s  %8.3f  %5.2f %8.3f  %5.3f   %.3f to %.3f%s\n", w.Name, w.Before, w.BeforeSD, w.After, w.SD, w.Low, w.High, held)
	}
	b.WriteString("\n  scored on blocks that the fit had not seen (AUC: 1 parts bottoms from the\n  rest without fault, 0.5 is chance; log loss: less is better)\n")
	b.WriteString("  half    cells  bottoms  blocks   AUC before  fitted   log loss before  fitted\n")
	for k, h := range r.Halves {
		fmt.Fprintf(&b, "  %4d  %7d  %7d  %6d       %.4f  %.4f            %.4f  %.4f\n", k+1, h.Cells, h.Bottoms, h.Blocks, h.AUCBefore, h.AUCFitted, h.LossBefore, h.LossFitted)
	}
	for _, n := range r.Notes {
		line("note", "%s", n)
	}
	return b.String()
}
