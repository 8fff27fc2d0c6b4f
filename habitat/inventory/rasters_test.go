package inventory

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"rillwood/raster"
)

// picture writes a raster of float32 with nodata −9999 on a frame.
func picture(t testing.TB, f raster.Frame, value func(x, y int) float32) string {
	t.Helper()
	nodata := -9999.0
	path := t.TempDir() + "/trees.tif"
	s, err := raster.CreateTIFF[float32](path, f, raster.TIFFOptions{NoData: &nodata})
	if err != nil {
		t.Fatal(err)
	}
	cells := make([]float32, f.Cells())
	for i := range cells {
		cells[i] = value(i%f.W, i/f.W)
	}
	if err := s.WriteRows(0, f.H, cells); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// The foresters' constant 0.005454 (basal area in square feet of a stem of d
// inches is 0.005454·d²) stands in forest mensuration handbooks; from memory.
func TestStemsAgainstTheForestersConstant(t *testing.T) {
	for _, inches := range []float64{4, 10, 12, 22.7} {
		const acre = 0.40468564224 // hectares
		wantPerAcre := 80 / (0.005454 * inches * inches)
		if got := StemsPerHa(80*ft2PerAcre, inches*2.54) * acre; math.Abs(got-wantPerAcre) > 1e-4*wantPerAcre {
			t.Errorf("80 ft²/ac of %g in stems: %.4f per acre, want %.4f", inches, got, wantPerAcre)
		}
	}
	// 1 m²/ha is 4.356 ft²/ac, the conversion such handbooks print; from memory.
	if got := 1 / ft2PerAcre; math.Abs(got-4.356) > 5e-4 {
		t.Errorf("1 m²/ha is %g ft²/ac, want 4.356", got)
	}
	// One stem of 30 cm has 0.0707 m².
	if got := StemsPerHa(0.0707, 30); math.Abs(got-1) > 5e-4 {
		t.Errorf("0.0707 m²/ha of 30 cm stems: %g, want 1", got)
	}
}

func TestRasterMeasures(t *testing.T) {
	f := ground(t, 30, 20, 10)
	for _, c := range []struct {
		name          string
		measure, unit string
		stem          float64
		value         float32
		want          float64 // trees per hectare
	}{
		{"trees", "trees-ha", "", 0, 17.5, 17.5},
		{"likelihood of a host of 30", "likelihood", "", 0, 0.25, 7.5},
		{"basal area, default stem", "basal-area", "m2/ha", 0, 3, 42.4413}, // 3/(π·0.0225)
		{"basal area, thin stems", "basal-area", "m2/ha", 15, 3, 169.7653},
		{"basal area in feet", "basal-area", "ft2/ac", 0, 10, 32.4774},
		{"none is a measurement", "basal-area", "m2/ha", 0, 0, 0},
	} {
		path := picture(t, f, func(int, int) float32 { return c.value })
		m, notes, err := ReadRaster(context.Background(), RasterSource{Host: "american-elm", Source: raster.Source{Paths: []string{path}}, Measure: c.measure, Unit: c.unit, StemCm: c.stem}, woods(), f, nil, 2)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		trees, weight := cellsOf(t, m.TreesHa), cellsOf(t, m.Weight)
		i := 10*f.W + 15
		if got := float64(trees[i]) / TreesUnit; math.Abs(got-c.want) > 0.5/TreesUnit+1e-3 {
			t.Errorf("%s: %g trees per hectare, want %g", c.name, got, c.want)
		}
		if weight[i] != WeightUnit || m.Host != 0 || m.DeadShare != nil || m.Cells != int64(f.Cells()) || len(notes) != 0 {
			t.Errorf("%s: weight %d, host %d, %d cells, notes %v", c.name, weight[i], m.Host, m.Cells, notes)
		}
		if !strings.Contains(m.From, "trees.tif") || !strings.Contains(m.From, raster.HowCopied) {
			t.Errorf("%s: from %q", c.name, m.From)
		}
	}
}

// The weight by hand around a gap and along the raster's own border: with a
// blend of 2 cells, ¼, ¾ and more of the way in: 3t² − 2t³ = 0.15625, 0.84375, 1.
func TestRasterGapsAndBorder(t *testing.T) {
	f := ground(t, 30, 9, 10)
	// The raster ends after column 19; column 9 has no data, and column 14 is below 0.
	path := picture(t, f.Cut(0, -5, 20, 19), func(x, y int) float32 {
		switch x {
		case 9:
			return -9999
		case 14:
			return -1
		}
		return 40
	})
	s := RasterSource{Host: "green-ash", Source: raster.Source{Paths: []string{path}}, Measure: "trees-ha"}
	m, notes, err := ReadRaster(context.Background(), s, woods(), f, nil, 2)
	if err != nil {
		t.Fatal(err)
	}
	some(t, notes, "cells below 0 are taken as not measured")
	row := make([]uint8, f.W)
	if err := m.Weight.Read(0, 4, f.W, 1, row); err != nil {
		t.Fatal(err)
	}
	//                0   1    2    3    4    5    6    7    8   9  10   11   12  13 14  15   16   17   18  19
	want := []uint8{39, 211, 250, 250, 250, 250, 250, 211, 39, 0, 39, 211, 211, 39, 0, 39, 211, 250, 211, 39}
	if !slices.Equal(row[:20], want) {
		t.Errorf("weights\n%v, want\n%v", row[:20], want)
	}
	if slices.Max(row[20:]) != 0 {
		t.Errorf("beyond the raster: weights %v", row[20:])
	}
	trees := cellsOf(t, m.TreesHa)
	if trees[4*f.W+3] != 40*TreesUnit || trees[4*f.W+9] != 0 || trees[4*f.W+14] != 0 {
		t.Errorf("trees %d, %d, %d; want %d, 0, 0", trees[4*f.W+3], trees[4*f.W+9], trees[4*f.W+14], 40*TreesUnit)
	}
	s.BlendM = -1
	if m, _, err = ReadRaster(context.Background(), s, woods(), f, nil, 1); err != nil {
		t.Fatal(err)
	}
	for i, v := range cellsOf(t, m.Weight) {
		x := i % f.W
		if want := uint8(WeightUnit); x == 9 || x == 14 || x >= 20 {
			if v != 0 {
				t.Fatalf("no blend, column %d: weight %d, want 0", x, v)
			}
		} else if v != want {
			t.Fatalf("no blend, column %d: weight %d, want %d", x, v, want)
		}
	}
	if want := int64(18 * f.H); m.Cells != want {
		t.Errorf("%d cells, want %d", m.Cells, want)
	}
}

func TestRasterSameBytes(t *testing.T) {
	f := ground(t, 300, 290, 10)
	path := picture(t, f.Cut(20, 10, 130, 120), func(x, y int) float32 {
		if (x/7+y/9)%5 == 0 {
			return -9999
		}
		return float32(x*y%90) / 90
	})
	s := RasterSource{Host: "black-willow", Source: raster.Source{Paths: []string{path}}, Measure: "likelihood", BlendM: 35}
	want, _, err := ReadRaster(context.Background(), s, woods(), f, nil, 1)
	if err != nil {
		t.Fatal(err)
	}
	scratch, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer scratch.Close()
	got, _, err := ReadRaster(context.Background(), s, woods(), f, scratch, 3)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(cellsOf(t, want.TreesHa), cellsOf(t, got.TreesHa)) || !slices.Equal(cellsOf(t, want.Weight), cellsOf(t, got.Weight)) || want.Cells != got.Cells || want.Cells == 0 {
		t.Errorf("in files with 3 workers: other bytes (%d and %d cells)", want.Cells, got.Cells)
	}
}

func TestRasterRefuses(t *testing.T) {
	f := ground(t, 30, 20, 10)
	path := picture(t, f, func(x, y int) float32 { return 37 })
	good := RasterSource{Host: "american-elm", Source: raster.Source{Paths: []string{path}}, Measure: "trees-ha"}
	for _, c := range []struct {
		name   string
		change func(*RasterSource)
		want   string
	}{
		{"no such host", func(s *RasterSource) { s.Host = "oak" }, `"oak" is no host of the profile`},
		{"no measure", func(s *RasterSource) { s.Measure = "" }, "give basal-area, likelihood or trees-ha"},
		{"basal area without unit", func(s *RasterSource) { s.Measure = "basal-area" }, "give m2/ha or ft2/ac"},
		{"a unit too many", func(s *RasterSource) { s.Unit = "ft2/ac" }, "only basal-area has one"},
		{"percents", func(s *RasterSource) { s.Measure = "likelihood" }, "a likelihood of 37"},
		{"stems like hairs", func(s *RasterSource) { s.Measure, s.Unit, s.StemCm = "basal-area", "m2/ha", 0.1 }, "give 1 to 500 cm"},
		{"blend not a number", func(s *RasterSource) { s.BlendM = math.NaN() }, "blend: found NaN"},
		{"no file", func(s *RasterSource) { s.Source.Paths = nil }, "no raster file named"},
		{"missing file", func(s *RasterSource) { s.Source.Paths = []string{"gone.tif"} }, "no such file"},
	} {
		s := good
		c.change(&s)
		if _, _, err := ReadRaster(context.Background(), s, woods(), f, nil, 1); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
	}
	hosts := woods()
	hosts[1].DensityHa = math.NaN()
	if _, _, err := ReadRaster(context.Background(), good, hosts, f, nil, 1); err == nil {
		t.Error("a host whose density is not a number: no error")
	}
	m, notes, err := ReadRaster(context.Background(), good, woods(), f.Cut(1000, 1000, 20, 20), nil, 1)
	if err != nil || m.Cells != 0 {
		t.Errorf("a map elsewhere: %d cells, %v", m.Cells, err)
	}
	some(t, notes, "measures nothing on the map")
}

// Numbers that cannot be, and basal area no wood has, are told with their count.
func TestRasterDoubtfulNumbers(t *testing.T) {
	f := ground(t, 30, 20, 10)
	for _, c := range []struct {
		unit   string
		most   float32 // the largest number that is believed
		beyond string
	}{{"m2/ha", 100, "above 100 (100 m²/ha)"}, {"ft2/ac", 435, "above 436 (100 m²/ha)"}} {
		cells := []float32{float32(math.Inf(1)), float32(math.Inf(-1)), -3.4e38, 2e6, float32(math.NaN()), -9999, c.most + 1, 5000, c.most}
		path := picture(t, f, func(x, y int) float32 {
			if i := y*f.W + x; i < len(cells) {
				return cells[i]
			}
			return 20
		})
		s := RasterSource{Host: "green-ash", Source: raster.Source{Paths: []string{path}}, Measure: "basal-area", Unit: c.unit}
		_, notes, err := ReadRaster(context.Background(), s, woods(), f, nil, 2)
		if err != nil {
			t.Fatal(err)
		}
		some(t, notes, "trees.tif: 4 cells hold no usable number", "not measured")
		some(t, notes, "trees.tif: 2 cells hold a basal area "+c.beyond, "check its unit")
	}
}
