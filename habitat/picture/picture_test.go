package picture

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"strings"
	"testing"
)

func drawn(t *testing.T, s Scene) *image.NRGBA {
	t.Helper()
	img, err := Draw(s)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

func encode(t *testing.T, img *image.NRGBA) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestSameSceneSameBytes(t *testing.T) {
	a := encode(t, drawn(t, valley(160, 110, 20)))
	b := encode(t, drawn(t, valley(160, 110, 20)))
	if !bytes.Equal(a, b) {
		t.Error("two pictures of one scene differ")
	}
	if bytes.Contains(a, []byte("tIME")) || bytes.Contains(a, []byte("tEXt")) {
		t.Error("picture has a time or text chunk")
	}
	back, err := png.Decode(bytes.NewReader(a))
	if err != nil {
		t.Fatal(err)
	}
	if img := drawn(t, valley(160, 110, 20)); back.Bounds() != img.Rect || back.At(300, 300) != color.Color(color.RGBAModel.Convert(img.At(300, 300))) {
		t.Error("picture does not read back as drawn")
	}
}

func nans(n int) []float32 {
	z := make([]float32, n)
	for i := range z {
		z[i] = float32(math.NaN())
	}
	return z
}

func TestOddScenes(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	wild := [][2]float64{{nan, 3}, {1, 1}, {inf, 2}, {-1e18, 4}, {1e18, 5}, {2, 2}, {2, 2}}
	for _, c := range []struct {
		name string
		s    Scene
	}{
		{"one cell", Scene{W: 1, H: 1, Cell: 10, Elevation: []float32{5}, Suitability: []float32{0.5}}},
		{"one empty cell", Scene{W: 1, H: 1, Cell: 10, Elevation: nans(1), Suitability: nans(1)}},
		{"no data at all", Scene{Title: "Nothing", W: 40, H: 30, Cell: 10, Elevation: nans(1200), Suitability: nans(1200)}},
		{"suitability without heights", Scene{W: 40, H: 30, Cell: 10, Elevation: nans(1200), Suitability: make([]float32, 1200)}},
		{"one row", valley(300, 1, 10)},
		{"one column", valley(1, 300, 10)},
		{"two rows, very long", valley(1600, 2, 10)},
		{"tiny cells", valley(30, 20, 1e-6)},
		{"vast cells", valley(30, 20, 1e9)},
		{"values off the scale", Scene{W: 2, H: 1, Cell: 1e-6, Elevation: []float32{-3e38, 3e38}, Suitability: []float32{-7, float32(inf)}}},
		{"wild lines", Scene{
			W: 10, H: 10, Cell: 10, Elevation: make([]float32, 100), Suitability: make([]float32, 100),
			Streams:  []Line{{}, {Points: [][2]float64{{5, 5}}, Order: -3}, {Points: wild, Order: 1 << 40, Name: "Wild"}},
			Outlines: []Outline{{}, {Rank: 1}, {Rank: 2, Rings: [][][2]float64{nil, wild}}, {Rank: 3, Rings: [][][2]float64{{{1, 1}, {1, 1}, {1, 1}}}}, {Rank: math.MaxInt, Rings: [][][2]float64{{{1, 1}, {8, 1}, {4, 7}}}}},
			Area:     [][][2]float64{nil, wild},
		}},
		{"words of every kind", Scene{
			Title: strings.Repeat("Unbreakable", 40), Subtitle: strings.Repeat("long ", 300), CRS: strings.Repeat("x", 400),
			Notes: []string{"", strings.Repeat("word ", 500), "Größe, Ångström, Ελλάδα, река, 漢字, \x00\xff, \U0001F344"},
			W:     30, H: 50, Cell: 10, Elevation: make([]float32, 1500), Suitability: make([]float32, 1500),
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			img := drawn(t, c.s)
			if !img.Opaque() {
				t.Error("picture has see-through pixels")
			}
			if d := img.Rect; d.Dx() > 4000 || d.Dy() > 6000 || max(d.Dx(), d.Dy()) < 1000 {
				t.Errorf("picture is %d × %d pixels", d.Dx(), d.Dy())
			}
		})
	}
}

func TestContradictions(t *testing.T) {
	good := func() Scene {
		return Scene{W: 2, H: 2, Cell: 10, Elevation: make([]float32, 4), Suitability: make([]float32, 4)}
	}
	for _, c := range []struct {
		name  string
		spoil func(*Scene)
		want  string
	}{
		{"no rows", func(s *Scene) { s.H = 0 }, "picture of 2 × 0 cells"},
		{"too many cells", func(s *Scene) { s.W, s.H = 1<<40, 1<<40 }, "too large"},
		{"no cell size", func(s *Scene) { s.Cell = 0 }, "cell of 0 m"},
		{"endless cell", func(s *Scene) { s.Cell = math.Inf(1) }, "cell of +Inf m"},
		{"nan cell size", func(s *Scene) { s.Cell = math.NaN() }, "cell of NaN m"},
		{"short elevation", func(s *Scene) { s.Elevation = s.Elevation[:3] }, "elevation has 3 cells"},
		{"long suitability", func(s *Scene) { s.Suitability = make([]float32, 5) }, "suitability has 5 cells"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := good()
			c.spoil(&s)
			if _, err := Draw(s); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want one with %q", err, c.want)
			}
		})
	}
}

