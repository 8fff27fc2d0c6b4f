package season

import (
	"math"
	"testing"
	"time"
)

// The days of a month are the sum of its days' chances; a 29 February counts
// as often as there is one in four hundred years; a day never judged is none.
func TestByMonth(t *testing.T) {
	got := Typical{Days: []Usual{
		{Day: slot{time.January, 1}, Years: 4, InWindow: 1}, {Day: slot{time.January, 2}, Years: 8, InWindow: 8},
		{Day: slot{time.February, 29}, Years: 2, InWindow: 2}, {Day: slot{time.March, 1}},
	}}.ByMonth()
	for m, want := range [12]float64{1.25, 97. / 400} {
		if math.Abs(got[m]-want) > 1e-12 {
			t.Errorf("month %d: got %g, want %g", m+1, got[m], want)
		}
	}
}
