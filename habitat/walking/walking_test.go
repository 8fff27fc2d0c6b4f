package walking

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/habitat/approach"
	"rillwood/raster"
)

// Tobler 1993 gives 6 km/h at a slope of −0.05, about 5 km/h on the level, and
// 0.6 of it off the path; the other values are the formula by hand.
func TestTobler(t *testing.T) {
	for _, c := range []struct{ slope, kmh float64 }{{-0.05, 6}, {0, 5.0367}, {0.05, 4.2281}, {0.2, 2.5012}, {-0.2, 3.5493}, {1, 0.1521}} {
		if got := Tobler(c.slope); math.Abs(got-c.kmh) > 1e-3 {
			t.Errorf("slope %g: %.4f km/h, want %.4f", c.slope, got, c.kmh)
		}
	}
	table := newPaceTable(3)
	for s := -1.9; s < 1.9; s += 0.013 {
		if got, want := table.of(10, 10*s), seconds(10, 10*s, 3); math.Abs(got-want) > 2e-4*want {
			t.Errorf("slope %.3f: %.4f s from the table, %.4f s", s, got, want)
		}
	}
}

func plain(w, h int, cell float64, height func(x, y int) float64) Ground {
	g := Ground{Frame: raster.Frame{W: w, H: h, X0: 1000, Y0: 5000, Cell: cell}, Height: make([]float32, w*h), Bars: make([]uint8, w*h)}
	for y := range h {
		for x := range w {
			g.Height[y*w+x] = float32(height(x, y))
		}
	}
	return g
}

