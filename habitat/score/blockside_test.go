package score

import (
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/mat"
)

// scatter is n points in a square, a third of them beside another.
func scatter(r *rand.Rand, n int, extent float64) []orb.Point {
	var out []orb.Point
	for i := range n {
		p := orb.Point{r.Float64() * extent, r.Float64() * extent}
		if i%3 == 2 {
			p = orb.Point{out[i-1][0] + 150*r.NormFloat64(), out[i-1][1] + 150*r.NormFloat64()}
		}
		out = append(out, p)
	}
	return out
}

// field draws a Gaussian field with a spherical covariance at points, by
// Cholesky's factor.
func field(t testing.TB, r *rand.Rand, points []orb.Point, reach float64) []float64 {
	n := len(points)
	cov := mat.NewSymDense(n, nil)
	for i := range n {
		for k := i; k < n; k++ {
			d := math.Hypot(points[i][0]-points[k][0], points[i][1]-points[k][1])
			c := 1 - spherical(d/reach)
			if i == k {
				c += 0.05
			}
			cov.SetSym(i, k, c)
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		t.Fatal("covariance is none")
	}
	var lower mat.TriDense
	chol.LTo(&lower)
	white := mat.NewVecDense(n, nil)
	for i := range n {
		white.SetVec(i, r.NormFloat64())
	}
	var out mat.VecDense
	out.MulVec(&lower, white)
	return out.RawVector().Data
}

// Fields of known range give it back within a factor of two, in the middle of
// many; yes-or-no records of such a field nearly so.
func TestRangeOfDrawnFields(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	for _, reach := range []float64{2000, 5000} {
		var smooth, yesNo []float64
		found := 0
		for range 25 {
			points := scatter(r, 180, 20000)
			z := field(t, r, points, reach)
			s := BlockSide(points, z, SideOptions{})
			if s.Range.Known() {
				found++
				smooth = append(smooth, s.Range.Value)
			}
			is, p, one := make([]float64, len(z)), make([]float64, len(z)), make([]float64, len(z))
			for i, v := range z {
				p[i], one[i] = 0.5, 1
				if v > 0 {
					is[i] = 1
				}
			}
			if s := BlockSide(points, Residuals(p, one, is), SideOptions{}); s.Range.Known() {
				yesNo = append(yesNo, s.Range.Value)
			}
		}
		sort.Float64s(smooth)
		sort.Float64s(yesNo)
		t.Logf("range %.0f m: found %d of 25, middle %.0f (%.0f to %.0f); yes or no: %d, middle %.0f", reach, found,
			smooth[len(smooth)/2], smooth[len(smooth)/10], smooth[len(smooth)*9/10], len(yesNo), yesNo[len(yesNo)/2])
		if found < 23 {
			t.Errorf("range %.0f m: found in %d of 25 fields", reach, found)
		}
		if m := smooth[len(smooth)/2]; m < reach/2 || m > reach*2 {
			t.Errorf("range %.0f m: middle %.0f", reach, m)
		}
		if m := yesNo[len(yesNo)/2]; len(yesNo) < 20 || m < reach/2.5 || m > reach*2 {
			t.Errorf("range %.0f m of yes and no: %d found, middle %.0f", reach, len(yesNo), m)
		}
	}
}

// Residuals that know nothing of each other leave the least side, about as
// often as a test of 5 % lets them.
func TestNoRangeOfNoise(t *testing.T) {
	r := rand.New(rand.NewPCG(33, 34))
	kept := 0
	const rounds = 100
	for range rounds {
		points := scatter(r, 120, 20000)
		z := make([]float64, len(points))
		for i := range z {
			z[i] = r.NormFloat64()
		}
		if s := BlockSide(points, z, SideOptions{}); s.M == 500 {
			kept++
		}
	}
	t.Logf("least side kept in %d of %d", kept, rounds)
	if kept < 88 {
		t.Errorf("least side kept in %d of %d", kept, rounds)
	}
}

// One wild residual does not decide the side, and scale means nothing.
func TestSideIsRobust(t *testing.T) {
	r := rand.New(rand.NewPCG(35, 36))
	points := scatter(r, 150, 20000)
	z := field(t, r, points, 3000)
	a := BlockSide(points, z, SideOptions{})
	wild := make([]float64, len(z))
	for i, v := range z {
		wild[i] = 1e6 * v
	}
	wild[7] = 1e200
	b := BlockSide(points, wild, SideOptions{})
	if a.M <= 500 || b.M < a.M/1.5 || b.M > a.M*1.5 {
		t.Errorf("side %.0f m, with one wild residual %.0f m", a.M, b.M)
	}
}

// Where the range would leave too few blocks the side is lowered and said.
func TestSideIsCapped(t *testing.T) {
	r := rand.New(rand.NewPCG(37, 38))
	points := scatter(r, 150, 6000)
	z := field(t, r, points, 5000)
	s := BlockSide(points, z, SideOptions{LeastBlocks: 20})
	blocks, err := Blocks(points, s.M)
	if err != nil {
		t.Fatal(err)
	}
	list, _ := distinct(blocks)
	if !s.Capped || len(list) < 20 || s.Blocks != len(list) || s.M >= s.Range.Value {
		t.Errorf("side %.0f m, %d blocks, capped %v, range %+v", s.M, len(list), s.Capped, s.Range)
	}
	// No smaller than need be: a little more leaves too few.
	more, err := Blocks(points, 1.15*s.M)
	if err != nil {
		t.Fatal(err)
	}
	if list, _ := distinct(more); len(list) >= 20 {
		t.Errorf("side %.0f m, though %.0f m leaves %d blocks", s.M, 1.15*s.M, len(list))
	}
	if s := BlockSide(points, z, SideOptions{FloorM: 4000, LeastBlocks: 20}); s.M < 4000 {
		t.Errorf("side %.0f m is below the floor of 4000 m", s.M)
	}
}

// Of more records than are compared with all others, some are; the side is
// nearly that of all.
func TestSideOfManyRecords(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a second")
	}
	r := rand.New(rand.NewPCG(39, 40))
	var points []orb.Point
	var z []float64
	// Squares of 2 km, each with a level of its own: alike below 2 km.
	level := map[Block]float64{}
	for range 6000 {
		p := orb.Point{r.Float64() * 40000, r.Float64() * 40000}
		b := Block{int(p[0] / 2000), int(p[1] / 2000)}
		if _, ok := level[b]; !ok {
			level[b] = r.NormFloat64()
		}
		points, z = append(points, p), append(z, level[b]+r.NormFloat64())
	}
	s := BlockSide(points, z, SideOptions{})
	if s.M < 1500 || s.M > 3500 {
		t.Errorf("side %.0f m, want about 2 to 2.8 km: %s", s.M, s.How)
	}
}
