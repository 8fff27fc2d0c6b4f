package terrain

import (
	"testing"

	"rillwood/raster"
)

func TestWetnessPublishedGrid(t *testing.T) {
	var c struct {
		Cell      float64 `json:"cellsize"`
		Input     grid    `json:"input"`
		Expected  grid    `json:"expected"`
		Tolerance float64 `json:"tolerance"`
	}
	published(t, "twi_d8", &c)
	w, _ := c.Input.size()
	z := c.Input.plane()
	r, err := Route(t.Context(), &Surface{Z: z}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	area, err := Accumulate(t.Context(), r, c.Cell*c.Cell/1e6, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	got, err := Wetness(t.Context(), z, area, c.Cell, Options{Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	compareCells(t, got.Mem(), c.Expected.cells(), w, c.Tolerance)
}

func TestWetnessIsMissingWhereTheGroundIs(t *testing.T) {
	z := raster.PlaneOf(3, 2, []float32{3, nan, 1, 3, 2, 1})
	area := raster.PlaneOf(3, 2, []float32{1, nan, 1, 1, 1, nan})
	got, err := Wetness(t.Context(), z, area, 10, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []bool{false, true, false, false, false, true} {
		if v := got.Mem()[i]; (v != v) != want {
			t.Errorf("cell %d: %v, missing %v wanted", i, v, want)
		}
	}
}
