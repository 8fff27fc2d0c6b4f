package season

import (
	"math"

	"rillwood/habitat/weather"
)

var nan = math.NaN()

// bareC is a night too warm for fresh snow to lie. Common practice, no source.
const bareC = 3

// meltOf is by how much snow depth fell onto each day (mm), 0 on days with
// Tmax of 0 °C or less: what settles in frost gives no water. NaN where the
// depth of either day or the temperature is not known and could matter. Ground
// that was bare, on a day without a value, is taken as bare still when nothing
// fell or the night stayed above 3 °C.
func meltOf(s *weather.Series) []float64 {
	tmax, rain := s.Values[weather.Tmax], s.Values[weather.Precip]
	tmin := s.Values[weather.Tmin]
	lost := make([]float64, s.Len())
	before := nan
	for i, depth := range s.Values[weather.Depth] {
		if depth != depth && before == 0 && (rain[i] == 0 || tmin[i] > bareC) {
			depth = 0
		}
		switch {
		case tmax[i] <= 0 || before == 0:
			lost[i] = 0
		case depth != depth || before != before:
			lost[i] = nan
		case depth >= before:
			lost[i] = 0
		case tmax[i] != tmax[i]:
			lost[i] = nan
		default:
			lost[i] = before - depth
		}
		before = depth
	}
	return lost
}

// sums gives the degree-days gathered since the last start, the day itself
// included; NaN before the first start in the record, and from a gap too long
// to fill until the next start.
func (d *DegreeDays) sums(s *weather.Series) []float64 {
	daily := make([]float64, s.Len())
	for i := range daily {
		daily[i] = d.Method.Daily(s.Values[weather.Tmin][i], s.Values[weather.Tmax][i], d.BaseC, d.CutoffC)
	}
	fillGaps(daily, d.FillDays)
	month, dom, err := d.start()
	if err != nil {
		panic(err) // rules are checked when they are read
	}
	sum := nan
	out := make([]float64, len(daily))
	for i, v := range daily {
		if _, m, day := (s.First + weather.Day(i)).Date(); m == month && day == dom {
			sum = 0
		}
		sum += v
		out[i] = sum
	}
	return out
}

// fillGaps draws a straight line through gaps of at most n days.
func fillGaps(v []float64, n int) {
	for i := 1; i < len(v); i++ {
		if v[i] == v[i] || v[i-1] != v[i-1] {
			continue
		}
		end := i
		for end < len(v) && v[end] != v[end] {
			end++
		}
		if end-i <= n && end < len(v) {
			from, step := v[i-1], (v[end]-v[i-1])/float64(end-i+1)
			for k := i; k < end; k++ {
				v[k] = from + step*float64(k-i+1)
			}
		}
		i = end
	}
}
