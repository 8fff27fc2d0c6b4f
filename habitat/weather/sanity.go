package weather

import "fmt"

// strangeShare of values that no weather has reached is more than slips of
// the pen: the units are others than those told.
const strangeShare = 0.01

// strangeUnits refuses a table whose values are often beyond all weather in
// the units told.
func (g *gather) strangeUnits(c *columns) error {
	for e := range elements {
		t := g.account.Elements[e]
		if t.Implausible == 0 || float64(t.Implausible) <= strangeShare*float64(t.Known+t.Implausible) {
			continue
		}
		return fmt.Errorf("%s: %s, and %d more beyond what was ever measured, if it is in %s as said; look at the units", g.file, g.strange[e], t.Implausible-1, c.unit[e].word)
	}
	return nil
}

// judgeUnits warns where values can be and yet speak against the units: a long
// record that is never warm, whose days and nights lie far apart, or whose
// heaviest rain is a drizzle. The bounds are common practice, no source.
func (s *Series) judgeUnits() {
	const long = 300
	warn := func(format string, args ...any) {
		s.Account.Warnings = append(s.Account.Warnings, fmt.Sprintf(format, args...))
	}
	for _, t := range s.Account.Elements {
		if t.Implausible > 0 {
			warn("%d values of %s beyond what was ever measured were dropped", t.Implausible, t.Element)
		}
	}
	warmest, spread, both := -100.0, 0.0, 0
	for i, hi := range s.Values[Tmax] {
		if hi != hi {
			continue
		}
		warmest = max(warmest, hi)
		if lo := s.Values[Tmin][i]; lo == lo {
			spread += hi - lo
			both++
		}
	}
	wettest, wetDays := 0.0, 0
	for _, v := range s.Values[Precip] {
		if v == v {
			wettest = max(wettest, v)
			wetDays++
		}
	}
	if both >= long && warmest < 10 {
		warn("the warmest of %d days has %.1f °C: do the units fit?", both, warmest)
	}
	if mean := spread / max(1, float64(both)); both >= long && mean > 19 {
		warn("nights lie %.1f °C below days on average, more than at nearly any station: do the units fit?", mean)
	} else if both >= long && mean < 2 {
		warn("nights lie %.1f °C below days on average, less than at nearly any station: do the units fit?", mean)
	}
	if wetDays >= long && wettest > 0 && wettest < 6 {
		warn("the wettest of %d days has %.1f mm: do the units fit?", wetDays, wettest)
	}
	s.judgeSnow(warn)
}

// judgeSnow holds snow fallen against the water in it, on days that stayed
// frozen: fresh snow is about ten times as deep (the ten-to-one rule; common
// practice, no source). Snow depths usually stand in the same units.
func (s *Series) judgeSnow(warn func(string, ...any)) {
	const (
		frozenC     = -1
		enough      = 10 // days
		least, most = 4, 60
	)
	snow, water, days := 0.0, 0.0, 0
	for i, v := range s.Values[Snow] {
		if p := s.Values[Precip][i]; v > 0 && p > 0 && s.Values[Tmax][i] <= frozenC {
			snow, water, days = snow+v, water+p, days+1
		}
	}
	if ratio := snow / max(water, 0.1); days >= enough && (ratio < least || ratio > most) {
		warn("on %d frozen days the snow fallen (SNOW) is %.1f times as deep as the water in it, where 10 is usual: SNOW and SNWD seem to stand in other units than the rest; if so, say how many times they are too small (--snow-times 10)", days, ratio)
	}
}

// ScaleSnow multiplies snow fallen and snow depth, for tables that have them in
// other units than they say, and judges the units anew.
func (s *Series) ScaleSnow(times float64) error {
	if !(times >= 0.001 && times <= 1000) {
		return fmt.Errorf("expected 0.001 to 1000, found %g", times)
	}
	for _, e := range []Element{Snow, Depth} {
		for i, v := range s.Values[e] {
			s.Values[e][i] = v * times
		}
	}
	s.Units += fmt.Sprintf("; snow times %g (told)", times)
	s.Account.Warnings = nil
	s.judgeUnits()
	return nil
}
