package vector

import (
	"math"
	"strconv"
	"strings"
)

type valueKind uint8

const (
	kindNull valueKind = iota
	kindInt
	kindFloat
	kindText
)

// Value is one field of one feature: a whole number, a number, a text, or
// NULL (the zero Value). Dates and lists come as text.
type Value struct {
	kind  valueKind
	int   int64
	float float64
	text  string
}

// IntValue is a whole number.
func IntValue(v int64) Value { return Value{kind: kindInt, int: v} }

// FloatValue is a number; one that is not finite is NULL.
func FloatValue(v float64) Value {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Value{}
	}
	return Value{kind: kindFloat, float: v}
}

// TextValue is a text; bytes that are not UTF-8 become U+FFFD.
func TextValue(s string) Value {
	return Value{kind: kindText, text: strings.ToValidUTF8(s, "\uFFFD")}
}

// IsNull tells whether the file holds no value.
func (v Value) IsNull() bool { return v.kind == kindNull }

// String is the value as text: "" for NULL, whole numbers without a decimal
// point even where the file keeps them as reals (code 46006.0 is "46006").
func (v Value) String() string {
	switch v.kind {
	case kindInt:
		return strconv.FormatInt(v.int, 10)
	case kindFloat:
		return strconv.FormatFloat(v.float, 'f', -1, 64)
	}
	return v.text
}

// Float is the value as a number. ok is false for NULL and for text that is
// not a finite decimal number; numbers kept as text are read.
func (v Value) Float() (f float64, ok bool) {
	switch v.kind {
	case kindInt:
		return float64(v.int), true
	case kindFloat:
		return v.float, true
	case kindText:
		f, err := strconv.ParseFloat(strings.TrimSpace(v.text), 64)
		if err != nil || math.IsNaN(f) || math.IsInf(f, 0) {
			return 0, false
		}
		return f, true
	}
	return 0, false
}

// Int is the value as a whole number. ok is false for NULL, for text that is
// not one, and for a number with a fractional part or beyond ±2⁵³.
func (v Value) Int() (i int64, ok bool) {
	switch v.kind {
	case kindInt:
		return v.int, true
	case kindText:
		if i, err := strconv.ParseInt(strings.TrimSpace(v.text), 10, 64); err == nil {
			return i, true
		}
	}
	f, ok := v.Float()
	if !ok || f != math.Trunc(f) || math.Abs(f) > 1<<53 {
		return 0, false
	}
	return int64(f), true
}

// Any is the value as nil, int64, float64 or string.
func (v Value) Any() any {
	switch v.kind {
	case kindInt:
		return v.int
	case kindFloat:
		return v.float
	case kindText:
		return v.text
	}
	return nil
}
