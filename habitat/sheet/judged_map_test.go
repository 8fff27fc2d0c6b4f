package sheet_test

import (
	"encoding/xml"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/habitat/results"
)

// element is a part of a drawing.
type element struct {
	XMLName  xml.Name
	Attrs    []xml.Attr `xml:",any,attr"`
	Words    string     `xml:",chardata"`
	Children []element  `xml:",any"`
}

func (e element) attr(name string) string {
	for _, a := range e.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// drawn gives the parts of a sheet's map by class; those without one stand
// under the name of their element.
func drawn(t *testing.T, page string) map[string][]element {
	t.Helper()
	from, to := strings.Index(page, "<svg"), strings.LastIndex(page, "</svg>")
	var svg element
	if err := xml.Unmarshal([]byte(page[from:to+6]), &svg); err != nil {
		t.Fatalf("the map is no XML: %v", err)
	}
	out := map[string][]element{}
	var walk func(e element)
	walk = func(e element) {
		key := e.attr("class")
		if key == "" {
			key = e.XMLName.Local
		}
		out[key] = append(out[key], e)
		for _, c := range e.Children {
			walk(c)
		}
	}
	walk(svg)
	return out
}

// corners are the points of an outline: "M1 2L3 4Z".
func corners(t *testing.T, d string) (out []orb.Point) {
	t.Helper()
	for _, s := range regexp.MustCompile(`[ML](-?[\d.]+) (-?[\d.]+)`).FindAllStringSubmatch(d, -1) {
		var p orb.Point
		p[0], _ = strconv.ParseFloat(s[1], 64)
		p[1], _ = strconv.ParseFloat(s[2], 64)
		out = append(out, p)
	}
	if len(out) < 2 {
		t.Fatalf("no outline in %q", d)
	}
	return out
}

// The patch of 500 m tells the scale of the drawing; bars are as long as they
// say, in metres and in yards of 0.9144 m (international yard of 1959).
func TestScaleBarIsAsLongAsItSays(t *testing.T) {
	for _, side := range []float64{1, 0.2, 3, 7} {
		run := county(t, 500000, 1)
		c := &run.Candidates[0]
		stretch(t, run, c, side)
		page := pages(t, run, 1)[0]
		parts := drawn(t, page)
		box := orb.MultiPoint(corners(t, parts["patch"][0].attr("d"))).Bound()
		scale := (box.Max[0] - box.Min[0]) / (500 * side) // units a metre
		if up := (box.Max[1] - box.Min[1]) / (500 * side); !near(up/scale, 1, 0.002) {
			t.Errorf("%g m: scale %g from west to east, %g from north to south", 500*side, scale, up)
		}
		bars := 0
		for _, class := range []string{"bar-m", "bar-yd"} {
			for _, bar := range parts[class] {
				bars++
				m, err := strconv.ParseFloat(bar.attr("data-m"), 64)
				if err != nil {
					t.Fatal(err)
				}
				length := regexp.MustCompile(`h(-?[\d.]+)`).FindStringSubmatch(bar.attr("d"))
				if length == nil {
					t.Fatalf("%s is %q", class, bar.attr("d"))
				}
				h, _ := strconv.ParseFloat(length[1], 64)
				if !near(h, m*scale, 0.002*h+0.11) {
					t.Errorf("%g m, %s: %g m are drawn %g long, want %g", 500*side, class, m, h, m*scale)
				}
				unit, words := 1.0, fmt.Sprintf("%g m", math.Round(m))
				if class == "bar-yd" {
					unit = 0.9144
					words = fmt.Sprintf("%g yd", math.Round(m/unit))
				}
				if v := m / unit; !near(v, math.Round(v), 1e-3) || !strings.Contains(text(page), words) {
					t.Errorf("%g m, %s: %g m, and the sheet does not say %q", 500*side, class, m, words)
				}
			}
		}
		if bars < 2 {
			t.Errorf("%d bars", bars)
		}
	}
}

// stretch makes the sides of a patch so many times as long, around its middle.
func stretch(t *testing.T, run *results.Run, c *results.Candidate, by float64) {
	t.Helper()
	x, y := c.East-run.Frame.X0, run.Frame.Y0-c.North
	h := 250 * by
	f := run.Frame
	c.Shape = orb.MultiPolygon{{{at(t, f, x-h, y+h), at(t, f, x+h, y+h), at(t, f, x+h, y-h), at(t, f, x-h, y-h), at(t, f, x-h, y+h)}}}
	c.Walk, run.Ways = nil, nil
}

// North is up and east to the right: the entry of the first patch lies on its
// western side, near its northern end, the start beyond it.
func TestNorthIsUp(t *testing.T) {
	run := county(t, 500000, 1)
	parts := drawn(t, pages(t, run, 1)[0])
	box := orb.MultiPoint(corners(t, parts["patch"][0].attr("d"))).Bound()
	scale := (box.Max[0] - box.Min[0]) / 500
	way := corners(t, parts["way"][0].attr("d"))
	first, last := way[0], way[len(way)-1]
	if want := (orb.Point{box.Min[0], box.Min[1] + 40*scale}); !near(last[0], want[0], 1) || !near(last[1], want[1], 1) {
		t.Errorf("the way ends at %v, want %v", last, want)
	}
	if want := (orb.Point{box.Min[0] - 150*scale, box.Min[1] - 120*scale}); !near(first[0], want[0], 1) || !near(first[1], want[1], 1) {
		t.Errorf("the way begins at %v, want %v", first, want)
	}
}

var placeRow = regexp.MustCompile(`(?s)<tr><th[^>]*>(Start|Entry|Middle)</th><td>(.*?)</td></tr>`)

// Places stand in degrees (5 decimals, half a metre) and in the grid; GDAL's
// gdaltransform, which asks PROJ, goes from one to the other.
func TestPlacesAgainstPROJ(t *testing.T) {
	type spot struct {
		what string
		e, n float64
	}
	var spots []spot
	var degrees strings.Builder
	for _, west := range []float64{330000, 500000, 690000} {
		run := county(t, west, 1)
		c := &run.Candidates[0]
		want := map[string]orb.Point{"Start": {c.Walk.StartLon, c.Walk.StartLat}, "Entry": {c.Walk.EntryLon, c.Walk.EntryLat}, "Middle": {c.Lon, c.Lat}}
		rows := placeRow.FindAllStringSubmatch(pages(t, run, 1)[0], -1)
		if len(rows) != len(want) {
			t.Fatalf("%d places, want %d", len(rows), len(want))
		}
		for _, row := range rows {
			var lat, lon, e, n float64
			words := text(row[2])
			if _, err := fmt.Sscanf(strings.ReplaceAll(words, ",", ""), "%f %f %f E %f N", &lat, &lon, &e, &n); err != nil {
				t.Fatalf("%s: %q: %v", row[1], words, err)
			}
			p := want[row[1]]
			if !near(lon, p[0], 0.51e-5) || !near(lat, p[1], 0.51e-5) {
				t.Errorf("%s: %v, %v, want %v", row[1], lon, lat, p)
			}
			spots = append(spots, spot{fmt.Sprintf("%s from %.0f", row[1], west), e, n})
			fmt.Fprintf(&degrees, "%.9f %.9f\n", p[0], p[1])
		}
	}
	out := strings.Fields(ask(t, degrees.String(), "gdaltransform", "-s_srs", "OGC:CRS84", "-t_srs", "EPSG:32616", "-output_xy"))
	if len(out) != 2*len(spots) {
		t.Fatalf("gdaltransform says %q", out)
	}
	for i, s := range spots {
		e, _ := strconv.ParseFloat(out[2*i], 64)
		n, _ := strconv.ParseFloat(out[2*i+1], 64)
		if !near(s.e, e, 0.51) || !near(s.n, n, 0.51) {
			t.Errorf("%s: %v E %v N, PROJ says %v %v", s.what, s.e, s.n, e, n)
		}
	}
}

// How far grid north is from true north, by the formula of the transverse
// Mercator on the sphere, (λ−λ₀)·sin φ (Snyder 1987, USGS PP 1395: exact on
// the central meridian, within 0.01° inside a zone).
func TestConvergenceAgainstItsFormula(t *testing.T) {
	told := regexp.MustCompile(`true north (?:is|lies) ([\d.]+)° (east|west) of it`)
	for _, west := range []float64{250000, 330000, 430000, 498000, 560000, 640000, 740000} {
		run := county(t, west, 1)
		c := run.Candidates[0]
		// West of the central meridian meridians lean to the right going north:
		// true north lies east of grid north there.
		want := -(c.Lon + 87) * math.Sin(c.Lat*math.Pi/180)
		page := text(pages(t, run, 1)[0])
		m := told.FindStringSubmatch(page)
		if m == nil {
			if math.Abs(want) > 1.02 || !strings.Contains(page, "within 1° of true") {
				t.Errorf("at %.2f°: nothing told, want %.2f°", c.Lon, want)
			}
			continue
		}
		got, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		if m[2] == "west" {
			got = -got
		}
		if !near(got, want, 0.05+0.015) || math.Abs(want) < 0.98 {
			t.Errorf("at %.2f°: %s, want %.2f°", c.Lon, m[0], want)
		}
	}
}
