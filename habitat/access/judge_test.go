package access

import (
	"encoding/json"
	"os/exec"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkt"
)

// coversScript tells, for each point, which polygons cover it (outline included).
const coversScript = `
import json, sys
from shapely import wkt
from shapely.geometry import Point
from shapely.prepared import prep
ask = json.load(sys.stdin)
shapes = [wkt.loads(t) for t in ask["shapes"]]
near = [prep(s) for s in shapes]
json.dump({"valid": [s.is_valid for s in shapes],
           "covers": [[i for i, s in enumerate(near) if s.covers(Point(x, y))] for x, y in ask["points"]]}, sys.stdout)
`

// GEOS, by way of shapely, says which units hold a place; the rule of caution
// is then applied plainly. Among the places are corners and points of outlines.
func TestAtAgainstShapely(t *testing.T) {
	python := ""
	for _, p := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(p, "-c", "import shapely.prepared").Run() == nil {
			python = p
			break
		}
	}
	if python == "" {
		t.Skip("no python3 with shapely here: the comparison with it is not run")
	}
	r := newRand(9)
	f := frame(t, 50, 40)
	units := someUnits(r, 24, 500, 400)
	// Blocks of whole metres share outlines with each other.
	for range 16 {
		w, s := 20*float64(r.IntN(22)), 20*float64(r.IntN(16))
		units = append(units, Unit{"block", Status(r.IntN(statuses)), box(w, s, w+20*float64(1+r.IntN(4)), s+20*float64(1+r.IntN(4)))})
	}
	var ask struct {
		Shapes []string    `json:"shapes"`
		Points []orb.Point `json:"points"`
	}
	for _, u := range units {
		ask.Shapes = append(ask.Shapes, wkt.MarshalString(u.Geometry))
	}
	for range 500 {
		ask.Points = append(ask.Points, orb.Point{500000 + 500*r.Float64(), 4600000 + 400*r.Float64()})
		ask.Points = append(ask.Points, orb.Point{500000 + 10*float64(r.IntN(51)), 4600000 + 10*float64(r.IntN(41))})
	}
	in, err := json.Marshal(ask)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "-c", coversScript)
	cmd.Stdin = strings.NewReader(string(in))
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("shapely: %v", err)
	}
	var answer struct {
		Valid  []bool  `json:"valid"`
		Covers [][]int `json:"covers"`
	}
	if err := json.Unmarshal(out, &answer); err != nil || len(answer.Covers) != len(ask.Points) {
		t.Fatalf("%d answers of %d: %v", len(answer.Covers), len(ask.Points), err)
	}
	// Parts that overlap or a hole that sticks out make a shape of which GEOS
	// gives no account: those are left out.
	var valid []Unit
	number := map[int]int{}
	for i, u := range units {
		if answer.Valid[i] {
			number[i] = len(valid)
			valid = append(valid, u)
		}
	}
	if len(valid) < 30 {
		t.Fatalf("only %d valid units of %d", len(valid), len(units))
	}
	l := landOf(t, f, valid)
	var seen, want [statuses]int
	for k, p := range ask.Points {
		status, name, any := Unknown, "", false
		for _, i := range answer.Covers[k] {
			if n, ok := number[i]; ok && (!any || caution(valid[n].Status) > caution(status)) {
				status, name, any = valid[n].Status, valid[n].Name, true
			}
		}
		got, gotName := l.At(p)
		if got != status || gotName != name {
			t.Errorf("at %v: %v, %q; GEOS: %v, %q", p, got, gotName, status, name)
		}
		seen[got]++
		want[status]++
	}
	shares, _ := l.Over(ask.Points)
	for s := range shares {
		if shares[s] != float64(want[s])/float64(len(ask.Points)) {
			t.Errorf("%v on a share of %g, GEOS: %d of %d", Status(s), shares[s], want[s], len(ask.Points))
		}
		if seen[s] == 0 {
			t.Errorf("no place is %v: the cases are one-sided", Status(s))
		}
	}
}
