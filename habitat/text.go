package habitat

import (
	"fmt"
	"math"
	"strings"

	"rillwood/internal/terminal"
)

// Text is the end of a run for a person: what was mapped, the best patches,
// what to mind. No line is wider than 80 columns, but for a folder's path.
func (r *Result) Text() string { return r.TextOn(terminal.Screen{}) }

// TextOn is Text set for a screen: narrower ones get a table of fewer columns.
// What comes from layers and surveys has no control characters left.
func (r *Result) TextOn(on terminal.Screen) string {
	var b strings.Builder
	s := r.Summary
	name := terminal.Plain(s.Name)
	if name == "" {
		name = "Scouting map"
	}
	fmt.Fprintf(&b, "\n%s\n", on.Paint(terminal.Bold, terminal.Clip(name, on.Width())))
	line := func(label, format string, args ...any) {
		text := terminal.Wrap(fmt.Sprintf("  %-12s", label), terminal.Plain(fmt.Sprintf(format, args...)), on.Width())
		if label == "note" {
			text = "  " + on.Paint(terminal.Yellow, label) + text[2+len(label):]
		}
		b.WriteString(text)
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
	b.WriteString(candidateTable(r.Shortlist.Candidates, on))
	fmt.Fprintf(&b, "\n%s\n", on.Paint(terminal.Bold, "Before you go"))
	for _, c := range ShortCautions(r.Profile) {
		text := terminal.Wrap("  - ", c.Title+": "+c.Text, on.Width())
		if rest, ok := strings.CutPrefix(text, "  - "+c.Title+":"); ok { // not broken across lines
			text = "  - " + on.Paint(terminal.Bold, c.Title+":") + rest
		}
		b.WriteString(text)
	}
	b.WriteString("\n" + r.whereTo(on))
	return b.String()
}

// Files are what a person opens first, of what the run wrote, best first.
func (r *Result) Files() []string {
	var files []string
	if r.Report {
		files = append(files, "report.html")
	}
	if r.Preview {
		files = append(files, previewName)
	}
	return append(files, "shortlist.geojson", "suitability.tif")
}

// whereTo says where the results are and what to open first.
func (r *Result) whereTo(on terminal.Screen) string {
	files := r.Files()
	how := ""
	if r.Report {
		how = " (open it in a browser)"
	}
	list := terminal.Wrap("  ", files[0]+how+", "+strings.Join(files[1:], ", "), on.Width())
	// The path is never broken, so that it can be copied.
	where := fmt.Sprintf("Results are in %s:", terminal.Path(r.Folder))
	if short := where + " " + strings.TrimSpace(list); !strings.Contains(strings.TrimSpace(list), "\n") && terminal.Width(short) <= on.Width() {
		return short + "\n"
	}
	return where + "\n" + list
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

// clip cuts a text to n characters.
func clip(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}

// wrapInto writes text behind a label, in lines of at most 80 columns.
func wrapInto(b *strings.Builder, label, text string) {
	b.WriteString(terminal.Wrap(label, text, terminal.Standard))
}
