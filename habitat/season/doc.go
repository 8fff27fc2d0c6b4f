// Package season tells from a station's daily weather on which days it was,
// and is, worth going out for a target: by a small rule of the profile (Rule)
// that is an assumption and says so. It joins good days to windows, says what
// is usual by the day of the year, judges the days of a forecast, and holds the
// rule against the days of finds and of visits without one.
//
// What is not known stays so: a day is good, not good, or not judged.
package season
