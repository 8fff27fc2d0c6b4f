package habitat

import (
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"rillwood/internal/shareddata"
	"rillwood/raster"
	"rillwood/vector"
)

// Runs over published layers. What is asked of the results is what other
// people mapped on the same ground; figures are logged (go test -v -run Real).

// realSurvey loads a survey of fixtures/surveys, with its layers looked up in
// the shared folder. The test is skipped where they are absent.
func realSurvey(t *testing.T, name string) *Survey {
	t.Helper()
	s, err := LoadSurvey(filepath.Join("..", "fixtures", "surveys", name+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	found := func(path string) string {
		_, inside, ok := strings.Cut(filepath.ToSlash(path), "shared/")
		if !ok {
			t.Fatalf("%s: path %q does not lead into the shared folder", name, path)
		}
		return shareddata.Path(t, strings.Split(inside, "/")...)
	}
	for _, list := range [][]string{s.Elevation.Path, s.Streams.Path, s.LandCover.Path} {
		for i := range list {
			list[i] = found(list[i])
		}
	}
	if s.Area.Path != "" {
		s.Area.Path = found(s.Area.Path)
	}
	return s
}

func TestRealThirdFork(t *testing.T) {
	s := realSurvey(t, "thirdfork")
	r := mapped(t, s)
	frame, height := written(t, filepath.Join(r.Folder, "layers", "height.tif"))
	_, bottom := written(t, filepath.Join(r.Folder, "layers", "bottomland.tif"))
	classes := classesOn(t, frame, s.LandCover.Path[0])

	t.Run("height is known", func(t *testing.T) {
		in, err := OpenInputs(t.Context(), s)
		if err != nil {
			t.Fatal(err)
		}
		p, err := raster.NewPlane[uint8](frame.W, frame.H, nil)
		if err != nil {
			t.Fatal(err)
		}
		all, err := vector.FillPolygons(frame, []orb.Geometry{in.Area}, 1, p)
		if err != nil {
			t.Fatal(err)
		}
		known := 0
		for i, in := range p.Mem() {
			if in == 1 && height[i] == height[i] {
				known++
			} else if in == 0 && height[i] == height[i] {
				t.Fatal("a cell outside the watershed has a height")
			}
		}
		share := float64(known) / float64(all)
		t.Logf("height above stream known on %.2f %% of %d cells of the watershed", 100*share, all)
		if share < 0.95 {
			t.Errorf("known on %.3f of the watershed, want 0.95 at least", share)
		}
	})

	// National land cover: 90 woody wetlands, 41 deciduous forest.
	t.Run("wet woods lie low", func(t *testing.T) {
		wet := pick(height, classes, 90)
		below := 0
		for _, h := range wet {
			if h < 2 {
				below++
			}
		}
		slices.Sort(wet)
		median, share := wet[len(wet)/2], float64(below)/float64(len(wet))
		t.Logf("woody wetlands: %d cells, median height %.3f m, %.2f %% below 2 m", len(wet), median, 100*share)
		if !(median < 0.5) || share < 0.9 {
			t.Errorf("woody wetlands: median height %.2f m, want below 0.5; %.3f below 2 m, want 0.9", median, share)
		}
	})
	t.Run("wet woods are bottomland", func(t *testing.T) {
		wet, dry := mean(pick(bottom, classes, 90)), mean(pick(bottom, classes, 41))
		area := auc(pick(bottom, classes, 90), pick(bottom, classes, 41, 42, 43, 52, 71, 81, 82))
		t.Logf("bottomland: mean %.3f on woody wetlands, %.3f on deciduous forest (%.1f times); AUC %.4f", wet, dry, wet/dry, area)
		if !(wet >= 3*dry) {
			t.Errorf("bottomland %.3f on woody wetlands is less than three times the %.3f of deciduous forest", wet, dry)
		}
		if !(area >= 0.90) {
			t.Errorf("AUC %.4f, want 0.90", area)
		}
	})
	t.Run("shortlist", func(t *testing.T) { checkRealShortlist(t, r, s, frame, classes) })
	t.Run("judges", func(t *testing.T) { judged(t, r) })
	t.Run("same bytes", func(t *testing.T) {
		sameBytes(t, s, []setting{{1, defaultTile, 0}, {4, defaultTile, 0}, {2, 100, littleMemory}})
	})
}

// checkRealShortlist looks at every cell of every candidate, by its centre,
// on the class raster itself.
func checkRealShortlist(t *testing.T, r *Result, s *Survey, frame raster.Frame, classes []uint8) {
	var list shortlistFile
	readJSON(t, filepath.Join(r.Folder, "shortlist.geojson"), &list)
	if len(list.Features) < 2 {
		t.Fatalf("%d candidates", len(list.Features))
	}
	to, err := vector.FromWGS84(frame.WKT)
	if err != nil {
		t.Fatal(err)
	}
	never := map[uint8]string{11: "open water", 12: "snow or ice", 22: "developed, low", 23: "developed, medium", 24: "developed, high"}
	openSpace, cells, largest, polygons := 0, 0, 0.0, 0
	for i := range list.Features {
		f := &list.Features[i]
		var shape orb.MultiPolygon
		for _, poly := range f.polygons(t) {
			var rings orb.Polygon
			for _, ring := range poly {
				var r orb.Ring
				for _, pos := range ring {
					x, _ := pos[0].Float64()
					y, _ := pos[1].Float64()
					p, err := to.Point(orb.Point{x, y})
					if err != nil {
						t.Fatal(err)
					}
					r = append(r, p)
				}
				rings = append(rings, r)
			}
			shape = append(shape, rings)
			polygons++
		}
		largest = max(largest, f.Properties.AreaHa)
		if f.Properties.AreaHa > 1.25*s.Shortlist.MaxHa {
			t.Errorf("rank %d: %.2f ha, max_ha is %g", f.Properties.Rank, f.Properties.AreaHa, s.Shortlist.MaxHa)
		}
		b, mine := shape.Bound(), 0
		x0, y0, _ := frame.At(b.Min[0], b.Max[1])
		x1, y1, _ := frame.At(b.Max[0], b.Min[1])
		for y := y0; y <= y1; y++ {
			for x := x0; x <= x1; x++ {
				e, n := frame.Center(x, y)
				if !planar.MultiPolygonContains(shape, orb.Point{e, n}) {
					continue
				}
				mine++
				class := classes[y*frame.W+x]
				if class == 21 {
					openSpace++
				}
				if what, bad := never[class]; bad {
					t.Errorf("rank %d: cell %d,%d lies on %s (%d)", f.Properties.Rank, x, y, what, class)
				}
			}
		}
		if want := int(math.Round(f.Properties.AreaHa / frame.CellHa())); mine != want {
			t.Errorf("rank %d: %d cells by their centres, area_ha makes %d", f.Properties.Rank, mine, want)
		}
		cells += mine
	}
	t.Logf("shortlist: %d candidates, %d polygons, %d cells, largest %.2f ha; %d cells on developed open space", len(list.Features), polygons, cells, largest, openSpace)
	if openSpace > 0 {
		t.Errorf("%d cells lie on developed open space (21)", openSpace)
	}
}

// The mapped alluvium of the Neversink basin against bottomland.
// Source: Corson-Dosch and others 2022, USGS SIR 2021-5112, zones of surficial geology.
func TestRealNeversink(t *testing.T) {
	for _, c := range []struct {
		name string
		want float64
	}{{"neversink-mapped", 0.965}, {"neversink-derived", 0.96}, {"neversink-geodatabases", 0.96}} {
		t.Run(c.name, func(t *testing.T) {
			s := realSurvey(t, c.name)
			geology := shareddata.Path(t, "realdata", "02-neversink-ny", "L1_K_Zone_50mGrid.tif")
			r := mapped(t, s)
			frame, bottom := written(t, filepath.Join(r.Folder, "layers", "bottomland.tif"))
			zones := classesOn(t, frame, geology)
			var alluvium, rest []float32
			for i, zone := range zones {
				if zone < 11 || zone > 39 || bottom[i] != bottom[i] {
					continue // outside the geology map (its nodata −128 reads as 128 in a byte)
				}
				if slices.Contains([]uint8{17, 26, 28, 31, 32, 35}, zone) {
					alluvium = append(alluvium, bottom[i])
				} else {
					rest = append(rest, bottom[i])
				}
			}
			// Counts of the publication's grid, whole: 9,594 of 189,961.
			if len(alluvium) < 9000 || len(alluvium)+len(rest) < 180000 {
				t.Fatalf("%d cells of alluvium among %d: the grids do not meet", len(alluvium), len(alluvium)+len(rest))
			}
			got := auc(alluvium, rest)
			t.Logf("AUC of bottomland against mapped alluvium: %.4f (%d cells against %d)", got, len(alluvium), len(rest))
			if !(got >= c.want) {
				t.Errorf("AUC %.4f, want %g", got, c.want)
			}
			if c.name == "neversink-derived" {
				said(t, r, "no stream layer was given")
			}
			said(t, r, "no land cover was given")
		})
	}
}

func TestRealShellmoundInFeet(t *testing.T) {
	r := mapped(t, realSurvey(t, "shellmound-feet"))
	t.Logf("above threshold: %.1f %% of %.0f km²", 100*r.Summary.AboveShare, r.Summary.AreaHa/100)
	if s := r.Summary.AboveShare; !(s > 0 && s <= 1.0/3) {
		t.Errorf("%.3f of a delta is above the threshold; want a third at most, and some", s)
	}
}

func TestRealShellmoundUnitNotSaid(t *testing.T) {
	s := realSurvey(t, "shellmound-unitless")
	in := &checker{r: CheckReport{}, in: &Inputs{Survey: s}}
	in.run(t.Context())
	if len(in.r.Problems) > 0 {
		t.Fatalf("problems: %v", in.r.Problems)
	}
	if !slices.ContainsFunc(in.in.Warnings, func(w string) bool {
		return strings.Contains(w, "metres or feet") && strings.Contains(w, "elevation.unit")
	}) {
		t.Errorf("no word on the unit: %q", in.in.Warnings)
	}
	t.Logf("warned: %q", in.in.Warnings)
}

// pick gives the values on cells of some classes, none left out.
func pick(values []float32, classes []uint8, want ...uint8) []float32 {
	var out []float32
	for i, v := range values {
		if v == v && slices.Contains(want, classes[i]) {
			out = append(out, v)
		}
	}
	return out
}

func mean(v []float32) float64 {
	sum := 0.0
	for _, x := range v {
		sum += float64(x)
	}
	return sum / float64(len(v))
}
