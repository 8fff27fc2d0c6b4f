package score

// Brier is the mean squared error of chances for single trials, and its skill:
// see Sample.Brier and Sample.Skill.
func Brier(p []float64, is []bool) (brier, skill float64) {
	s := Binary(p, is)
	return s.Brier().Value, s.Skill().Value
}

// Brier is the mean of (p − y)² over all trials, 0 best (Brier 1950, Monthly
// Weather Review 78:1–3). Scores must be chances, 0–1.
func (s Sample) Brier() Figure {
	if why := s.chances(); why != "" {
		return unknown("%s", why)
	}
	sum := 0.0
	for i, p := range s.Score {
		sum += s.Yes[i]*(1-p)*(1-p) + s.No[i]*p*p
	}
	return known(sum / (total(s.Yes) + total(s.No)))
}

// Skill is 1 − Brier / Brier of one chance for all, the share of the trials
// that were: 1 is perfect, 0 no better than knowing just that share, below 0
// worse.
func (s Sample) Skill() Figure {
	b := s.Brier()
	if !b.Known() {
		return b
	}
	if why := s.bothKinds(); why != "" {
		return unknown("%s", why)
	}
	r := s.Rate()
	return known(1 - b.Value/(r*(1-r)))
}
