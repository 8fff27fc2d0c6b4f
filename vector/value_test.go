package vector

import (
	"math"
	"testing"
)

func TestValue(t *testing.T) {
	for _, c := range []struct {
		name    string
		v       Value
		null    bool
		text    string
		float   float64
		isFloat bool
		int     int64
		isInt   bool
	}{
		{"null", Value{}, true, "", 0, false, 0, false},
		{"zero", IntValue(0), false, "0", 0, true, 0, true},
		{"code kept as a real", FloatValue(46006), false, "46006", 46006, true, 46006, true},
		{"long id kept as a real", FloatValue(10000200012345), false, "10000200012345", 10000200012345, true, 10000200012345, true},
		{"fraction", FloatValue(2.5), false, "2.5", 2.5, true, 0, false},
		{"beyond whole numbers", FloatValue(1e300), false, "1" + zeros(300), 1e300, true, 0, false},
		{"not a number", FloatValue(math.NaN()), true, "", 0, false, 0, false},
		{"infinite", FloatValue(math.Inf(1)), true, "", 0, false, 0, false},
		{"empty text", TextValue(""), false, "", 0, false, 0, false},
		{"number in a text", TextValue(" 12.50 "), false, " 12.50 ", 12.5, true, 0, false},
		{"whole number in a text", TextValue("9007199254740993"), false, "9007199254740993", 9007199254740992, true, 9007199254740993, true},
		{"infinity in a text", TextValue("inf"), false, "inf", 0, false, 0, false},
		{"bad utf-8", TextValue("a\xffb"), false, "a\uFFFDb", 0, false, 0, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, isFloat := c.v.Float()
			i, isInt := c.v.Int()
			if c.v.IsNull() != c.null || c.v.String() != c.text || f != c.float || isFloat != c.isFloat || i != c.int || isInt != c.isInt {
				t.Errorf("got null %t, %q, %g %t, %d %t", c.v.IsNull(), c.v.String(), f, isFloat, i, isInt)
			}
		})
	}
}

func zeros(n int) string {
	b := make([]byte, n)
	for i := range b {
		b[i] = '0'
	}
	return string(b)
}
