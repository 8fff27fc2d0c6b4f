package compare

import (
	"math"
	"strings"
)

// ratesField is where run records hold hit rates.
const ratesField = "profile.hit_rates"

// readable is the profile of a run record as a person compares it: without the
// sum of its file, of what learning left the counts and not the matrix, and of
// each hit rate the chance itself and what it is believed as, in place of hits
// and trees that learning scales as it needs.
func readable(profile map[string]any) map[string]any {
	out := withoutKeys(profile, "sha256")
	if p, ok := out["posterior"].(map[string]any); ok {
		kept := map[string]any{}
		for _, k := range []string{"records", "until"} {
			if v, ok := p[k]; ok {
				kept[k] = v
			}
		}
		out["posterior"] = kept
	}
	list, ok := out["hit_rates"].([]any)
	if !ok {
		return out
	}
	rates := make([]any, len(list))
	for i, e := range list {
		rates[i] = e
		m, ok := e.(map[string]any)
		if !ok {
			continue
		}
		hits, told := m["hits"].(float64)
		of, toldOf := m["of"].(float64)
		if !told && m["hits"] == nil {
			hits, told = 0, true // noughts may be left out
		}
		if !told || !toldOf || !(of > 0) {
			continue
		}
		rate := withoutKeys(withoutKeys(m, "hits"), "of")
		rate["chance"] = significant(hits / of)
		rates[i] = rate
	}
	out["hit_rates"] = rates
	return out
}

// significant rounds to four digits: learning tells no more, and equal chances
// from other counts stay equal.
func significant(v float64) float64 {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return v
	}
	step := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-3)
	return tidy(math.Round(v/step)*step, 9)
}

// isDoubt tells fields that say how sure a figure of the profile is, not what
// it is.
func isDoubt(field string) bool {
	return strings.HasPrefix(field, "profile.") && strings.HasSuffix(field, ".sd") || field == ratesField+".weight"
}
