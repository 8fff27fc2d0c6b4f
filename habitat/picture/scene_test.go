package picture

import (
	"fmt"
	"math"
)

// valley is an invented scene of w × h cells: a river that winds from west to
// east through low hills, side streams, suitable ground along the water, and
// patches to scout. Everything is a formula, so it is the same every time.
func valley(w, h int, cell float64) Scene {
	s := Scene{
		Title:    "Alder Bottoms, Harrow County",
		Subtitle: "Where to look for velvet-stemmed winter mushrooms on dead elm",
		W:        w, H: h, Cell: cell,
		Elevation:   make([]float32, w*h),
		Suitability: make([]float32, w*h),
		CRS:         "NAD83 / UTM zone 17N",
		Notes: []string{
			"Deadly look-alike: Galerina marginata grows on the same wood in the same months. Check every single stem: white spore print, no ring. When in doubt, throw it out.",
			"Ask the landowner first. Dead trees drop limbs without warning; ice on backwaters is never reliably safe.",
			"Elevation, streams and land cover: invented for this demonstration.",
		},
	}
	fw, fh := float64(w), float64(h)
	// All shapes are in shares of the longer side, so that every size shows the same country.
	long := max(fw, fh)
	river := func(x float64) float64 {
		t := x / long
		return fh/2 + long*(0.09*math.Sin(5.1*t+0.4)+0.035*math.Sin(17*t)+0.012*math.Sin(43*t))
	}
	side := func(k int, y float64) (x, head float64) { // side streams run north and south
		t := (y - fh/2) / long
		base := fw * (0.12 + 0.19*float64(k))
		return base + long*(0.05*math.Sin(9*t+float64(k))+0.015*math.Sin(31*t+2*float64(k))) + 0.25*long*t*t*2, 0
	}
	height := func(x, y float64) float64 {
		t, v := x/long, y/long
		hill := 46 * (0.5 + 0.5*math.Sin(9*t+2*math.Sin(6*v))*math.Cos(11*v+1.3*math.Sin(7*t)))
		hill += 14 * math.Sin(27*t+3*math.Sin(13*v)) * math.Sin(23*v+1)
		hill += 4 * math.Sin(71*t+5*math.Sin(31*v)) * math.Sin(67*v)
		d := math.Abs(y-river(x)) / long
		near := 1 - math.Exp(-math.Pow(d/0.07, 2))
		for k := range 5 {
			sx, _ := side(k, y)
			e := math.Abs(x-sx) / long
			up := min(1, d/0.3)
			near *= 1 - (1-0.55*up)*math.Exp(-math.Pow(e/0.018, 2))
		}
		return 210 - 18*t + 8 + near*(30+hill)
	}
	for y := range h {
		for x := range w {
			i := y*w + x
			cx, cy := float64(x)+0.5, float64(y)+0.5
			s.Elevation[i] = float32(height(cx, cy))
			rel := height(cx, cy) - (210 - 18*cx/long + 8)
			patchy := 0.78 + 0.22*math.Sin(37*cx/long+4*math.Sin(29*cy/long))
			s.Suitability[i] = float32(math.Exp(-math.Pow(rel/9, 2)) * patchy)
			// The area is an ellipse with a wavy edge.
			if r := edge(cx/fw-0.5, cy/fh-0.5); r > 1 {
				s.Suitability[i] = float32(math.NaN())
			}
		}
	}
	main := Line{Order: 5, Name: "Alder River"}
	for x := 0.0; x <= fw; x += max(fw/300, 0.2) {
		main.Points = append(main.Points, [2]float64{x, river(x)})
	}
	s.Streams = append(s.Streams, main)
	for k := range 5 {
		for _, dir := range []float64{-1, 1} {
			l := Line{Order: 1 + (k+int(dir+1)/2)%3, Name: fmt.Sprintf("%s Run", []string{"Otter", "Millrace", "Cold", "Heron", "Sedge"}[k])}
			x0, _ := side(k, fh/2)
			y0 := river(x0)
			for y := y0 + dir*long*0.005; y > fh*0.06 && y < fh*0.94; y += dir * max(fh/160, 0.2) {
				x, _ := side(k, y)
				l.Points = append(l.Points, [2]float64{x, y})
			}
			s.Streams = append(s.Streams, l)
		}
	}
	// Patches stand beside the streams, some near, some far apart, and do not overlap.
	type place struct{ x, y, r float64 }
	var used []place
	for n := range 400 {
		share := func(k float64) float64 { return math.Mod(float64(n)*k+0.31, 1) }
		x := fw * share(0.6180339887)
		y := river(x) + long*0.05*(share(0.7548776662)-0.5)
		if n%3 == 0 {
			y = fh * share(0.5698402910)
			sx, _ := side(n/3%5, y)
			x = sx + long*0.008*(share(0.33)-0.5)
		}
		r := long * (0.006 + 0.011*share(0.8191725134))
		free := len(s.Outlines) < 30 && edge(x/fw-0.5, y/fh-0.5) < 0.93
		for _, o := range used {
			free = free && math.Hypot((x-o.x)/1.5, y-o.y) > 1.35*(r+o.r)
		}
		if !free {
			continue
		}
		used = append(used, place{x, y, r})
		var ring [][2]float64
		for a := range 36 {
			f := float64(a) * math.Pi / 18
			k := 1 + 0.2*math.Sin(2*f+float64(n)) + 0.1*math.Sin(5*f+2*float64(n))
			ring = append(ring, [2]float64{x + 1.4*r*k*math.Cos(f), y + 0.9*r*k*math.Sin(f)})
		}
		s.Outlines = append(s.Outlines, Outline{Rings: [][][2]float64{ring}, Rank: len(s.Outlines) + 1})
	}
	var ring [][2]float64
	for a := range 180 {
		f := float64(a) * math.Pi / 90
		lo, hi := 0.0, 1.0
		for range 40 {
			m := (lo + hi) / 2
			if edge(m*math.Cos(f), m*math.Sin(f)) > 1 {
				hi = m
			} else {
				lo = m
			}
		}
		ring = append(ring, [2]float64{fw * (0.5 + lo*math.Cos(f)), fh * (0.5 + lo*math.Sin(f))})
	}
	s.Area = [][][2]float64{ring}
	return s
}

// edge is below 1 inside the area; x and y are shares from the middle.
func edge(x, y float64) float64 {
	a := math.Atan2(y, x)
	return math.Sqrt(x*x+y*y) / (0.455 + 0.022*math.Sin(3*a+1) + 0.01*math.Sin(8*a))
}
