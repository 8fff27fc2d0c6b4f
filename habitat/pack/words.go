package pack

import (
	"fmt"
	"math"
	"strings"
	"unicode"

	"rillwood/habitat/access"
	"rillwood/habitat/results"
)

// shortSafety goes with every waypoint, way, outline and row, since each may
// be handed on alone.
func shortSafety(run *results.Run) string {
	text := "A map says where to look, never what is safe to eat: a deadly brown-spored twin grows on the same wood. Spore print of every cluster, an expert's word, nothing raw, nothing in doubt."
	if run.Help.PoisonLine != "" {
		text += " Poison line " + run.Help.PoisonLine + "."
	}
	return text
}

// safety is every caution in one text, the gravest first.
func safety(run *results.Run) string {
	parts := []string{fmt.Sprintf("Run %s.", run.ID)}
	for _, c := range run.Cautions {
		parts = append(parts, strings.ToUpper(c.Title)+": "+c.Text)
	}
	return strings.Join(parts, " ")
}

// numbers are the figures of a patch in one line.
func numbers(c *results.Candidate) string {
	text := fmt.Sprintf("Patch %d, %s: %s ha, suitability %s, expected finds %s", c.Rank, streamName(c), figure(c.AreaHa, 1), figure(c.SMean, 2), figure(c.Finds, 1))
	if c.Check95 > 0 {
		text += fmt.Sprintf(", %d dead or dying trees to check", c.Check95)
		if !c.HoldsCheck {
			text += " (more than it should hold)"
		}
	}
	if c.Learning {
		text += ", a learning visit"
	}
	return text
}

// accessWords say who may enter; where nothing is known, that one must ask. The
// words go by the status alone: no text of a file can talk them away.
func accessWords(c *results.Candidate) string {
	status, err := access.ParseStatus(c.Access)
	if err != nil {
		status = access.Unknown
	}
	return status.Label()
}

// waysAreDrawn goes with every way.
const waysAreDrawn = "Ways in are drawn from maps: gates, fences, floods and ice are not on them, and a path on the map is no right to walk there."

// wayCautions are those of a way; where the run tells none, what holds of all.
func wayCautions(w *results.Walk) string {
	if text := plain(strings.Join(w.Cautions, " ")); text != "" {
		return text
	}
	return waysAreDrawn
}

// startWords name where a way begins.
func startWords(w *results.Walk) string {
	switch {
	case w.Start != "":
		return w.Start
	case w.StartKind == "parking":
		return "parking place"
	}
	return "road"
}

func streamName(c *results.Candidate) string {
	if c.Stream == "" {
		return "stream without a name"
	}
	return c.Stream
}

func nameOf(run *results.Run) string {
	if run.Name == "" {
		return "Scouting map"
	}
	return run.Name
}

func figure(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "?"
	}
	return fmt.Sprintf("%.*f", decimals, v)
}

// sentences joins texts, each with a capital and a full stop.
func sentences(texts ...string) string {
	var out []string
	for _, t := range texts {
		r := []rune(plain(t))
		if len(r) == 0 {
			continue
		}
		r[0] = unicode.ToUpper(r[0])
		if !strings.ContainsRune(".!?", r[len(r)-1]) {
			r = append(r, '.')
		}
		out = append(out, string(r))
	}
	return strings.Join(out, " ")
}

// plain makes text fit for XML 1.0, CSV and text files alike: one line, without
// control characters and marks that turn the direction of writing (the
// encoders escape the rest).
func plain(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r == unicode.ReplacementChar || r == 0xFFFE || r == 0xFFFF || r == 0xFEFF:
			return -1
		case unicode.IsSpace(r) || unicode.IsControl(r):
			return ' '
		case unicode.Is(unicode.Bidi_Control, r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))
	return strings.Join(strings.Fields(s), " ")
}
