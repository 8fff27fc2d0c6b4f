package habitat

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/fixtures"
	"rillwood/habitat/access"
	"rillwood/raster"
	"rillwood/vector"
)

// allLayersFiles are the files of an invented county with every further layer, made once.
var allLayersFiles = sync.OnceValues(func() (map[string][]byte, error) {
	dir, err := os.MkdirTemp("", "county")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	c, err := fixtures.New(300, 300, 10, 3)
	if err != nil {
		return nil, err
	}
	if err := c.Write(context.Background(), dir, nil); err != nil {
		return nil, err
	}
	text := Template(TemplateInputs{Name: "All layers", Elevation: "elevation.tif", Unit: "m", Streams: "streams.gpkg", LandCover: "landcover.tif",
		Legend: "us-30m", Area: "places.gpkg", AreaLayer: "boundary", Curve: "appalachian-highlands", Demo: "."})
	if err := os.WriteFile(filepath.Join(dir, "survey.yaml"), text, 0o644); err != nil {
		return nil, err
	}
	return readFiles(dir)
})

// allLayersSurvey is a survey with every further layer, in a folder of its own.
func allLayersSurvey(t *testing.T) *Survey {
	t.Helper()
	files, err := allLayersFiles()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	s, err := LoadSurvey(filepath.Join(dir, "survey.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	s.Shortlist.MinHa, s.Shortlist.Top = 0.3, 0
	return s
}

func TestAllLayersSameBytes(t *testing.T) {
	sameBytes(t, allLayersSurvey(t), []setting{{1, defaultTile, 0}, {3, 64, 0}, {2, 100, littleMemory}})
}

// A survey that is copied elsewhere with its inputs is the same run, to the byte.
func TestAllLayersElsewhere(t *testing.T) {
	a, b := mapped(t, allLayersSurvey(t)), mapped(t, allLayersSurvey(t))
	first, err := readFiles(a.Folder)
	if err != nil {
		t.Fatal(err)
	}
	second, err := readFiles(b.Folder)
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range first {
		if string(second[name]) != string(data) {
			t.Errorf("%s has other bytes than in another folder", name)
		}
	}
	for _, name := range []string{"run.json", "shortlist.geojson", "ways.geojson"} {
		if text := string(first[name]); text == "" || strings.Contains(text, os.TempDir()) || strings.Contains(text, "NaN") {
			t.Errorf("%s is missing, names a folder of this machine or holds NaN:\n%s", name, text)
		}
	}
	// Every file that was read is on record.
	var rec Record
	readJSON(t, filepath.Join(a.Folder, recordName), &rec)
	for _, want := range []string{"soils.gpkg", "floodzones.gpkg", "geology.tif", "geology.csv", "elm_basal_area.tif", "trees.gpkg", "places.gpkg"} {
		if !slices.ContainsFunc(rec.Inputs, func(f InputFile) bool { return f.Path == want && len(f.SHA256) == 64 }) {
			t.Errorf("run.json has no digest of %s", want)
		}
	}
	for i, w := range rec.Warnings {
		if slices.Contains(rec.Warnings[:i], w) {
			t.Errorf("warned twice: %s", w)
		}
	}
}

// Patches hold no kept-out cell and ground of one access status, and come in
// the order of access; whatever is not mapped is not known, never open.
func TestPatchesAgainstLand(t *testing.T) {
	s := allLayersSurvey(t)
	s.Shortlist.HoleHa, s.Shortlist.Threshold = 2, 0.4
	r := mapped(t, s)
	in, err := OpenInputs(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	g, err := readGround(t.Context(), in, runOptions{workers: 2, tile: defaultTile})
	if err != nil {
		t.Fatal(err)
	}
	defer g.close()
	land, keep := g.access.Status.Mem(), g.keepOut.Plane.Mem()
	last, seen := -1, map[access.Status]int{}
	taken := make([]bool, len(land))
	for _, c := range r.Shortlist.Candidates {
		if o := access.Order(c.Access); o < last {
			t.Errorf("patch %d is %s and stands behind a worse one", c.Rank, c.Access)
		} else {
			last = o
		}
		seen[c.Access]++
		for _, run := range c.patch.Runs {
			each(run, func(x int32) {
				i := int(run.Y)*in.Frame.W + int(x)
				if keep[i] != 0 {
					t.Errorf("patch %d holds kept-out ground at column %d, row %d: %s", c.Rank, x, run.Y, g.keepOut.Reasons[keep[i]-1])
				}
				if access.Status(land[i]) != c.Access {
					t.Errorf("patch %d is called %s; column %d, row %d is %s", c.Rank, c.Access, x, run.Y, access.Status(land[i]))
				}
				if taken[i] {
					t.Errorf("column %d, row %d lies in two patches", x, run.Y)
				}
				taken[i] = true
			})
		}
		// The land is that of the patch's own cells: every name is a unit that
		// holds one of their centres.
		var centres []orb.Point
		for _, run := range c.patch.Runs {
			each(run, func(x int32) {
				e, n := in.Frame.Center(int(x), int(run.Y))
				centres = append(centres, orb.Point{e, n})
			})
		}
		_, want := g.access.Over(centres)
		for _, name := range c.Land {
			if !slices.Contains(want, name) && len(want) < 3 {
				t.Errorf("patch %d is said to lie in %q; its cells lie in %q", c.Rank, name, want)
			}
		}
	}
	if len(seen) < 3 || seen[access.Unknown] == 0 || seen[access.Open] == 0 {
		t.Errorf("patches by status %v: too few kinds to judge by", seen)
	}
	_, written := writtenClasses(t, r, "access")
	_, kept := writtenClasses(t, r, "keep-out")
	w := g.window
	for y := range w.H {
		for x := range w.W {
			i, k := (w.Y+y)*in.Frame.W+w.X+x, y*w.W+x
			if v := written[k]; v == v && uint8(v) != land[i] {
				t.Fatalf("access.tif says %v at %d, %d; the plane %d", v, x, y, land[i])
			}
			if v := kept[k]; v == v && uint8(v) != keep[i] {
				t.Fatalf("keep-out.tif says %v at %d, %d; the plane %d", v, x, y, keep[i])
			}
		}
	}
	for _, layer := range []string{"evidence", "valley-flatness", "access", "keep-out", "height"} {
		_, v := writtenClasses(t, r, layer)
		for y := range w.H {
			for x := range w.W {
				if inside, has := g.status.Mem()[(w.Y+y)*in.Frame.W+w.X+x] != confOutside, v[y*w.W+x] == v[y*w.W+x]; has && !inside {
					t.Fatalf("%s.tif has a value outside the area at %d, %d", layer, x, y)
				}
			}
		}
	}
}

func writtenClasses(t *testing.T, r *Result, layer string) (raster.Frame, []float32) {
	t.Helper()
	return written(t, filepath.Join(r.Folder, "layers", layer+".tif"))
}

// Kept-out ground in the midst of a patch stays out, whatever the tiles, also
// where it is larger than a tile and smaller than the holes that are filled.
func TestWideKeepOutInAPatch(t *testing.T) {
	const tile, wide = 8, 16
	s := allLayersSurvey(t)
	s.Evidence, s.Inventory, s.Access, s.KeepOut = EvidenceSpec{}, InventorySpec{BlendM: 100}, nil, nil
	s.Approach = DefaultSurvey().Approach
	s.Shortlist.HoleHa, s.Shortlist.MaxHa, s.Shortlist.Threshold = 100, 1000, 0.01
	s.Output.Layers, s.Output.Preview = []string{"none"}, false
	r := mapped(t, s)
	in, err := OpenInputs(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	f := in.Frame
	owner := make([]int, f.Cells())
	for _, c := range r.Shortlist.Candidates {
		for _, run := range c.patch.Runs {
			each(run, func(x int32) { owner[int(run.Y)*f.W+int(x)] = c.Rank })
		}
	}
	// A square of whole tiles with two cells of one patch all around it.
	whole := func(x0, y0 int) bool {
		for y := y0 - 2; y < y0+wide+2; y++ {
			for x := x0 - 2; x < x0+wide+2; x++ {
				if o := owner[y*f.W+x]; o == 0 || o != owner[y0*f.W+x0] {
					return false
				}
			}
		}
		return true
	}
	x0, y0 := 0, 0
	for y := tile; y0 == 0 && y+wide+2 < f.H; y += tile {
		for x := tile; y0 == 0 && x+wide+2 < f.W; x += tile {
			if whole(x, y) {
				x0, y0 = x, y
			}
		}
	}
	if y0 == 0 {
		t.Fatal("no patch is wide enough to try it")
	}
	w, n := f.Corner(float64(x0), float64(y0))
	e, so := f.Corner(float64(x0+wide), float64(y0+wide))
	path := filepath.Join(t.TempDir(), "square.gpkg")
	ring := orb.Ring{{w, so}, {e, so}, {e, n}, {w, n}, {w, so}}
	if err := vector.WriteGeoPackage(path, f.WKT, []vector.OutLayer{{Name: "square", Geometry: "Polygon", Features: []vector.Feature{{Geometry: orb.Polygon{ring}}}}}); err != nil {
		t.Fatal(err)
	}
	zero := 0.0
	s.KeepOut = []KeepOutSpec{{LayerSpec: LayerSpec{Path: path}, DistanceM: &zero, Reason: "square"}}
	for _, side := range []int{defaultTile, tile} {
		s.Output.Folder = t.TempDir()
		r, err := mapTiled(t.Context(), s, side, nil)
		if err != nil {
			t.Fatal(err)
		}
		inside, around := 0, 0
		for _, c := range r.Shortlist.Candidates {
			for _, run := range c.patch.Runs {
				each(run, func(x int32) {
					switch dx, dy := int(x)-x0, int(run.Y)-y0; {
					case dx >= 0 && dx < wide && dy >= 0 && dy < wide:
						inside++
					case dx >= -1 && dx <= wide && dy >= -1 && dy <= wide:
						around++
					}
				})
			}
		}
		if inside != 0 || around != 4*wide+4 {
			t.Errorf("tiles of %d: %d kept-out cells in patches, %d of the %d cells around them", side, inside, around, 4*wide+4)
		}
	}
}
