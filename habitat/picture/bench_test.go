package picture

import (
	"io"
	"math"
	"testing"
)

// crowded is a map with thousands of reaches and patches.
func crowded(w, h int) Scene {
	s := valley(w, h, 10)
	reaches, patches := s.Streams, s.Outlines
	for k := range 12 {
		for _, l := range reaches {
			for i := 0; i+4 < len(l.Points); i += 4 {
				piece := Line{Order: 1 + k%3, Name: l.Name}
				for _, q := range l.Points[i : i+5] {
					piece.Points = append(piece.Points, [2]float64{q[0] + float64(w*k)/27, q[1] - float64(h*k)/40})
				}
				s.Streams = append(s.Streams, piece)
			}
		}
	}
	for k := range 100 {
		for _, o := range patches {
			c := Outline{Rank: len(s.Outlines) + 1}
			for _, r := range o.Rings {
				var ring [][2]float64
				for _, q := range r {
					a := math.Sin(float64(k)) * float64(w) / 3
					ring = append(ring, [2]float64{q[0] + a, q[1] + math.Cos(float64(7*k))*float64(h)/3})
				}
				c.Rings = append(c.Rings, ring)
			}
			s.Outlines = append(s.Outlines, c)
		}
	}
	return s
}

func BenchmarkDraw(b *testing.B) {
	for name, s := range map[string]Scene{"plain": valley(1600, 1400, 10), "crowded": crowded(1600, 1400)} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Draw(s); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkEncode(b *testing.B) {
	img, err := Draw(valley(1600, 1400, 10))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if err := Encode(io.Discard, img); err != nil {
			b.Fatal(err)
		}
	}
}
