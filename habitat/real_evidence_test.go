package habitat

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/internal/shareddata"
	"rillwood/raster"
	"rillwood/vector"
)

// alluvium are the zones of the Neversink geology that hold alluvium.
var alluvium = []uint8{17, 26, 28, 31, 32, 35}

// blockAUC scores bottomland on the alternate 5 km blocks of a checkerboard
// from the frame's north-west corner: [0] the even blocks, [1] the odd ones.
func blockAUC(frame raster.Frame, bottom []float32, truth func(i int) (case_, known bool)) (score [2]float64, half int) {
	var cases, others [2][]float32
	for i, b := range bottom {
		is, known := truth(i)
		if !known || b != b {
			continue
		}
		side := 5000 / frame.Cell
		k := (int(float64(i%frame.W)/side) + int(float64(i/frame.W)/side)) % 2
		if is {
			cases[k] = append(cases[k], b)
		} else {
			others[k] = append(others[k], b)
		}
		if b >= 0.5 {
			half++
		}
	}
	return [2]float64{auc(cases[0], others[0]), auc(cases[1], others[1])}, half
}

// TestRealNeversinkEvidence scores bottomland against mapped alluvium with the
// terrain alone, with valley flatness, and with the mapped valley fill as a
// layer of evidence. Source of truth and polygon: Corson-Dosch and others 2022,
// USGS SIR 2021-5112; the two come from one report, so the gain from the
// polygon is no measure of skill elsewhere.
func TestRealNeversinkEvidence(t *testing.T) {
	geology := shareddata.Path(t, "realdata", "02-neversink-ny", "L1_K_Zone_50mGrid.tif")
	valley := shareddata.Path(t, "realdata", "02-neversink-ny", "Valley_Extent_extended.shp")
	for _, name := range []string{"neversink-mapped", "neversink-derived"} {
		scores := map[string][2]float64{}
		best := 0.0
		for _, v := range []struct {
			name              string
			flatness, polygon bool
		}{{"terrain alone", false, false}, {"+ valley flatness", true, false}, {"+ valley fill", false, true}, {"+ both", true, true}} {
			s := realSurvey(t, name)
			s.Evidence.ValleyFlatness = v.flatness
			if v.polygon {
				s.Evidence.Layers = []EvidenceLayer{{Name: "valley fill", LayerSpec: LayerSpec{Path: valley}, Table: "inside"}}
			}
			r := mapped(t, s)
			frame, bottom := written(t, filepath.Join(r.Folder, "layers", "bottomland.tif"))
			zones := classesOn(t, frame, geology)
			score, half := blockAUC(frame, bottom, func(i int) (bool, bool) {
				return slices.Contains(alluvium, zones[i]), zones[i] >= 11 && zones[i] <= 39
			})
			t.Logf("%s, %s: AUC %.4f on even blocks, %.4f on odd ones; %d cells at half odds or more", name, v.name, score[0], score[1], half)
			scores[v.name] = score
			for k, a := range score {
				if a < scores["terrain alone"][k] {
					t.Errorf("%s, %s: AUC %.5f on half %d, below %.5f of the terrain alone", name, v.name, a, k, scores["terrain alone"][k])
				}
			}
			best = max(best, min(score[0], score[1]))
		}
		if best < 0.975 {
			t.Errorf("%s: the best has %.4f on its lesser half, want 0.975", name, best)
		}
	}
}

// TestRealGeologyAsEvidence gives the surficial geology as evidence and scores
// it against another map of the same report, the extent of valley fill: a layer
// is never scored against itself. Weights: common practice, no source.
func TestRealGeologyAsEvidence(t *testing.T) {
	geology := shareddata.Path(t, "realdata", "02-neversink-ny", "L1_K_Zone_50mGrid.tif")
	valley := shareddata.Path(t, "realdata", "02-neversink-ny", "Valley_Extent_extended.shp")
	table := filepath.Join(t.TempDir(), "zones.csv")
	text := "field,value,shift,meaning,source\n"
	for zone, shift := range map[string]string{"17": "1.5", "26": "1", "28": "1", "31": "1", "32": "0.5", "35": "1", "11": "0.5", "12": "0.75", "21": "-1", "22": "-1.5", "20": "-1.25"} {
		text += "zone," + zone + "," + shift + ",zone " + zone + ",\"common practice, no source\"\n"
	}
	if err := os.WriteFile(table, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	var scores [2][2]float64
	for k, with := range []bool{false, true} {
		s := realSurvey(t, "neversink-mapped")
		if with {
			s.Evidence.Layers = []EvidenceLayer{{Name: "geology", LayerSpec: LayerSpec{Path: geology}, Table: table}}
		}
		r := mapped(t, s)
		frame, bottom := written(t, filepath.Join(r.Folder, "layers", "bottomland.tif"))
		l, err := vector.Read(t.Context(), vector.Query{Path: valley}, frame.WKT)
		if err != nil {
			t.Fatal(err)
		}
		var shapes []orb.Geometry
		for _, f := range l.Features {
			shapes = append(shapes, f.Geometry)
		}
		inside, err := raster.NewPlane[uint8](frame.W, frame.H, nil)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := vector.FillPolygons(frame, shapes, 1, inside); err != nil {
			t.Fatal(err)
		}
		zones := classesOn(t, frame, geology)
		scores[k], _ = blockAUC(frame, bottom, func(i int) (bool, bool) { return inside.Mem()[i] == 1, zones[i] >= 11 && zones[i] <= 39 })
		t.Logf("geology %v: AUC against valley fill %.4f on even blocks, %.4f on odd ones", with, scores[k][0], scores[k][1])
	}
	for k := range 2 {
		if scores[1][k] <= scores[0][k] {
			t.Errorf("half %d: geology does not help: %.4f, %.4f without", k, scores[1][k], scores[0][k])
		}
	}
}
