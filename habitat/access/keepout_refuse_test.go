package access

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

func TestKeepOutRefuses(t *testing.T) {
	f := frame(t, 3, 3)
	rail := from(layer(t, "LineString", "railway", row{shift(orb.LineString{{15, 0}, {15, 40}}), []any{"rail"}}))
	table := from(layer(t, "", "railway", row{nil, []any{"rail"}}))
	empty := from(text(t, "none.geojson", `{"type":"FeatureCollection","features":[]}`))
	var many []Barrier
	for i := range MaxReasons + 1 {
		many = append(many, Barrier{rail, 1, fmt.Sprint("reason ", i)})
	}
	for _, c := range []struct {
		name     string
		barriers []Barrier
		want     string
	}{
		{"no reason", []Barrier{{rail, 5, " "}}, "without a reason"},
		{"negative", []Barrier{{rail, -1, "railway"}}, `keep-out "railway": a distance of -1 m`},
		{"no number", []Barrier{{rail, math.NaN(), "railway"}}, "a distance of NaN m"},
		{"endless", []Barrier{{rail, math.Inf(1), "railway"}}, "a distance of +Inf m"},
		{"too many", many, "there are 250 other reasons"},
		{"a table", []Barrier{{table, 5, "railway"}}, `keep-out "railway": `},
		{"an empty layer", []Barrier{{rail, 5, "railway"}, {empty, 5, "dump"}}, `keep-out "dump": `},
		{"no file", []Barrier{{from("none.gpkg"), 5, "dump"}}, "none.gpkg"},
	} {
		t.Run(c.name, func(t *testing.T) {
			k, _, err := ReadKeepOut(context.Background(), c.barriers, f, nil, 2)
			if err == nil || k != nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("%v; want %q", err, c.want)
			}
		})
	}
	if _, _, err := ReadKeepOut(context.Background(), many[:MaxReasons], f, nil, 2); err != nil {
		t.Errorf("%d reasons: %v", MaxReasons, err)
	}
	if _, _, err := ReadKeepOut(context.Background(), []Barrier{{empty, 5, "dump"}}, f, nil, 1); !errors.Is(err, vector.ErrEmpty) {
		t.Errorf("an empty layer: %v", err)
	}
	k, warnings := keepOut(t, f, Barrier{vector.Query{Path: rail.Path, Where: "railway = 'tram'"}, 5, "tram"})
	if len(warnings) != 1 || !strings.Contains(warnings[0], "no feature answers") || k.Cells[0] != 0 {
		t.Errorf("a filter that finds nothing: %q", warnings)
	}
	for _, c := range []struct {
		dist   float64
		reason string
	}{{-1, "field"}, {math.NaN(), "field"}, {5, ""}} {
		if err := k.AddCells(context.Background(), raster.PlaneOf(3, 3, make([]uint8, 9)), c.dist, c.reason); err == nil {
			t.Errorf("cells within %g m for %q: no error", c.dist, c.reason)
		}
	}
	if err := k.AddCells(context.Background(), raster.PlaneOf(2, 3, make([]uint8, 6)), 5, "field"); err == nil {
		t.Error("cells of another size: no error")
	}
}

func TestCoverBarrierCheck(t *testing.T) {
	groups := []string{"crop", "built"}
	for _, c := range []struct {
		b    CoverBarrier
		want string
	}{
		{CoverBarrier{[]string{"crop", "built"}, 15, "field"}, ""},
		{CoverBarrier{nil, 15, "field"}, "no kind of land cover; name some of crop, built"},
		{CoverBarrier{[]string{"crops"}, 15, "field"}, `no land cover "crops"; use some of crop, built`},
		{CoverBarrier{[]string{"crop"}, -15, "field"}, "a distance of -15 m"},
		{CoverBarrier{[]string{"crop"}, 15, ""}, "without a reason"},
	} {
		err := c.b.Check(groups)
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v; want %q", c.b, err, c.want)
		}
	}
}
