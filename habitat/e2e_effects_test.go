package habitat

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"rillwood/fixtures"
	"rillwood/raster"
	"rillwood/raster/region"
)

var effectsSize = flag.Int("effects", 500, "side of the invented county in TestLayerEffects, cells")

// TestLayerEffects maps the invented county with the layers one by one and
// looks at what each does to the shortlist. go test -run LayerEffects -v
// prints the table of the README (-args -effects 2000).
func TestLayerEffects(t *testing.T) {
	dir := t.TempDir()
	county, err := fixtures.New(*effectsSize, *effectsSize, 10, 1)
	if err != nil {
		t.Fatal(err)
	}
	if err := county.Write(t.Context(), dir, nil); err != nil {
		t.Fatal(err)
	}
	full := filepath.Join(dir, "survey.yaml")
	text := Template(TemplateInputs{Name: "x", Elevation: "elevation.tif", Unit: "m", Streams: "streams.gpkg", LandCover: "landcover.tif",
		Legend: "us-30m", Area: "places.gpkg", AreaLayer: "boundary", Curve: "appalachian-highlands", Demo: "."})
	if err := os.WriteFile(full, text, 0o644); err != nil {
		t.Fatal(err)
	}
	run := func(name string, keep func(s, all *Survey)) *Result {
		t.Helper()
		all, err := LoadSurvey(full)
		if err != nil {
			t.Fatal(err)
		}
		s, _ := LoadSurvey(full)
		s.Evidence, s.Inventory, s.Access, s.KeepOut = EvidenceSpec{}, InventorySpec{BlendM: 100}, nil, nil
		s.Approach = DefaultSurvey().Approach
		keep(s, all)
		s.Output.Folder, s.Output.Layers, s.Output.Preview = filepath.Join(dir, name), []string{"none"}, false
		s.Shortlist.Top = 0
		r, err := Map(t.Context(), s, nil)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		return r
	}
	bare := run("bare", func(s, all *Survey) {})
	var frame raster.Frame
	if s, err := LoadSurvey(full); err != nil {
		t.Fatal(err)
	} else if in, err := OpenInputs(t.Context(), s); err != nil {
		t.Fatal(err)
	} else {
		frame = in.Frame
	}
	truth := trueFinds(t, county, *effectsSize)
	t.Logf("| layer | ground above the threshold | patches | top ten in common | true finds per hectare in the top ten |")
	t.Logf("|---|---|---|---|---|")
	row := func(name string, r *Result) float64 {
		common := commonCells(bare, r, 10)
		finds, cells := 0.0, 0
		for i, c := range r.Shortlist.Candidates {
			if i >= 10 {
				break
			}
			for _, run := range c.patch.Runs {
				each(run, func(x int32) {
					col, line, _ := county.Frame().At(frame.Center(int(x), int(run.Y)))
					finds += truth[line**effectsSize+col]
					cells++
				})
			}
		}
		t.Logf("| %s | %s | %d | %.0f %% | %.2f |", name, hectares(r.Summary.AboveHa), r.Summary.Patches, 100*common, finds/float64(cells))
		return common
	}
	row("none of them", bare)
	for _, c := range []struct {
		name string
		keep func(s, all *Survey)
	}{
		{"soil survey", func(s, all *Survey) { s.Evidence.Soils = all.Evidence.Soils }},
		{"flood zones", func(s, all *Survey) { s.Evidence.FloodZones = all.Evidence.FloodZones }},
		{"surficial geology", func(s, all *Survey) { s.Evidence.Layers = all.Evidence.Layers }},
		{"valley flatness", func(s, all *Survey) { s.Evidence.ValleyFlatness = true }},
		{"basal area of elm", func(s, all *Survey) { s.Inventory.Rasters = all.Inventory.Rasters }},
		{"single trees", func(s, all *Survey) { s.Inventory.Trees = all.Inventory.Trees }},
		{"access", func(s, all *Survey) { s.Access = all.Access }},
		{"keep-out ground", func(s, all *Survey) { s.KeepOut = all.KeepOut }},
	} {
		r := run(c.name, c.keep)
		common := row(c.name, r)
		if common == 1 && r.Summary.AboveHa == bare.Summary.AboveHa && fmt.Sprint(r.Shortlist.Found) == fmt.Sprint(bare.Shortlist.Found) {
			t.Errorf("%s changes nothing", c.name)
		}
		if c.name == "access" {
			for i := range r.Shortlist.Candidates {
				if a := r.Shortlist.Candidates; i > 0 && a[i].Access.String() == "open" && a[i-1].Access.String() != "open" {
					t.Errorf("patch %d is open and stands behind %s ground", i+1, a[i-1].Access)
				}
			}
		}
	}
	walks := run("ways in", func(s, all *Survey) { s.Approach = all.Approach })
	row("ways in", walks)
	if commonCells(bare, walks, 0) != 1 {
		t.Error("ways in move patches; they should only say how to get there")
	}
	found := 0
	for _, c := range walks.Shortlist.Candidates {
		if c.Walk.OK {
			found++
		} else if c.Walk.Why == "" {
			t.Errorf("patch %d has neither a way nor a reason", c.Rank)
		}
	}
	t.Logf("ways found for %d of %d patches", found, len(walks.Shortlist.Candidates))
	if found == 0 {
		t.Error("no way to any patch")
	}
	row("all", run("all", func(s, all *Survey) {
		s.Evidence, s.Inventory, s.Access, s.KeepOut, s.Approach = all.Evidence, all.Inventory, all.Access, all.KeepOut, all.Approach
	}))
}

// trueFinds are the finds per hectare that the invented county really holds.
func trueFinds(t *testing.T, county *fixtures.County, side int) []float64 {
	rows := make([][]float32, fixtures.NumHosts)
	for k := range rows {
		rows[k] = make([]float32, side)
	}
	out := make([]float64, side*side)
	for y := range side {
		if err := county.Truth(y, 1, rows); err != nil {
			t.Fatal(err)
		}
		for x := range side {
			e, n := county.Frame().Center(x, y)
			for h := range fixtures.NumHosts {
				if d := float64(rows[h][x]); d > 0 {
					out[y*side+x] += d * county.DeadShare(h, e, n) * county.HitRate(h, e, n)
				}
			}
		}
	}
	return out
}

// commonCells is the share of the ground of a's best n patches (0: all) that b's
// best n hold too, over the larger of the two.
func commonCells(a, b *Result, n int) float64 {
	cells := func(r *Result) map[[2]int32]bool {
		out := map[[2]int32]bool{}
		for i, c := range r.Shortlist.Candidates {
			if n > 0 && i >= n {
				break
			}
			for _, run := range c.patch.Runs {
				each(run, func(x int32) { out[[2]int32{x, run.Y}] = true })
			}
		}
		return out
	}
	ca, cb := cells(a), cells(b)
	both := 0
	for k := range ca {
		if cb[k] {
			both++
		}
	}
	if most := max(len(ca), len(cb)); most > 0 {
		return float64(both) / float64(most)
	}
	return 1
}

func each(r region.Run, do func(x int32)) {
	for x := r.X0; x < r.X1; x++ {
		do(x)
	}
}
