package picture

import (
	"image"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestRampDarkensSteadily(t *testing.T) {
	for i := 1; i <= 100; i++ {
		a, b := float64(i-1)/100, float64(i)/100
		if luminance(rampAt(a)) <= luminance(rampAt(b)) {
			t.Errorf("ramp is no darker at %g than at %g", b, a)
		}
		if rampOpacity(a) > rampOpacity(b) {
			t.Errorf("ramp is more see-through at %g than at %g", b, a)
		}
	}
	stops := Ramp()
	if n := len(stops); n != 9 || stops[0].Value != 0 || stops[n-1].Value != 1 || stops[0].Color.A != 0 {
		t.Errorf("stops %v, want nine from see-through 0 to 1", stops)
	}
}

// Words have to stand out from the page at least 4.5 : 1, large words 3 : 1
// (WCAG 2.1, success criterion 1.4.3, level AA).
func TestContrast(t *testing.T) {
	ratio := func(a, b float64) float64 { return (max(a, b) + 0.05) / (min(a, b) + 0.05) }
	for _, c := range []struct {
		name  string
		a, b  float64
		least float64
	}{
		{"ink on paper", luminance(ink), luminance(paper), 7},
		{"notes on paper", luminance(muted), luminance(paper), 4.5},
		{"safety line", luminance(white), luminance(ink), 7},
		{"rank on its badge", luminance(white), luminance(patch), 4.5},
		{"stream name on its halo", luminance(waterInk), luminance(white), 7},
		{"stream on its casing", luminance(water), luminance(white), 4.5},
	} {
		if got := ratio(c.a, c.b); got < c.least {
			t.Errorf("%s: contrast %.1f : 1, want %g : 1", c.name, got, c.least)
		}
	}
}

func TestRound125(t *testing.T) {
	for _, c := range [][2]float64{{1, 1}, {1.99, 1}, {2, 2}, {4.9, 2}, {5, 5}, {9.99, 5}, {10, 10}, {0.3, 0.2}, {0.05, 0.05}, {1000, 1000}, {7e5, 5e5}, {0.001, 0.001}} {
		if got := round125(c[0]); math.Abs(got-c[1]) > 1e-12*c[1] {
			t.Errorf("round125(%g) = %g, want %g", c[0], got, c[1])
		}
	}
}

// Coverage of a stroke adds up to its area: a capsule of length l and width w
// covers l·w + π(w/2)² pixels.
func TestStrokeCoversItsArea(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := rapid.Float64Range(30, 70)
		a, b := pt{in.Draw(t, "ax"), in.Draw(t, "ay")}, pt{in.Draw(t, "bx"), in.Draw(t, "by")}
		w := rapid.Float64Range(1.5, 12).Draw(t, "width")
		m := newMask(image.Rect(0, 0, 100, 100))
		m.segment(a, b, w)
		sum := 0.0
		for _, c := range m.a {
			sum += float64(c) / 255
		}
		want := dist(a, b)*w + math.Pi*w*w/4
		if math.Abs(sum-want) > 0.03*want+1.2 {
			t.Fatalf("stroke of width %g covers %.2f pixels, want %.2f", w, sum, want)
		}
	})
}

func TestBadgesKeepApart(t *testing.T) {
	for _, s := range []Scene{valley(700, 450, 10), valley(60, 40, 30), valley(150, 700, 10), crowded(400, 350)} {
		p := plan(&s)
		badges := placeRanks(p)
		if len(badges) != min(labelled, len(s.Outlines)) {
			t.Errorf("%d × %d: %d badges for %d patches", s.W, s.H, len(badges), len(s.Outlines))
		}
		for i, a := range badges {
			if a.at.x-a.hw < float64(p.plate.Min.X) || a.at.x+a.hw > float64(p.plate.Max.X) || a.at.y-a.hh < float64(p.plate.Min.Y) || a.at.y+a.hh > float64(p.plate.Max.Y) {
				t.Errorf("%d × %d: badge %s leaves the map", s.W, s.H, a.text)
			}
			for _, b := range badges[:i] {
				if around(a.at, a.hw, a.hh).meets(around(b.at, b.hw, b.hh)) {
					t.Errorf("%d × %d: badges %s and %s overlap", s.W, s.H, a.text, b.text)
				}
			}
		}
	}
}

