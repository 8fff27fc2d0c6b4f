package vector

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"rillwood/raster"
)

// someGeometry is a random geometry of one kind: 0–5 are point, points, line,
// lines, polygon with a hole, polygons.
func someGeometry(r *rand.Rand, kind int, w, h float64) orb.Geometry {
	place := func() orb.Point { return orb.Point{w * (1.4*r.Float64() - 0.2), h * (1.4*r.Float64() - 0.2)} }
	line := func() (l orb.LineString) {
		for range 2 + r.IntN(6) {
			l = append(l, place())
		}
		return l
	}
	polygon := func() orb.Polygon {
		c := place()
		return orb.Polygon{star(r, c[0], c[1], 250), star(r, c[0], c[1], 12)} // the outer ring reaches at least 50
	}
	switch kind {
	case 0:
		return place()
	case 1:
		return orb.MultiPoint{place(), place(), place()}
	case 2:
		return line()
	case 3:
		return orb.MultiLineString{line(), line()}
	case 4:
		return polygon()
	}
	return orb.MultiPolygon{polygon(), polygon()}
}

// plainDistance is the distance from a point to a geometry by looking at every side.
func plainDistance(g orb.Geometry, p orb.Point) float64 {
	switch g := g.(type) {
	case orb.Polygon:
		if planar.PolygonContains(g, p) {
			return 0
		}
	case orb.MultiPolygon:
		if planar.MultiPolygonContains(g, p) {
			return 0
		}
	}
	best := math.Inf(1)
	eachSide(g, func(a, b orb.Point, _ bool) {
		best = min(best, lineDistance2(p, []orb.Point{a, b}))
	})
	return math.Sqrt(best)
}

// Several geometries, distances and values at once against a loop over cells
// and sides; in memory and in scratch files the same.
func TestFillWithinAgainstPlainLoop(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	f := small(60, 50)
	s, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for i := range 60 {
		var geoms []orb.Geometry
		var dists []float64
		for range 1 + r.IntN(4) {
			kind := r.IntN(6)
			geoms = append(geoms, someGeometry(r, kind, 600, 500))
			d := math.Floor(1+80*r.Float64()*r.Float64()) + 0.3
			if kind >= 4 && r.IntN(3) == 0 {
				d = 0
			}
			dists = append(dists, d)
		}
		var planes [2][]uint8
		for k, where := range []*raster.Scratch{nil, s} {
			p, err := raster.NewPlane[uint8](f.W, f.H, where)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := FillWithin(f, geoms, func(i int) float64 { return dists[i] }, func(i int) uint8 { return uint8(i) + 1 }, p); err != nil {
				t.Fatal(err)
			}
			planes[k] = make([]uint8, f.Cells())
			if err := p.Read(0, 0, f.W, f.H, planes[k]); err != nil {
				t.Fatal(err)
			}
			p.Close()
		}
		if !slices.Equal(planes[0], planes[1]) {
			t.Fatalf("case %d: memory and scratch differ", i)
		}
		for c, got := range planes[0] {
			x, y := f.Center(c%f.W, c/f.W)
			want, close := uint8(0), false
			for k, g := range geoms {
				d := plainDistance(g, orb.Point{x, y})
				close = close || math.Abs(d-dists[k]) < 1e-9 && d > 0
				if d <= dists[k] {
					want = uint8(k) + 1
				}
			}
			if got != want && !close {
				t.Fatalf("case %d: cell %d is %d, want %d", i, c, got, want)
			}
		}
	}
}

// The same ground whatever the height of the bands.
func TestFillWithinBands(t *testing.T) {
	r := rand.New(rand.NewPCG(25, 26))
	f := small(90, 70)
	for range 20 {
		g := someGeometry(r, r.IntN(6), 900, 700)
		d := 60 * r.Float64()
		want := near(t, f, nil, d, g)
		for _, rows := range []int{1, 7, 64} {
			s, err := newSurround(f, g, d, 1)
			if err != nil {
				t.Fatal(err)
			}
			c := newClaims(f.W, rows)
			p := raster.PlaneOf(f.W, f.H, make([]uint8, f.Cells()))
			for y0 := 0; y0 < f.H && s != nil; y0 += rows {
				y1 := min(y0+rows, f.H)
				if err := c.begin(p, y0, y1); err != nil {
					t.Fatal(err)
				}
				s.claim(y0, y1, c)
				if err := p.Write(0, y0, f.W, y1-y0, c.cells[:(y1-y0)*f.W]); err != nil {
					t.Fatal(err)
				}
			}
			if !slices.Equal(want, p.Mem()) {
				t.Fatalf("bands of %d rows give other cells", rows)
			}
		}
	}
}

// The columns worked out for a row are those whose cells, each asked by
// itself, are within reach: also on grids of odd cells, where roundings move
// what should lie exactly at the limit. None may be lost.
func TestCapsuleColumnsAgainstEachCell(t *testing.T) {
	r := rand.New(rand.NewPCG(35, 36))
	taken, rounded := 0, 0
	for i := range 3000 {
		f := raster.Frame{W: 30, H: 20, X0: 499999.7, Y0: 4600000.1, Cell: []float64{0.3, 28.35, 10.1, 1.0 / 3}[i%4]}
		// From a centre, or one reach beside it, along the rows or aslant.
		x, y := f.Center(r.IntN(f.W), r.IntN(f.H))
		reach := f.Cell * float64(1+r.IntN(5))
		angle := float64(r.IntN(16)) * math.Pi / 8
		along := orb.Point{math.Cos(angle), math.Sin(angle)}
		if i%3 > 0 {
			x, y = x+reach*along[1], y-reach*along[0]
		}
		back, ahead := f.Cell*float64(r.IntN(8)), f.Cell*float64(r.IntN(8))
		a := orb.Point{x - back*along[0], y - back*along[1]}
		b := orb.Point{x + ahead*along[0], y + ahead*along[1]}
		for _, squares := range []bool{false, true} {
			c := newCapsule(f, a, b, reach, squares)
			for row := range f.H {
				from, to := 0, 0
				if row >= c.first && row < c.end {
					from, to = c.columns(row)
				}
				for col := range f.W {
					want := c.holdsCentre(col, row)
					if squares {
						want = c.meetsSquare(col, row)
					}
					if want {
						taken++
					}
					got := col >= from && col < to
					if got && !want && !squares {
						// Between two that are taken, and by a rounding farther than they.
						e, n := f.Center(col, row)
						want = math.Abs(math.Sqrt(lineDistance2(orb.Point{e, n}, []orb.Point{a, b}))-reach) < 1e-8
						rounded++
					}
					if got != want {
						t.Fatalf("case %d, squares %t: %v–%v within %v: column %d of row %d is %t, alone %t", i, squares, a, b, reach, col, row, got, want)
					}
				}
			}
		}
	}
	if taken < 100_000 || rounded > taken/1000 {
		t.Errorf("%d cells taken, %d of them by a rounding", taken, rounded)
	}
}
