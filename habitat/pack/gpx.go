package pack

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"

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
	return xml.Attr{Name: name, Value: strconv.FormatFloat(float64(d), 'f', 6, 64)}, nil
}

// degreesOf rounds, so that bounds are those of what is written. The schema
// has longitudes below 180 only.
func degreesOf(v float64, below float64) degrees {
	return degrees(min(math.Round(v*1e6)/1e6+0, below))
}

// A gpxWriter collects what is written, and its bounds.
type gpxWriter struct {
	run *results.Run
	doc gpx
	box gpxBounds
}

// writeGPX writes entries, starts and middles as waypoints, ways in as routes,
// outlines as closed tracks. No times are told, so that the same patches give
// the same bytes.
func writeGPX(path string, run *results.Run, list []*results.Candidate) error {
	creator := plain(run.Software)
	if creator == "" {
		creator = "Rillwood"
	}
	w := &gpxWriter{run: run, box: gpxBounds{90, 180, -90, -180}}
	w.doc = gpx{Version: "1.1", Creator: creator, Metadata: gpxMetadata{Name: plain(nameOf(run)), Desc: plain(safety(run)), Keywords: plain("scouting, run " + run.ID)}}
	for _, c := range list {
		w.candidate(c)
	}
	w.doc.Metadata.Bounds = w.box
	return vector.WriteBeside(path, func(out io.Writer) error {
		if _, err := io.WriteString(out, xml.Header); err != nil {
			return err
		}
		e := xml.NewEncoder(out)
		e.Indent("", " ")
		if err := e.Encode(w.doc); err != nil {
			return err
		}
		_, err := io.WriteString(out, "\n")
		return err
	})
}

// candidate adds what there is of a patch. Names are at most ten characters,
// which small devices show whole; symbols are those most devices know (common
// practice, no source).
func (w *gpxWriter) candidate(c *results.Candidate) {
	id, safe := idOf(c), shortSafety(w.run)
	desc := sentences(numbers(c), "Access: "+accessWords(c), c.Why, safe)
	if hasWay(c) {
		p := w.point(c.Walk.EntryLon, c.Walk.EntryLat)
		p.Name, p.Cmt, p.Desc, p.Sym, p.Type = id+" IN", plain(c.Walk.Note), desc, "Trail Head", "entry"
		w.doc.Points = append(w.doc.Points, p)
		p = w.point(c.Walk.StartLon, c.Walk.StartLat)
		p.Name, p.Cmt, p.Sym, p.Type = id+" START", plain(startWords(c.Walk)), "Car", "start"
		if c.Walk.StartKind == "parking" {
			p.Sym = "Parking Area"
		}
		p.Desc = sentences("Start of the way to patch "+strconv.Itoa(c.Rank), c.Walk.Note, wayCautions(c.Walk), safe)
		w.doc.Points = append(w.doc.Points, p)
	}
	p := w.point(c.Lon, c.Lat)
	p.Name, p.Cmt, p.Desc, p.Sym, p.Type = id, plain(streamName(c)), desc, "Forest", "patch"
	w.doc.Points = append(w.doc.Points, p)
	if line := w.run.Ways[c.Rank]; len(line) > 1 && hasWay(c) {
		r := gpxRoute{Name: id + " WAY", Cmt: plain(c.Walk.Note), Desc: sentences(c.Walk.Note, wayCautions(c.Walk), "Access: "+accessWords(c), safe)}
		for _, q := range line {
			r.Points = append(r.Points, w.point(q[0], q[1]))
		}
		w.doc.Routes = append(w.doc.Routes, r)
	}
	t := gpxTrack{Name: id + " EDGE", Desc: sentences("Outline of patch "+strconv.Itoa(c.Rank), "Access: "+accessWords(c), safe), Type: "outline"}
	for _, poly := range c.Shape {
		for _, ring := range poly {
			if len(ring) == 0 {
				continue
			}
			var s gpxSegment
			for _, q := range ring {
				s.Points = append(s.Points, w.point(q[0], q[1]))
			}
			if !ring.Closed() {
				s.Points = append(s.Points, s.Points[0])
			}
			t.Segments = append(t.Segments, s)
		}
	}
	if len(t.Segments) > 0 {
		w.doc.Tracks = append(w.doc.Tracks, t)
	}
}

func (w *gpxWriter) point(lon, lat float64) gpxPoint {
	p := gpxPoint{Lat: degreesOf(lat, 90), Lon: degreesOf(lon, 179.999999)}
	b := &w.box
	b.MinLat, b.MaxLat = min(b.MinLat, p.Lat), max(b.MaxLat, p.Lat)
	b.MinLon, b.MaxLon = min(b.MinLon, p.Lon), max(b.MaxLon, p.Lon)
	return p
}

// idOf is what a patch is called on a device.
func idOf(c *results.Candidate) string { return fmt.Sprintf("RW%02d", c.Rank) }
