package terrain

import (
	"math"
	"slices"
	"testing"

	"rillwood/raster"
)

// valley falls to the east along its middle row from a headwall in the west,
// its sides rising a quarter of a metre per cell; a road on a bank of 6 m
// crosses it in column road (none when road < 0).
func valley(w, h, road int) ground {
	g := ground{w: w, h: h, z: make([]float32, w*h)}
	for i := range g.z {
		x, y := i%w, i/w
		g.z[i] = 100 - 0.05*float32(x) + 0.25*float32(max(y-h/2, h/2-y)) + 4*float32(max(0, 5-x))
		if x == road || x == road+1 {
			g.z[i] = max(g.z[i], 106)
		}
	}
	return g
}

// along lists the cells of a line that runs east in row y, from below the headwall.
func along(w, y int) (cells []int) {
	for x := 5; x < w; x++ {
		cells = append(cells, y*w+x)
	}
	return cells
}

func burnt(t *testing.T, g ground, line []int, reach int) *raster.Plane[uint8] {
	t.Helper()
	burn := raster.PlaneOf(g.w, g.h, make([]uint8, len(g.z)))
	if err := BurnStreams(burn, line, reach); err != nil {
		t.Fatal(err)
	}
	return burn
}

func TestStreamUnderARoadDoesNotPondItsValley(t *testing.T) {
	const w, h, road, reach = 80, 31, 50, 3
	open, dammed := valley(w, h, -9), valley(w, h, road)
	before := slices.Clone(dammed.z)
	for _, o := range []Options{{}, {Tile: 11, Workers: 2}} {
		var heights [2]*measured
		var surfaces = [2]ground{open, dammed}
		for k, g := range surfaces {
			burn := burnt(t, g, along(w, h/2), reach)
			r, a := routed(t, &Surface{Z: g.plane(), Burn: burn, Drop: StreamDrops(reach, 2)}, o)
			heights[k] = measure(t, g, &Streams{Burn: burn, Area: a, Sizes: []float64{0}}, r, o)
			// All of the stream's water passes under the road.
			if got := a.Mem()[h/2*w+road+3]; got < float32(road*h)*0.9 {
				t.Errorf("tile %d, ground %d: %v cells drain to the stream below the road, want nearly %d", o.Tile, k, got, road*h)
			}
		}
		for i := range dammed.z {
			x, y := i%w, i/w
			if x >= road-1 && x <= road+2 || y == 0 || y == h-1 || x == w-1 || x == 0 {
				continue
			}
			a, b := open.z[i]-heights[0].z[0][i], dammed.z[i]-heights[1].z[0][i]
			if math.Abs(float64(a-b)) > 0.2 {
				t.Fatalf("tile %d: cell %d,%d stands %v m above its stream without the road, %v m with it", o.Tile, x, y, a, b)
			}
			if y == h/2 && x >= 5 && b != 0 {
				t.Fatalf("tile %d: stream cell %d stands %v m above itself", o.Tile, x, b)
			}
		}
		if !slices.Equal(dammed.z, before) {
			t.Fatal("conditioning changed elevations")
		}
	}
	// Without the mapped stream the same road does pond the valley.
	if up := floodFill(dammed); !(up[h/2*w+road-5] > dammed.z[h/2*w+road-5]+2) {
		t.Errorf("the road raises a pond of %v m only: the test shows nothing", up[h/2*w+road-5]-dammed.z[h/2*w+road-5])
	}
}

func TestMappedLineBesideTheValleyLineCollectsItsWater(t *testing.T) {
	const w, h, reach = 90, 41, 3
	g := valley(w, h, -9)
	for _, off := range []int{0, 1, 2, 3, -2, -3} {
		y := h/2 + off
		line := along(w, y)
		burn := burnt(t, g, line, reach)
		_, a := routed(t, &Surface{Z: g.plane(), Burn: burn, Drop: StreamDrops(reach, 2)}, Options{Tile: 16})
		got := a.Mem()[y*w+w-2]
		if want := 0.9 * w * h; float64(got) < want {
			t.Errorf("line %d cells beside the valley's: %v cells drain to it, want at least %v", off, got, want)
		}
	}
}

func TestBurnClassesFallWithDistance(t *testing.T) {
	const w, h, reach = 9, 530, 3 // more rows than two bands of BurnStreams
	// Ascending; the second cell's surroundings must not dim the first's, and
	// those of the others cross from band to band.
	line := []int{0, 4*w + 4, 4*w + 5, 255*w + 2, 256*w + 7, 510*w + 4}
	scratch, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer scratch.Close()
	for _, s := range []*raster.Scratch{nil, scratch} {
		burn := inScratch(t, w, h, make([]uint8, w*h), s)
		if err := BurnStreams(burn, line, reach); err != nil {
			t.Fatal(err)
		}
		for i, v := range contents(t, burn) {
			near := math.Inf(1)
			for _, c := range line {
				near = min(near, math.Hypot(float64(c%w-i%w), float64(c/w-i/w)))
			}
			want := uint8(0)
			if d := math.Ceil(near); d <= reach {
				want = Channel - uint8(d)
			}
			if v != want {
				t.Errorf("cell %d,%d at %v cells: class %d, want %d", i%w, i/w, near, v, want)
			}
		}
	}
}

func TestDropsLeanTowardsTheLine(t *testing.T) {
	drop := StreamDrops(3, 8)
	for c, want := range map[int]float32{Channel: 2000, Channel - 1: 6, Channel - 2: 4, Channel - 3: 2, Channel - 4: 0, Entrance: 1000, 0: 0} {
		if drop[c] != want {
			t.Errorf("class %d: %v m, want %v m", c, drop[c], want)
		}
	}
}

// A river comes in over the western edge; a bank across its bed further down is
// higher than the bed at the edge. Its inflow must still pass the bank.
func TestRiverFromOutsideDoesNotLeaveWhereItCameIn(t *testing.T) {
	const w, h, reach, bank = 60, 21, 3, 40
	g := ground{w: w, h: h, z: make([]float32, w*h)}
	for i := range g.z {
		x, y := i%w, i/w
		g.z[i] = 100 - 0.05*float32(x) + 0.25*float32(max(y-h/2, h/2-y))
		if x == bank {
			g.z[i] = 106
		}
	}
	var line []int
	for x := range w {
		line = append(line, h/2*w+x)
	}
	for _, tile := range []int{0, 8} {
		o := Options{Tile: tile, Workers: 2}
		burn := burnt(t, g, line, reach)
		if err := BurnEntrances(burn, line[:1]); err != nil {
			t.Fatal(err)
		}
		r, err := Route(t.Context(), &Surface{Z: g.plane(), Burn: burn, Drop: StreamDrops(reach, 2)}, o)
		if err != nil {
			t.Fatal(err)
		}
		a, err := Accumulate(t.Context(), r, 1e-4, []Inflow{{X: 0, Y: h / 2, Km2: 500}}, o)
		if err != nil {
			t.Fatal(err)
		}
		for x := range w {
			if got := a.Mem()[h/2*w+x]; got < 500 {
				t.Fatalf("tile %d: %v km² at column %d of the river, 500 come in", tile, got, x)
			}
		}
		m := measure(t, g, &Streams{Burn: burn, Area: a, Sizes: []float64{0}}, r, o)
		if !m.stream[h/2*w] {
			t.Errorf("tile %d: the entrance is no stream", tile)
		}
	}
}