func net(t *testing.T, g Ground, o Options) *Net {
	t.Helper()
	if o.Pace == (Pace{}) {
		o.Pace = DefaultPace()
	}
	n, err := New(g, o)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func walkOf(t *testing.T, n *Net, from, to int32) (Walk, bool) {
	t.Helper()
	r, err := n.From(context.Background(), from, false, math.Inf(1), nil)
	if err != nil {
		t.Fatal(err)
	}
	back, err := n.From(context.Background(), to, true, math.Inf(1), nil)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := r.Seconds(to), back.Seconds(from); math.Abs(a-b) > 1e-3*(1+a) && !(math.IsInf(a, 1) && math.IsInf(b, 1)) {
		t.Fatalf("%g s from the one, %g s towards the other", a, b)
	}
	return r.Walk(to)
}

func TestSlopesCountByDirection(t *testing.T) {
	n := net(t, plain(30, 5, 10, func(x, y int) float64 { return float64(x) }), Options{}) // 10 % up to the east
	up, _ := walkOf(t, n, 2*30+2, 2*30+27)
	down, _ := walkOf(t, n, 2*30+27, 2*30+2)
	off := ToblerOffPath
	if want := 250 * 3.6 / (off * Tobler(0.1)); math.Abs(up.Seconds-want) > 0.1 {
		t.Errorf("up %.2f s, want %.2f s", up.Seconds, want)
	}
	if want := 250 * 3.6 / (off * Tobler(-0.1)); math.Abs(down.Seconds-want) > 0.1 {
		t.Errorf("down %.2f s, want %.2f s", down.Seconds, want)
	}
	if math.Abs(up.UpM-25) > 1e-6 || up.DownM != 0 || math.Abs(up.OffM-250) > 1e-6 || up.PathM != 0 {
		t.Errorf("up: %+v", up)
	}
}

// A path is faster, and slower speeds scale.
func TestPathsAreTaken(t *testing.T) {
	g := plain(40, 40, 10, func(x, y int) float64 { return 0 })
	// A path that leads round three sides: 1,000 m against 300 m.
	g.Ways = []approach.Way{{Line: orb.LineString{{1055, 4945}, {1055, 4695}, {1355, 4695}, {1355, 4945}}}}
	a, b := int32(5*40+5), int32(5*40+35)
	n := net(t, g, Options{Pace: Pace{PathKmh: 5, OffKmh: 3}})
	straight, _ := walkOf(t, n, a, b)
	if want := 300 * 3.6 / 3; math.Abs(straight.Seconds-want) > 0.5 || straight.PathM > 1 {
		t.Errorf("off the path: %.1f s, want %.1f s", straight.Seconds, want)
	}
	n = net(t, g, Options{Pace: Pace{PathKmh: 5, OffKmh: 1}})
	round, _ := walkOf(t, n, a, b)
	if want := 800 * 3.6 / 5; math.Abs(round.Seconds-want) > 1 || math.Abs(round.PathM-800) > 1 {
		t.Errorf("by the path: %.1f s on %.0f m of it, want %.1f s on 800 m", round.Seconds, round.PathM, want)
	}
}

// A stream from north to south between the two places.
func TestWaterBarsTheWay(t *testing.T) {
	stream := orb.LineString{{1203, 5100}, {1198, 4700}, {1204, 4500}}
	base := func() Ground {
		g := plain(40, 40, 10, func(x, y int) float64 { return 0 })
		g.Streams = []orb.Geometry{stream}
		return g
	}
	a, b := int32(20*40+5), int32(20*40+35)
	path := orb.LineString{{1050, 4895}, {1350, 4895}}
	for _, c := range []struct {
		name      string
		way       approach.Way
		wade      bool
		ok        bool
		crossings int
	}{
		{name: "no bridge"},
		{name: "a path that fords", way: approach.Way{Line: path}},
		{name: "a bridge", way: approach.Way{Line: path, Bridge: true}, ok: true},
		{name: "a road", way: approach.Way{Line: path, Kind: approach.Road}, ok: true},
		{name: "a road closed to walkers", way: approach.Way{Line: path, Kind: approach.Road, Closed: true}},
		{name: "wading", wade: true, ok: true, crossings: 1},
	} {
		g := base()
		if c.way.Line != nil {
			g.Ways = []approach.Way{c.way}
		}
		n := net(t, g, Options{Wade: c.wade})
		w, ok := walkOf(t, n, a, b)
		if ok != c.ok || w.Crossings != c.crossings {
			t.Errorf("%s: way %v, %d crossings; want %v, %d", c.name, ok, w.Crossings, c.ok, c.crossings)
		}
		if ok && !c.wade && w.PathM < 100 {
			t.Errorf("%s: only %.0f m on the bridge", c.name, w.PathM)
		}
	}
}

func TestClosedGroundIsGoneRound(t *testing.T) {
	g := plain(40, 40, 10, func(x, y int) float64 { return 0 })
	for y := 0; y < 39; y++ { // a wall that leaves the last row
		g.Bars[y*40+20] = Closed
	}
	n := net(t, g, Options{})
	w, ok := walkOf(t, n, 5*40+5, 5*40+35)
	if !ok {
		t.Fatal("no way")
	}
	for i := 1; i < len(w.Line); i++ {
		for s := range 50 {
			p := along(w.Line[i-1], w.Line[i], float64(s)/50)
			if n.barsAt(p) != 0 {
				t.Fatalf("the way runs in closed ground at %v", p)
			}
		}
	}
	g.Bars[39*40+20] = KeepOut
	if _, ok = walkOf(t, net(t, g, Options{}), 5*40+5, 5*40+35); ok {
		t.Error("the way squeezes through")
	}
	// A path leads across a strip to keep out of, not through closed ground.
	g.Ways = []approach.Way{{Line: orb.LineString{{1100, 4605}, {1300, 4605}}}}
	if w, ok = walkOf(t, net(t, g, Options{}), 5*40+5, 5*40+35); !ok || w.PathM < 10 {
		t.Errorf("not across the strip: %v, %+v", ok, w.PathM)
	}
}

// Streams and barred cells at random: no way crosses a stream or enters a
// barred cell, times are those of relaxing every edge until nothing gets
// shorter (Bellman and Ford), and no move leads through a wall.
func TestTimesEqualRelaxation(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 9))
	for range 25 {
		w, h := 6+r.IntN(14), 6+r.IntN(14)
		g := plain(w, h, 10, func(x, y int) float64 { return 8 * r.Float64() })
		for i := range g.Bars {
			if r.IntN(6) == 0 {
				g.Bars[i] = KeepOut
			}
		}
		at := func() orb.Point {
			return orb.Point{1000 + 10*float64(w)*r.Float64(), 5000 - 10*float64(h)*r.Float64()}
		}
		g.Streams = []orb.Geometry{orb.LineString{at(), at(), at()}}
		g.Ways = []approach.Way{{Line: orb.LineString{at(), at()}}, {Line: orb.LineString{at(), at()}, Bridge: true}, {Line: orb.LineString{at(), at()}, Kind: approach.Road}}
		n := net(t, g, Options{})
		start, _, ok := n.Place(at())
		if !ok {
			continue
		}
		all := w*h + len(n.points)
		best := make([]float64, all)
		for i := range best {
			best[i] = math.Inf(1)
		}
		best[start] = 0
		for changed := true; changed; {
			changed = false
			for v := range best {
				if math.IsInf(best[v], 1) {
					continue
				}
				n.neighbours(int32(v), func(to int32, how kind, metres float64) {
					if s := best[v] + n.edgeSeconds(int32(v), to, how, metres, false); s < best[to]-1e-9 {
						best[to], changed = s, true
					}
				})
			}
		}
		reach, err := n.From(context.Background(), start, false, math.Inf(1), nil)
		if err != nil {
			t.Fatal(err)
		}
		for v := range best {
			got := reach.Seconds(int32(v))
			if math.Abs(got-best[v]) > 1e-4*(1+best[v]) && !(math.IsInf(got, 1) && math.IsInf(best[v], 1)) {
				t.Fatalf("node %d: %g s, relaxed %g s", v, got, best[v])
			}
			walk, ok := reach.Walk(int32(v))
			if !ok {
				continue
			}
			for i := 1; i < len(walk.nodes); i++ {
				p, q := n.Point(walk.nodes[i-1]), n.Point(walk.nodes[i])
				if walk.how[i-1] == offPath && n.streams.Crossings(p, q) > 0 {
					t.Fatalf("the way crosses a stream from %v to %v", p, q)
				}
				if walk.how[i-1] == ford {
					t.Fatal("the way fords")
				}
			}
		}
	}
}

func TestPiecesOfADividedPatch(t *testing.T) {
	g := plain(20, 20, 10, func(x, y int) float64 { return 0 })
	g.Streams = []orb.Geometry{orb.LineString{{1081, 5000}, {1081, 4800}}}
	g.Bars[0] = Water
	var cells []int
	for i := range 400 {
		cells = append(cells, i)
	}
	got := net(t, g, Options{}).Pieces(cells)
	if len(got) != 2 || len(got[0]) != 240 || len(got[1]) != 159 {
		t.Errorf("%d pieces", len(got))
		for _, p := range got {
			t.Log(len(p))
		}
	}
	if got := net(t, g, Options{Wade: true}).Pieces(cells); len(got) != 1 || len(got[0]) != 399 {
		t.Errorf("wading: %d pieces", len(got))
	}
}

func TestNewRefusesOddSpeeds(t *testing.T) {
	for _, p := range []Pace{{0, 3}, {5, math.NaN()}, {50, 3}} {
		if _, err := New(plain(3, 3, 10, func(x, y int) float64 { return 0 }), Options{Pace: p}); err == nil {
			t.Errorf("%+v is taken", p)
		}
	}
}
