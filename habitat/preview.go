package habitat

import (
	"bytes"
	"fmt"
	"math"
	"os"

	"github.com/paulmach/orb"

	"rillwood/habitat/picture"
)

// previewSide is the most cells a side of the preview may have; larger maps
// are averaged down.
const previewSide = 1600

func (p *publication) writePreview(path string) error {
	f := p.frame()
	view, err := p.overview()
	if err != nil {
		return err
	}
	s := picture.Scene{W: view.w, H: view.h, Cell: f.Cell * float64(view.k), CRS: f.Name, Notes: p.notes(), Elevation: view.elevation, Suitability: view.suitability}
	s.Title = p.in.Survey.Name
	if s.Title == "" {
		s.Title = "Scouting map"
	}
	s.Subtitle = fmt.Sprintf("%s of %d patches, %s", "best "+fmt.Sprint(len(p.short.Candidates)), p.short.Found, p.in.Profile.Target.Common)
	if p.ground.access != nil {
		s.Subtitle += "; ranks go by who may enter, then by score"
	}
	at := func(pt orb.Point) [2]float64 {
		return [2]float64{(pt[0] - f.X0) / s.Cell, (f.Y0 - pt[1]) / s.Cell}
	}
	line := func(l orb.LineString, r Reach) {
		out := picture.Line{Order: r.Order, Name: r.Name, Points: make([][2]float64, len(l))}
		for i, pt := range l {
			out.Points[i] = at(pt)
		}
		s.Streams = append(s.Streams, out)
	}
	for _, r := range p.ground.network.Reaches {
		switch l := r.Line.(type) {
		case orb.LineString:
			line(l, r)
		case orb.MultiLineString:
			for _, part := range l {
				line(part, r)
			}
		}
	}
	ring := func(r orb.Ring) [][2]float64 {
		out := make([][2]float64, len(r))
		for i, pt := range r {
			out[i] = at(pt)
		}
		return out
	}
	for _, c := range p.short.Candidates {
		o := picture.Outline{Rank: c.Rank}
		for _, poly := range c.Shape {
			for _, r := range poly {
				o.Rings = append(o.Rings, ring(r))
			}
		}
		s.Outlines = append(s.Outlines, o)
	}
	if a, ok := p.ground.outline.(orb.MultiPolygon); ok {
		for _, poly := range a {
			for _, r := range poly {
				s.Area = append(s.Area, ring(r))
			}
		}
	}
	img, err := picture.Draw(s)
	if err != nil {
		return fmt.Errorf("preview: %w", err)
	}
	var b bytes.Buffer
	if err := picture.Encode(&b, img); err != nil {
		return fmt.Errorf("preview: %w", err)
	}
	return os.WriteFile(path, b.Bytes(), 0o644)
}

// notes are the lines under the picture.
func (p *publication) notes() []string {
	var notes []string
	for _, c := range ShortCautions(p.in.Profile) {
		if c.Key != "map" { // it stands in the band below
			notes = append(notes, c.Title+": "+c.Text)
		}
	}
	return notes
}

// decimate averages elevation and suitability over k×k blocks of the window.
func (p *publication) decimate(k, cols int, z, s []float32) error {
	w := p.ground.window
	row := make([]float32, w.W)
	sum, n := make([]float64, cols), make([]int, cols)
	average := func(rows int, read func(y int) error, dst []float32) error {
		clear(sum)
		clear(n)
		for y := range rows {
			if err := read(y); err != nil {
				return err
			}
			for x, v := range row {
				if v == v && v != noValue {
					sum[x/k] += float64(v)
					n[x/k]++
				}
			}
		}
		for x := range dst {
			dst[x] = float32(math.NaN())
			if n[x] > 0 {
				dst[x] = float32(sum[x] / float64(n[x]))
			}
		}
		return nil
	}
	suit := siteRows(p, noValue, func(s site) float32 { return s.S })
	for by := 0; by*k < w.H; by++ {
		rows := min(k, w.H-by*k)
		err := average(rows, func(y int) error { return p.ground.z.Read(w.X, w.Y+by*k+y, w.W, 1, row) }, z[by*cols:(by+1)*cols])
		if err != nil {
			return err
		}
		if err := average(rows, func(y int) error { return suit(by*k+y, 1, row) }, s[by*cols:(by+1)*cols]); err != nil {
			return err
		}
	}
	return nil
}
