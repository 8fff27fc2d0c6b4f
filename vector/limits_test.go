package vector

import (
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

func TestReadKeepsToItsLimits(t *testing.T) {
	l := OutLayer{Name: "made", Geometry: "LineString"}
	for i := range 5000 {
		x := float64(i)
		l.Features = append(l.Features, Feature{Geometry: orb.LineString{{x, 0}, {x, 1}, {x, 2}}})
	}
	path := gpkg(t, 32618, l)
	here := &[4]float64{0, 0, 2999.5, 2}
	for _, c := range []struct {
		name   string
		limits Limits
		bounds *[4]float64
		want   string
	}{
		{"as many as there are", Limits{5000, 16000}, nil, ""},
		{"one feature too many", Limits{4999, 16000}, nil, "more than 4999 features here; choose fewer with where, or raise run.most_features"},
		{"a point too many", Limits{5000, 14999}, nil, "more than 14999 points here"},
		{"most lie elsewhere", Limits{3000, 16000}, here, ""},
		{"not so many here", Limits{2999, 16000}, here, "more than 2999 features here"},
		{"the usual limits", Limits{}, nil, ""},
	} {
		got, err := Read(WithLimits(t.Context(), c.limits), Query{Path: path, Bounds: c.bounds}, "")
		switch {
		case c.want == "" && (err != nil || len(got.Features) < 3000):
			t.Errorf("%s: %d features, %v", c.name, len(got.Features), err)
		case c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), path)):
			t.Errorf("%s: %v, want %q and the file", c.name, err, c.want)
		}
	}
}
