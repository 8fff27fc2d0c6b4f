package season

// Span is a run of days, by their place in the record, both ends included.
type Span struct{ First, Last int }

// Len is the number of days.
func (s Span) Len() int { return s.Last - s.First + 1 }

// spans joins good days to windows: what lies between two good days joins them
// when it is no longer than BridgeDays and all of it in the rule's months. A
// window begins and ends with a good day.
func (w WindowRule) spans(good, months []Truth) []Span {
	var out []Span
	open := false
	var cur Span
	shut := func() {
		if open && cur.Len() >= w.LeastDays {
			out = append(out, cur)
		}
		open = false
	}
	for i, g := range good {
		switch {
		case g == Yes && open:
			cur.Last = i
		case g == Yes:
			cur, open = Span{i, i}, true
		case months[i] == No || i-cur.Last > w.BridgeDays:
			shut()
		}
	}
	shut()
	return out
}

// inSpans marks the days of spans among n.
func inSpans(spans []Span, n int) []bool {
	in := make([]bool, n)
	for _, s := range spans {
		for i := s.First; i <= s.Last; i++ {
			in[i] = true
		}
	}
	return in
}
