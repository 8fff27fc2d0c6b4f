package report

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/habitat/picture"
	"rillwood/habitat/results"
)

// wide is the ground of an overview of 1000 cells over a degree at the equator.
var wide = &results.Ground{W: 1000, H: 1000, Bound: orb.Bound{Max: orb.Point{earthRadius * math.Pi / 180, earthRadius * math.Pi / 180}}}

// zigzag is a line of n corners that no thinning to the picture's cells removes.
func zigzag(n int, y float64) orb.MultiLineString {
	var l orb.LineString
	for i := range n {
		l = append(l, orb.Point{float64(i) / float64(n), y + 0.01*float64(i%2)})
	}
	return orb.MultiLineString{l}
}

// Fifty thousand streams: those of high order are all there, whatever their
// place in the file, and no smaller one where a larger is not.
func TestLargeStreamsComeFirst(t *testing.T) {
	run := &results.Run{}
	count := map[int]int{}
	for i := range 50_000 {
		order := 1 + i%7
		if i%500 == 0 {
			order = 9
		}
		count[order]++
		run.Streams = append(run.Streams, results.Stream{Name: fmt.Sprint("Brook ", i%40), Order: order, Line: zigzag(12, float64(i%90)/100)})
	}
	out, shown := streamsOf(run, wide)
	points, drawn := 0, map[int]int{}
	for _, o := range out {
		drawn[o.Order] += len(o.Lines)
		for _, l := range o.Lines {
			points += len(l)
		}
	}
	held := true // all of the orders above are there
	for order := 9; order > 0; order-- {
		if n := drawn[order]; n > 0 && !held {
			t.Errorf("%d streams of order %d are shown, but not all above it", n, order)
		}
		held = held && drawn[order] == count[order]
	}
	if count[9] == 0 || drawn[9] != count[9] {
		t.Errorf("%d of %d streams of the highest order are shown", drawn[9], count[9])
	}
	if points > streamPoints || points < streamPoints*3/4 {
		t.Errorf("%d points, want at most %d and most of them used", points, streamPoints)
	}
	if shown == 0 || shown >= len(run.Streams) || !strings.Contains(streamNote(shown, len(run.Streams)), fmt.Sprintf("%d of 50000", shown)) {
		t.Errorf("%d of %d shown; the note says %q", shown, len(run.Streams), streamNote(shown, len(run.Streams)))
	}
}

// Pieces of one name and order make one stream, with all their lines.
func TestStreamsAreJoined(t *testing.T) {
	run := &results.Run{Streams: []results.Stream{
		{Name: "Mill Brook", Order: 3, Line: zigzag(5, 0)}, {Order: 1, Line: zigzag(4, 0.2)},
		{Name: "Mill Brook", Order: 3, Line: zigzag(6, 0.4)}, {Name: "Mill Brook", Order: 2, Line: zigzag(7, 0.6)},
	}}
	out, shown := streamsOf(run, wide)
	var got []string
	for _, s := range out {
		text := fmt.Sprintf("%s/%d:", s.Name, s.Order)
		for _, l := range s.Lines {
			text += fmt.Sprint(" ", len(l))
		}
		got = append(got, text)
	}
	if want := "[Mill Brook/3: 5 6 Mill Brook/2: 7 /1: 4]"; fmt.Sprint(got) != want || shown != 4 {
		t.Errorf("got %v and %d shown, want %s and 4", got, shown, want)
	}
	if note := streamNote(4, 4); note != "" {
		t.Errorf("all are shown, but the note says %q", note)
	}
}

// The picture holds the ramp of the preview at each of its stops, and nothing
// where nothing is mapped.
func TestPictureHasTheColoursOfTheRamp(t *testing.T) {
	var values []float32
	for _, s := range picture.Ramp() {
		values = append(values, float32(s.Value))
	}
	values = append(values, float32(math.NaN()))
	url, err := suitabilityImage(&results.Ground{W: len(values), H: 1, Suitability: values})
	if err != nil {
		t.Fatal(err)
	}
	data, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(string(url), "data:image/png;base64,"))
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	pixels := img.(*image.Paletted)
	for i, s := range picture.Ramp() {
		got := pixels.At(i, 0).(color.NRGBA)
		for k, d := range []int{int(got.R) - int(s.Color.R), int(got.G) - int(s.Color.G), int(got.B) - int(s.Color.B), int(got.A) - int(s.Color.A)} {
			// Colours between stops: half a step of the palette off at most.
			if d < -2 || d > 2 {
				t.Errorf("suitability %.3f has %v, want %v (part %d)", s.Value, got, s.Color, k)
			}
		}
	}
	if got := pixels.At(len(values)-1, 0).(color.NRGBA); got.A != 0 {
		t.Errorf("ground not mapped has %v, want nothing", got)
	}
}

// The inverse of spherical Mercator: EPSG Guidance Note 7-2, method 1024, with
// the note's example (24°22'54.433"N, 100°20'00.000"W; from memory).
func TestPlaceOfAMercatorPoint(t *testing.T) {
	p := lonLat(orb.Point{-11169055.58, 2800000.00})
	if want := (orb.Point{-(100 + 20.0/60), 24 + 22.0/60 + 54.433/3600}); math.Abs(p[0]-want[0]) > 1e-7 || math.Abs(p[1]-want[1]) > 1e-6 {
		t.Errorf("got %v, want %v", p, want)
	}
}

func TestWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{string(dial("1-800-222-1222")), "tel:1-800-222-1222"},
		{string(dial("+44 (20) 7946.0000")), "tel:+442079460000"},
		{string(dial("javascript:alert(1)")), ""},
		{string(dial("the clinic: 123")), ""},
		{string(dial("")), ""},
		{call(results.Help{PoisonLine: "123", Emergency: "911", Where: "here"}), "123 or 911 (here)"},
		{call(results.Help{Emergency: "911"}), "911"},
		{months([]int{10, 11, 12, 1}), "October to January"},
		{months([]int{3}), "March"},
		{months([]int{3, 13}), ""},
		{found(&results.Run{Found: 9, Candidates: make([]results.Candidate, 4)}), "The best 4 of 9 patches."},
		{found(&results.Run{Found: 4, Candidates: make([]results.Candidate, 4)}), "All 4 patches found."},
		{found(&results.Run{Found: 1, Candidates: make([]results.Candidate, 1)}), "One patch."},
		{number(math.NaN(), 1), "–"},
		{number(2.25, 1), "2.2"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
	if got := found(&results.Run{}); !strings.Contains(got, "no patch") {
		t.Errorf("of no patches it says %q", got)
	}
}