func TestAnchorLiesInItsPatch(t *testing.T) {
	for _, r := range [][]pt{
		{{0, 0}, {10, 0}, {10, 10}, {0, 10}},
		{{0, 0}, {30, 0}, {30, 4}, {4, 4}, {4, 30}, {0, 30}},                     // an L
		{{0, 0}, {30, 0}, {30, 30}, {26, 30}, {26, 4}, {4, 4}, {4, 30}, {0, 30}}, // a U
	} {
		q, odd := inside(r), false
		for i, a := range r {
			b := r[(i+1)%len(r)]
			if (a.y > q.y) != (b.y > q.y) && q.x < a.x+(q.y-a.y)/(b.y-a.y)*(b.x-a.x) {
				odd = !odd
			}
		}
		if !odd {
			t.Errorf("anchor %v is outside %v", q, r)
		}
	}
}

func TestCrowdedMapsShowLess(t *testing.T) {
	s := valley(400, 300, 10)
	p := plan(&s)
	if p.leastOrder != 0 || len(p.streams) != len(s.Streams) || len(p.patches) != len(s.Outlines) || p.numbered != labelled {
		t.Errorf("open map: order %d, %d streams, %d patches, %d numbers", p.leastOrder, len(p.streams), len(p.patches), p.numbered)
	}
	for y := range 300 { // a rill in every row
		s.Streams = append(s.Streams, Line{Points: [][2]float64{{0, float64(y)}, {400, float64(y)}}})
	}
	for n := range 4000 {
		x, y := float64(n%80)*5, float64(n/80)*6
		s.Outlines = append(s.Outlines, Outline{Rank: 4100 - n, Rings: [][][2]float64{{{x, y}, {x + 4, y}, {x + 4, y + 4}, {x, y + 4}}}})
	}
	p = plan(&s)
	if p.leastOrder != 2 {
		t.Errorf("least order %d, want 2", p.leastOrder)
	}
	for _, l := range p.streams {
		if l.Order < 2 {
			t.Errorf("stream of order %d is still there", l.Order)
		}
	}
	if n := len(p.patches); n < labelled || n > 2000 {
		t.Errorf("%d of %d patches shown", n, len(s.Outlines))
	}
	for i := 1; i < len(p.patches); i++ {
		if p.patches[i].Rank < p.patches[i-1].Rank {
			t.Fatalf("patch of rank %d comes after rank %d", p.patches[i].Rank, p.patches[i-1].Rank)
		}
	}
}

// Reaches of one stream, in any order and direction, carry its name once.
func TestReachesJoin(t *testing.T) {
	s := Scene{W: 500, H: 300, Cell: 10, Elevation: make([]float32, 150000), Suitability: make([]float32, 150000), Streams: []Line{
		{Name: "Alder River", Order: 2, Points: [][2]float64{{200, 150}, {300, 150}}},
		{Name: "Alder River", Order: 3, Points: [][2]float64{{400, 150}, {300, 150}}},
		{Name: "Alder River", Order: 1, Points: [][2]float64{{100, 150}, {200, 150}}},
		{Name: "Sedge Run", Points: [][2]float64{{100, 50}, {102, 50}}},
	}}
	p := plan(&s)
	cs := p.courses()
	if len(cs) != 1 || cs[0].name != "Alder River" || cs[0].order != 3 || math.Abs(cs[0].len-300*float64(p.zoom)) > 2*p.u {
		t.Fatalf("courses %+v, want one of 300 cells", cs)
	}
	st := p.style(p.faces.italic, 0.92)
	ground := newBusy(p.mapRect)
	spots := p.follow(st, cs[0], st.width(cs[0].name), ground)
	if len(spots) != len("Alder River") {
		t.Fatalf("%d letters set, want %d", len(spots), len("Alder River"))
	}
	for i, sp := range spots {
		if sp.at.y >= p.toPage([2]float64{0, 150}).y || (i > 0 && sp.at.x <= spots[i-1].at.x) {
			t.Errorf("letter %d at %v: want it above the line and right of the one before", i, sp.at)
		}
	}
	ground.take(box{-1e9, -1e9, 1e9, 1e9})
	if p.follow(st, cs[0], st.width(cs[0].name), ground) != nil {
		t.Error("name set where all ground is taken")
	}
}
