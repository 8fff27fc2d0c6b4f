package results

import (
	"context"
	"encoding/json"
	"math"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"rillwood/habitat/access"
	"rillwood/vector"
)

// blots are statuses in blots of all shapes, with holes, hairs and corners that
// touch; 255 is outside the map.
func blots(x, y int) uint8 {
	if x < 4 && y < 9 {
		return 255
	}
	v := math.Sin(float64(x)/5) + math.Cos(float64(y)/4) + math.Sin(float64(x*y)/37)
	return uint8(min(4, max(0, int(v+2.2))))
}

// GEOS finds the areas valid and apart, and each cell's centre in the area of
// its own status and in no other.
func TestAccessAreasAgainstGEOS(t *testing.T) {
	dir := made{w: 90, h: 60, access: blots}.write(t)
	r := opened(t, dir)
	for _, c := range []struct {
		name           string
		x0, y0, x1, y1 int
	}{{"a piece", 0, 0, 71, 53}, {"over the edge", 60, 30, 140, 120}} {
		t.Run(c.name, func(t *testing.T) {
			b := orb.Bound{Min: orb.Point{madeX0 + 10*float64(c.x0), madeY0 - 10*float64(c.y1)}, Max: orb.Point{madeX0 + 10*float64(c.x1), madeY0 - 10*float64(c.y0)}}
			areas, err := r.AccessAreas(context.Background(), b)
			if err != nil {
				t.Fatal(err)
			}
			to, err := vector.FromWGS84(r.Frame.WKT)
			if err != nil {
				t.Fatal(err)
			}
			var features []vector.GeoFeature
			for _, a := range areas {
				g, err := to.Geometry(a.Shape)
				if err != nil {
					t.Fatal(err)
				}
				features = append(features, vector.GeoFeature{ID: int(must1(access.ParseStatus(a.Status))), Geometry: g})
			}
			path := filepath.Join(t.TempDir(), "areas.json")
			putShapes(t, path, features)
			var got struct {
				Invalid []string
				Shared  float64
				Wrong   []string
				Right   int
			}
			judge(t, &got, `
import json, sys, shapely.geometry
from shapely.geometry import shape
from shapely.prepared import prep
from shapely.validation import explain_validity
from osgeo import gdal
x0, y0, x1, y1 = map(int, sys.argv[3:7])
a = gdal.Open(sys.argv[2]).ReadAsArray()
areas = {int(k): shape(g) for k, g in json.load(open(sys.argv[1]))}
invalid = [explain_validity(g) for g in areas.values() if not g.is_valid]
shared = max([areas[i].intersection(areas[j]).area for i in areas for j in areas if i < j] or [0])
wrong, right = [], 0
ready = {k: prep(g) for k, g in areas.items()}
for y in range(y0, min(y1, a.shape[0])):
    for x in range(x0, min(x1, a.shape[1])):
        p = shapely.geometry.Point(500000 + 10*x + 5, 4800000 - 10*y - 5)
        inside = [k for k, g in ready.items() if g.contains(p)]
        want = [int(a[y, x])] if 1 <= a[y, x] <= 4 else []
        if inside == want: right += 1
        else: wrong.append('%d,%d: %s, want %s' % (x, y, inside, want))
print(json.dumps(dict(Invalid=invalid, Shared=shared, Wrong=wrong[:5], Right=right)))
`, path, filepath.Join(dir, "layers", "access.tif"), num(float64(c.x0)), num(float64(c.y0)), num(float64(c.x1)), num(float64(c.y1)))
			cells := (min(c.x1, 90) - c.x0) * (min(c.y1, 60) - c.y0)
			// Places go to degrees and back, which moves them by far less than a millimetre.
			if len(got.Invalid) > 0 || got.Shared > 0.01 || len(got.Wrong) > 0 || got.Right != cells {
				t.Errorf("%d cells: %+v", cells, got)
			}
		})
	}
}

