package season

// Truth is what can be said of a condition on a day. The order makes the
// lesser of two their "and", the greater their "or".
type Truth int8

// No is said only where it holds whatever the missing values were.
const (
	No Truth = iota
	Unknown
	Yes
)

func (t Truth) String() string { return [...]string{"no", "unknown", "yes"}[t] }

// MarshalText writes no, unknown or yes.
func (t Truth) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

func truthOf(b bool) Truth {
	if b {
		return Yes
	}
	return No
}

// atLeast compares a value that may be missing.
func atLeast(v, bound float64) Truth {
	if v != v {
		return Unknown
	}
	return truthOf(v >= bound)
}

func atMost(v, bound float64) Truth { return atLeast(-v, -bound) }
