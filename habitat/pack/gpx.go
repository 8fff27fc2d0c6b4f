package pack

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"rillwood/habitat/results"
	"rillwood/vector"
)

// The elements of GPX 1.1 (topografix.com/GPX/1/1, the public schema) that a
// pack uses, in the order the schema wants.
type gpx struct {
	XMLName  xml.Name    `xml:"http://www.topografix.com/GPX/1/1 gpx"`
	Version  string      `xml:"version,attr"`
	Creator  string      `xml:"creator,attr"`
	Metadata gpxMetadata `xml:"metadata"`
	Points   []gpxPoint  `xml:"wpt"`
	Routes   []gpxRoute  `xml:"rte"`
	Tracks   []gpxTrack  `xml:"trk"`
}

type gpxMetadata struct {
	Name     string    `xml:"name"`
	Desc     string    `xml:"desc"`
	Keywords string    `xml:"keywords"`
	Bounds   gpxBounds `xml:"bounds"`
}

type gpxBounds struct {
	MinLat degrees `xml:"minlat,attr"`
	MinLon degrees `xml:"minlon,attr"`
	MaxLat degrees `xml:"maxlat,attr"`
	MaxLon degrees `xml:"maxlon,attr"`
}

type gpxPoint struct {
	Lat  degrees `xml:"lat,attr"`
	Lon  degrees `xml:"lon,attr"`
	Name string  `xml:"name,omitempty"`
	Cmt  string  `xml:"cmt,omitempty"`
	Desc string  `xml:"desc,omitempty"`
	Sym  string  `xml:"sym,omitempty"`
	Type string  `xml:"type,omitempty"`
}

type gpxRoute struct {
	Name   string     `xml:"name"`
	Cmt    string     `xml:"cmt,omitempty"`
	Desc   string     `xml:"desc,omitempty"`
	Points []gpxPoint `xml:"rtept"`
}

type gpxTrack struct {
	Name     string       `xml:"name"`
	Desc     string       `xml:"desc,omitempty"`
	Type     string       `xml:"type,omitempty"`
	Segments []gpxSegment `xml:"trkseg"`
}

type gpxSegment struct {
	Points []gpxPoint `xml:"trkpt"`
}

// degrees are written with six decimals, a tenth of a metre.
type degrees float64

func (d degrees) MarshalXMLAttr(name xml.Name) (xml.Attr, error) {
	return xml.Attr{Name: name, Value: strconv.FormatFloat(float64(d)+0, 'f', 6, 64)}, nil
}

// writeGPX writes entries, starts and middles as waypoints, ways in as routes,
// outlines as closed tracks.
func writeGPX(path string, run *results.Run, list []*results.Candidate) error {
	box := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	point := func(lon, lat float64) gpxPoint {
		box = box.Extend(orb.Point{lon, lat})
		return gpxPoint{Lat: degrees(lat), Lon: degrees(lon)}
	}
	g := gpx{Version: "1.1", Creator: plain(run.Software), Metadata: gpxMetadata{Name: plain(nameOf(run)), Desc: plain(safety(run)), Keywords: "scouting, run " + plain(run.ID)}}
	for _, c := range list {
		id := fmt.Sprintf("RW%02d", c.Rank)
		desc := plain(numbers(c) + ". " + c.AccessNote + ". " + c.Why + " " + shortSafety)
		if w := c.Walk; w != nil && w.OK {
			p := point(w.EntryLon, w.EntryLat)
			p.Name, p.Cmt, p.Desc, p.Sym, p.Type = id+" IN", plain(w.Note), desc, "Trail Head", "entry"
			g.Points = append(g.Points, p)
			p = point(w.StartLon, w.StartLat)
			p.Name, p.Cmt, p.Desc, p.Sym, p.Type = id+" START", plain(w.Start), plain("Start of the way to patch "+strconv.Itoa(c.Rank)+". "+w.Note), "Parking Area", "start"
			g.Points = append(g.Points, p)
		}
		p := point(c.Lon, c.Lat)
		p.Name, p.Cmt, p.Desc, p.Sym, p.Type = id, plain(streamName(c)), desc, "Forest", "patch"
		g.Points = append(g.Points, p)
		if line := run.Ways[c.Rank]; len(line) > 1 {
			r := gpxRoute{Name: id + " WAY", Desc: plain(strings.Join(append([]string{c.Walk.Note + "."}, c.Walk.Cautions...), " "))}
			for _, q := range line {
				r.Points = append(r.Points, point(q[0], q[1]))
			}
			g.Routes = append(g.Routes, r)
		}
		t := gpxTrack{Name: id + " EDGE", Desc: plain("Outline of patch " + strconv.Itoa(c.Rank)), Type: "outline"}
		for _, poly := range c.Shape {
			for _, ring := range poly {
				var s gpxSegment
				for _, q := range ring {
					s.Points = append(s.Points, point(q[0], q[1]))
				}
				t.Segments = append(t.Segments, s)
			}
		}
		g.Tracks = append(g.Tracks, t)
	}
	g.Metadata.Bounds = gpxBounds{degrees(box.Min[1]), degrees(box.Min[0]), degrees(box.Max[1]), degrees(box.Max[0])}
	return vector.WriteBeside(path, func(w io.Writer) error {
		if _, err := io.WriteString(w, xml.Header); err != nil {
			return err
		}
		e := xml.NewEncoder(w)
		e.Indent("", " ")
		if err := e.Encode(g); err != nil {
			return err
		}
		_, err := io.WriteString(w, "\n")
		return err
	})
}

// plain makes text fit for XML 1.0, CSV and text files alike: one line, without
// control characters (the encoders escape the rest).
func plain(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r == unicode.ReplacementChar || r == 0xFFFE || r == 0xFFFF:
			return -1
		case unicode.IsSpace(r) || unicode.IsControl(r):
			return ' '
		case unicode.Is(unicode.Bidi_Control, r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))
	return strings.Join(strings.Fields(s), " ")
}

func streamName(c *results.Candidate) string {
	if c.Stream == "" {
		return "stream without a name"
	}
	return c.Stream
}

func nameOf(run *results.Run) string {
	if run.Name == "" {
		return "Scouting map"
	}
	return run.Name
}