func must1[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// putShapes writes pairs of a number and a geometry.
func putShapes(t *testing.T, path string, features []vector.GeoFeature) {
	t.Helper()
	pairs := [][2]any{}
	for _, f := range features {
		pairs = append(pairs, [2]any{f.ID, map[string]any{"type": f.Geometry.GeoJSONType(), "coordinates": f.Geometry}})
	}
	data, err := json.Marshal(pairs)
	if err != nil {
		t.Fatal(err)
	}
	put(t, path, string(data))
}

// Statuses come in their order, in degrees, and unknown ground is no area.
func TestAccessAreasInOrder(t *testing.T) {
	r := opened(t, made{access: func(x, y int) uint8 { return []uint8{4, 0, 2, 3, 1, 255}[x/10] }}.write(t))
	w, s, e, n := r.Frame.Bounds()
	all := orb.Bound{Min: orb.Point{w, s}, Max: orb.Point{e, n}}
	areas, err := r.AccessAreas(context.Background(), all)
	if err != nil {
		t.Fatal(err)
	}
	var order []string
	for _, a := range areas {
		order = append(order, a.Status)
		b := a.Shape.Bound()
		if len(a.Shape) != 1 || b.Min[0] < -87.1 || b.Max[0] > -86.9 || b.Min[1] < 43.3 || b.Max[1] > 43.4 {
			t.Errorf("%s: %v", a.Status, a.Shape)
		}
	}
	if d := cmp.Diff([]string{"open", "permit", "private", "closed"}, order); d != "" {
		t.Error(d)
	}
	for name, b := range map[string]orb.Bound{"elsewhere": {Min: orb.Point{0, 0}, Max: orb.Point{9, 9}}, "no ground": {}} {
		if got, err := r.AccessAreas(context.Background(), b); err != nil || got != nil {
			t.Errorf("%s: %v, %v", name, got, err)
		}
	}
	if got, err := opened(t, made{}.write(t)).AccessAreas(context.Background(), all); err != nil || got != nil {
		t.Errorf("without a layer: %v, %v", got, err)
	}
}

// Every code of the layer is understood as the run wrote it.
func TestAccessCodes(t *testing.T) {
	for s, want := range map[access.Status]string{access.Unknown: "unknown", access.Open: "open", access.Permit: "permit", access.Private: "private", access.Closed: "closed"} {
		r := opened(t, made{access: func(x, y int) uint8 { return uint8(s) }}.write(t))
		w, south, e, n := r.Frame.Bounds()
		areas, err := r.AccessAreas(context.Background(), orb.Bound{Min: orb.Point{w, south}, Max: orb.Point{e, n}})
		if err != nil {
			t.Fatal(err)
		}
		if want == "unknown" {
			if len(areas) > 0 {
				t.Errorf("unknown ground is drawn as %v", areas)
			}
			continue
		}
		if len(areas) != 1 || areas[0].Status != want {
			t.Errorf("code %d: %v, want %s", s, areas, want)
		}
	}
}

// On larger cells ground is only ever drawn as more cautious than it is.
func TestLargePiecesErrToCaution(t *testing.T) {
	r := opened(t, made{w: 131, h: 619, access: blots}.write(t))
	for _, most := range []int{131 * 619, 9_000, 3_000, 300} {
		levels, f, err := r.cautious(context.Background(), r.Frame, most)
		if err != nil {
			t.Fatal(err)
		}
		k := int(f.Cell / 10)
		if len(levels) != f.W*f.H || len(levels) > most || most == 131*619 != (k == 1) {
			t.Fatalf("%d cells, at most %d, %d times as wide", len(levels), most, k)
		}
		for y := range f.H {
			for x := range f.W {
				want := uint8(0)
				for v := y * k; v < min((y+1)*k, 619); v++ {
					for u := x * k; u < min((x+1)*k, 131); u++ {
						if c := blots(u, v); c != 255 {
							want = max(want, level(access.Status(c)))
						}
					}
				}
				if got := levels[y*f.W+x]; got != want {
					t.Fatalf("%d times as wide, cell %d, %d: %d, want %d", k, x, y, got, want)
				}
			}
		}
		areas, err := r.accessAreas(context.Background(), r.Frame, most)
		if err != nil {
			t.Fatal(err)
		}
		// A larger cell is drawn where it lies.
		box := orb.MultiPoint{}.Bound()
		for i, a := range areas {
			if box = box.Union(a.Shape.Bound()); i == 0 {
				box = a.Shape.Bound()
			}
		}
		at := must1(vector.FromWGS84(f.WKT))
		low, high := must1(at.Point(box.Min)), must1(at.Point(box.Max))
		w, s, e, n := f.Bounds()
		if math.Abs(low[0]-w) > 2*f.Cell || math.Abs(low[1]-s) > 2*f.Cell || math.Abs(high[0]-e) > 2*f.Cell || math.Abs(high[1]-n) > 2*f.Cell {
			t.Errorf("%d times as wide: drawn from %v to %v, the grid is %v", k, low, high, f)
		}
	}
}

func TestLevelsAreThoseOfCaution(t *testing.T) {
	if !(level(access.Closed) > level(access.Unknown) && level(access.Unknown) > level(access.Private) && level(access.Private) > level(access.Permit) && level(access.Permit) > level(access.Open) && level(access.Open) > 0 && level(77) == 0) {
		t.Error("levels out of order")
	}
}
