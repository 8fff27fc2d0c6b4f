package habitat

import (
	"fmt"
	"math"
	"strings"
)

// tableRows is how many candidates the summary lists.
const tableRows = 10

// Text is the end of a run for a person: what was mapped, the best patches,
// what to mind. No line is wider than 80 columns.
func (r *Result) Text() string {
	var b strings.Builder
	s := r.Summary
	name := s.Name
	if name == "" {
		name = "Scouting map"
	}
	fmt.Fprintf(&b, "\n%s\n", oneLine(name))
	line := func(label, format string, args ...any) {
		wrapInto(&b, fmt.Sprintf("  %-12s", label), fmt.Sprintf(format, args...))
	}
	line("mapped", "%s, %.1f %% of it drained to a stream on the map", hectares(s.AreaHa), 100*s.DrainedShare)
	line("streams", "%s, %d pieces", s.Streams, s.Reaches)
	line("land cover", "%s", s.LandCover)
	line("candidates", "%s above suitability %g (%.1f %%); %d patches, %s; the best %d are listed, %s with %.1f expected finds",
		hectares(s.AboveHa), s.Threshold, 100*s.AboveShare, s.Patches, hectares(s.PatchesHa), s.Listed, hectares(s.ListedHa), s.ListedFinds)
	for _, l := range s.layerLines() {
		line(l[0], "%s", l[1])
	}
	for _, w := range s.Warnings {
		line("note", "%s", w)
	}
	if len(r.Shortlist.Candidates) > 0 {
		b.WriteString("\n  rank  area ha  suit.  finds  check  access   walk m  stream\n")
		for _, c := range r.Shortlist.Candidates[:min(tableRows, len(r.Shortlist.Candidates))] {
			check := "-"
			if c.Check95 > 0 {
				check = fmt.Sprint(c.Check95)
				if !c.HoldsCheck {
					check += "*"
				}
			}
			stream := c.Stream
			if stream == "" {
				stream = "no name"
			}
			walk := "-"
			if c.Walk != nil && c.Walk.OK {
				walk = fmt.Sprintf("%.0f", c.Walk.DistanceM)
			}
			fmt.Fprintf(&b, "  %4d  %7.1f  %5.2f  %5.1f  %5s  %-7s  %6s  %s\n", c.Rank, c.AreaHa, c.SMean, c.Finds, check, c.Access, walk, clip(oneLine(stream), 26))
		}
		b.WriteString("  check: dead or dying trees to look at, likeliest hosts first, for a 95 %\n  chance of one find (* more than the patch is expected to hold)\n")
	}
	b.WriteString("\nBefore you go\n")
	for _, c := range ShortCautions(r.Profile) {
		wrapInto(&b, "  - ", c.Title+": "+c.Text)
	}
	picture := ""
	if r.Preview {
		picture = "preview.png, "
	}
	fmt.Fprintf(&b, "\nResults are in %s: %sshortlist.geojson, suitability.tif\n", r.Folder, picture)
	return b.String()
}

func hectares(ha float64) string {
	switch {
	case ha >= 10000:
		return fmt.Sprintf("%.0f km²", ha/100)
	case ha >= 1000:
		return fmt.Sprintf("%.1f km²", ha/100)
	case math.Abs(ha) >= 100:
		return fmt.Sprintf("%.0f ha", ha)
	}
	return fmt.Sprintf("%.1f ha", ha)
}

func clip(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}

// wrapInto writes text behind a label, in lines of at most 80 columns.
func wrapInto(b *strings.Builder, label, text string) {
	const width = 80
	indent := strings.Repeat(" ", len([]rune(label)))
	col := len([]rune(label))
	b.WriteString(label)
	for i, word := range strings.Fields(text) {
		n := len([]rune(word))
		if i > 0 && col+1+n > width {
			b.WriteString("\n" + indent)
			col = len(indent)
		} else if i > 0 {
			b.WriteByte(' ')
			col++
		}
		b.WriteString(word)
		col += n
	}
	b.WriteByte('\n')
}