// bluish and reddish are the two marks that have to be told apart at a glance.
func bluish(c color.NRGBA) bool  { return int(c.B) > int(c.R)+80 && int(c.B) > int(c.G)+40 }
func reddish(c color.NRGBA) bool { return int(c.R) > int(c.B)+80 && int(c.R) > int(c.G)+60 }

func TestWhatIsOnThePicture(t *testing.T) {
	const w, h = 250, 200
	s := Scene{
		Title: "A", W: w, H: h, Cell: 10, Elevation: make([]float32, w*h), Suitability: make([]float32, w*h),
		Streams:  []Line{{Points: [][2]float64{{0, 100}, {250, 100}}, Order: 6}, {Points: [][2]float64{{0, 180}, {250, 180}}, Order: 1}},
		Outlines: []Outline{{Rank: 1, Rings: [][][2]float64{{{50, 30}, {120, 30}, {120, 70}, {50, 70}}}}},
		Area:     [][][2]float64{{{2, 2}, {248, 2}, {248, 198}, {2, 198}}},
	}
	for i := range s.Suitability {
		switch x := i % w; {
		case x < 20:
			s.Suitability[i] = float32(math.NaN())
		case x < 200:
			s.Suitability[i] = float32(x-20) / 180
		default:
			s.Suitability[i] = 0
		}
	}
	p := plan(&s)
	img := drawn(t, s)
	at := func(x, y float64) color.NRGBA {
		q := p.toPage([2]float64{x, y})
		return img.NRGBAAt(int(q.x), int(q.y))
	}
	if p.zoom != 4 || p.mapRect.Dx() != 1000 {
		t.Fatalf("zoom %d, map %v, want 4 and 1000 pixels", p.zoom, p.mapRect)
	}
	if c := at(220, 100); !bluish(c) {
		t.Errorf("stream is %v, want blue", c)
	}
	if c := at(90, 30); !reddish(c) {
		t.Errorf("outline is %v, want vermilion", c)
	}
	if c := at(220, 60); c != reliefTint(float64(int(flatShade*reliefSteps+0.5))/reliefSteps) {
		t.Errorf("unsuitable level ground is %v, want bare relief", c)
	}
	if lo, hi := at(60, 120), at(190, 120); luminance(hi) > 0.2 || luminance(lo) < 0.5 {
		t.Errorf("low and high suitability are %v and %v, want light and dark", lo, hi)
	}
	thick := func(y float64) (n int) {
		q := p.toPage([2]float64{220, y})
		for d := -20; d <= 20; d++ {
			if bluish(img.NRGBAAt(int(q.x), int(q.y)+d)) {
				n++
			}
		}
		return n
	}
	if a, b := thick(100), thick(180); a <= b || b < 1 {
		t.Errorf("order 6 is %d pixels wide, order 1 %d", a, b)
	}
	count := func(r image.Rectangle, is func(color.NRGBA) bool) (n int) {
		for y := r.Min.Y; y < r.Max.Y; y++ {
			for x := r.Min.X; x < r.Max.X; x++ {
				if is(img.NRGBAAt(x, y)) {
					n++
				}
			}
		}
		return n
	}
	dark := func(c color.NRGBA) bool { return luminance(c) < 0.05 }
	if n := count(p.legend, func(c color.NRGBA) bool { return c == overlay(flatShade, 0.5) || bluish(c) }); n < 500 {
		t.Errorf("legend has %d pixels of the ramp", n)
	}
	if n := count(p.legend, reddish); n < 30 {
		t.Errorf("legend has %d pixels of outline", n)
	}
	if n := count(p.legend, dark); n < 500 {
		t.Errorf("legend has %d dark pixels: no words or no scale bar", n)
	}
	if n := count(image.Rect(0, p.h-p.margin2(), p.w, p.h), func(c color.NRGBA) bool { return c == ink }); n < p.w*10 {
		t.Errorf("foot has %d pixels of the dark band", n)
	}
	if n := count(image.Rect(0, p.plate.Max.Y, p.w, p.h), func(c color.NRGBA) bool { return c == caution }); n < 50 {
		t.Errorf("warning sign has %d pixels", n)
	}
	if n := count(image.Rect(0, 0, p.w, p.plate.Min.Y-2), dark); n < 50 {
		t.Errorf("title has %d dark pixels", n)
	}
}

func (p *page) margin2() int { return int(2 * p.u) }

// luminance is the relative luminance of WCAG 2.1, 0 to 1.
func luminance(c color.NRGBA) float64 {
	f := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.03928 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*f(c.R) + 0.7152*f(c.G) + 0.0722*f(c.B)
}
