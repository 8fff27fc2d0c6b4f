package habitat

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"rillwood/habitat/access"
	"rillwood/habitat/evidence"
)

// evidenceWords counts what the layers of evidence say over a patch.
type evidenceWords struct {
	items  []evidence.Item
	counts [][256]int
	cells  int
}

func (m *surveyor) newWords() *evidenceWords {
	return &evidenceWords{items: m.g.items, counts: make([][256]int, len(m.g.items))}
}

// add counts cell i of a stretch; values holds the stretch of each item.
func (w *evidenceWords) add(values [][]uint8, i int) {
	w.cells++
	for k := range values {
		w.counts[k][values[k][i]]++
	}
}

// words are what most of the patch is called by each layer that moves it,
// the strongest first: all, and those that speak for bottomland.
func (w *evidenceWords) words() (all, speakFor []string) {
	type word struct {
		text  string
		shift float64
	}
	var found []word
	for k, item := range w.items {
		for c, class := range item.Classes {
			if 2*w.counts[k][c+1] > w.cells && class.Shift != 0 {
				found = append(found, word{item.Layer + ": " + phrase(item, class), class.Shift})
			}
		}
	}
	slices.SortStableFunc(found, func(a, b word) int { return -cmp.Compare(math.Abs(a.shift), math.Abs(b.shift)) })
	for _, f := range found {
		all = append(all, f.text)
		if f.shift > 0 {
			speakFor = append(speakFor, f.text)
		}
	}
	return all, speakFor
}

// phrase is a class in a few words.
func phrase(item evidence.Item, c evidence.Class) string {
	value := strings.ToLower(strings.TrimSpace(c.Value))
	switch {
	case strings.Contains(value, "*") || len(value) <= 2 && item.Field != "zone" || strings.Trim(value, "0123456789.-") == "":
		return c.Meaning
	case item.Field == "flooding" && value == "none":
		return "no flooding"
	case item.Field == "flooding":
		return value + " flooding"
	case item.Field == "drainage":
		return value
	case item.Field == "zone":
		return "zone " + c.Value
	}
	return c.Meaning
}

// mostCautious is the status of a patch from its cells by status.
func mostCautious(cells [landKinds]int) access.Status {
	for _, s := range access.ByCaution() {
		if cells[s] > 0 {
			return s
		}
	}
	return access.Unknown
}

// readLayers fetches the further layers of one run of cells.
func (m *surveyor) readLayers(t *tally, x, y, n int) error {
	if err := t.worth.load(x, y, n); err != nil {
		return err
	}
	if m.g.evidence != nil {
		t.shift = slices.Grow(t.shift[:0], n)[:n]
		if err := m.g.evidence.Read(x, y, n, 1, t.shift); err != nil {
			return err
		}
		if t.items == nil {
			t.items = make([][]uint8, len(m.g.items))
		}
		for k, item := range m.g.items {
			t.items[k] = slices.Grow(t.items[k][:0], n)[:n]
			if err := item.Plane.Read(x, y, n, 1, t.items[k]); err != nil {
				return err
			}
		}
	}
	if m.g.access != nil {
		t.land = slices.Grow(t.land[:0], n)[:n]
		return m.g.access.Status.Read(x, y, n, 1, t.land)
	}
	return nil
}
