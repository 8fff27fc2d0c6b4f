package weather

import "math"

// Element is one thing a station measures each day.
type Element int

// The elements that are read, by their GHCN names TMIN, TMAX, PRCP, SNOW, SNWD.
const (
	Tmin   Element = iota // lowest air temperature, °C
	Tmax                  // highest air temperature, °C
	Precip                // rain and melted snow, mm
	Snow                  // snow fallen, mm
	Depth                 // snow on the ground, mm
	elements
)

var elementNames = [elements]string{"TMIN", "TMAX", "PRCP", "SNOW", "SNWD"}

func (e Element) String() string { return elementNames[e] }

// MarshalText writes the GHCN name.
func (e Element) MarshalText() ([]byte, error) { return []byte(e.String()), nil }

// Series is the record of one station, day after day without a hole: days the
// file does not have are there as NaN.
type Series struct {
	File    string // as it was named
	Format  string // what the file was taken for, in words
	Units   string // in what units it stood, and who says so
	Station string // its id; "" where the file tells none
	First   Day
	Values  [elements][]float64 // by element; all as long as the record, NaN = not known
	Account Account
	Cut     bool // see Until
}

// Account says what became of what stood in the file.
type Account struct {
	Elements [elements]Tally `json:"-"`
	Ignored  []string        `json:"ignored_columns,omitempty"` // of a table, not understood and not used
	Gaps     int             `json:"gaps"`                      // runs of days the file does not have
	GapDays  int             `json:"gap_days"`
	Crossed  int             `json:"crossed"` // days whose minimum stood above the maximum; both were dropped
	Warnings []string        `json:"warnings,omitempty"`
}

// Tally counts one element's values.
type Tally struct {
	Element     Element `json:"element"`
	Known       int     `json:"known"`
	Missing     int     `json:"missing"`      // days of the record without a value, those dropped included
	Failed      int     `json:"failed"`       // dropped: marked as having failed quality control
	Implausible int     `json:"implausible"`  // dropped: no weather has ever been so
	Trace       int     `json:"trace"`        // kept as 0: too little to measure
	PresumedNil int     `json:"presumed_nil"` // kept as 0: no one wrote it down, and it was presumed
}

// Len is the number of days.
func (s *Series) Len() int { return len(s.Values[Tmin]) }

// Last is the last day.
func (s *Series) Last() Day { return s.First + Day(s.Len()) - 1 }

// At is the value of an element on a day, NaN where there is none.
func (s *Series) At(e Element, d Day) float64 {
	i := int(d - s.First)
	if i < 0 || i >= s.Len() {
		return math.NaN()
	}
	return s.Values[e][i]
}

// Has tells whether an element has any value at all.
func (s *Series) Has(e Element) bool {
	for _, v := range s.Values[e] {
		if v == v {
			return true
		}
	}
	return false
}

// Tallies are the counts of all elements, in the order of the constants.
func (a *Account) Tallies() []Tally { return a.Elements[:] }

// Until is the record as it was at the end of a day, or nil where it had not
// begun. The account stays that of the whole file.
func (s *Series) Until(d Day) *Series {
	n := int(d-s.First) + 1
	if n <= 0 {
		return nil
	}
	if n >= s.Len() {
		return s
	}
	cut := *s
	cut.Cut = true
	for e := range cut.Values {
		cut.Values[e] = s.Values[e][:n:n]
	}
	return &cut
}

// Join is the record with the days of another behind it: those after its last
// day only. Days between the two are NaN.
func (s *Series) Join(after *Series) *Series {
	if after.Last() <= s.Last() {
		return s
	}
	joined := *s
	for e := range joined.Values {
		v := append([]float64{}, s.Values[e]...)
		for d := s.Last() + 1; d <= after.Last(); d++ {
			v = append(v, after.At(Element(e), d))
		}
		joined.Values[e] = v
	}
	return &joined
}
