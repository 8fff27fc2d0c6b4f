package vector

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkt"
)

// shapelyScript prints, for each case (WKT), the distance of every cell centre
// of a w×h frame of 10 m cells with its south-west corner at 0, 0, and whether
// the closed square of the cell meets the geometry.
const shapelyScript = `
import json, sys
from shapely import wkt
from shapely.geometry import Point, box
from shapely.prepared import prep
ask = json.load(sys.stdin)
cells = [(10.0 * x, 10.0 * y) for y in reversed(range(ask["h"])) for x in range(ask["w"])]
centres = [Point(x + 5, y + 5) for x, y in cells]
squares = [box(x, y, x + 10, y + 10) for x, y in cells]
out = []
for text in ask["wkt"]:
    g = wkt.loads(text)
    near = prep(g)
    out.append({"valid": g.is_valid, "distance": [g.distance(p) for p in centres],
                "meets": [int(near.intersects(s)) for s in squares]})
json.dump(out, sys.stdout)
`

// GEOS, by way of shapely, measures every centre against every kind of
// geometry.
func TestFillWithinAgainstShapely(t *testing.T) {
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
	r := rand.New(rand.NewPCG(31, 32))
	f := small(40, 30)
	ask := struct {
		W   int      `json:"w"`
		H   int      `json:"h"`
		WKT []string `json:"wkt"`
	}{W: f.W, H: f.H}
	var geoms []orb.Geometry
	for i := range 48 {
		g := someGeometry(r, i%6, 400, 300)
		geoms = append(geoms, g)
		ask.WKT = append(ask.WKT, wkt.MarshalString(g))
	}
	in, err := json.Marshal(ask)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "-c", shapelyScript)
	cmd.Stdin = strings.NewReader(string(in))
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("shapely: %v", err)
	}
	var answers []struct {
		Valid    bool      `json:"valid"`
		Distance []float64 `json:"distance"`
		Meets    []uint8   `json:"meets"`
	}
	if err := json.Unmarshal(out, &answers); err != nil || len(answers) != len(geoms) {
		t.Fatalf("%d answers of %d: %v", len(answers), len(geoms), err)
	}
	compared, taken := 0, 0
	for i, g := range geoms {
		// Parts that overlap are no valid multipolygon, but their distance is
		// still that to the nearest part; the script says what it thinks of them.
		if !answers[i].Valid && i%6 != 5 {
			t.Fatalf("case %d is not valid: %s", i, ask.WKT[i])
		}
		for _, d := range []float64{0, 3.7, 40 * r.Float64(), 120 * r.Float64()} {
			squares := d == 0 && i%6 < 4
			for c, got := range near(t, f, nil, d, g) {
				far := answers[i].Distance[c]
				want := uint8(0)
				if squares {
					want = answers[i].Meets[c]
				} else if far <= d {
					want = 1
				}
				compared, taken = compared+1, taken+int(want)
				if got != want && (squares || math.Abs(far-d) > 1e-9) {
					t.Errorf("case %d, within %g m of %s: cell %d at %g m is %d", i, d, ask.WKT[i], c, far, got)
				}
			}
		}
	}
	if taken < compared/20 || taken > compared*19/20 {
		t.Errorf("%d of %d cells taken: the cases are one-sided", taken, compared)
	}
}
