package field

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// maxDepth is how deep elements of a GPX file may lie in each other. GPX
// itself needs seven; the rest is for extensions.
const maxDepth = 40

// gpxTexts are the elements of a waypoint that are read, in the order of
// the table's columns (GPX 1.1, wptType).
var gpxTexts = []string{"name", "desc", "cmt", "src", "time"}

// readGPX reads the waypoints of a GPX 1.1 file (1.0 has the same ones).
// Tracks and routes are passed over. Entities beyond those of XML itself are
// an error, so that a small file cannot unfold into a large one.
func readGPX(file string, data []byte) (*table, error) {
	g := gpxReader{t: &table{file: file, unit: "waypoint", placed: true, names: gpxTexts}}
	d := xml.NewDecoder(bytes.NewReader(data))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err == nil {
			err = g.take(token)
		}
		if err != nil {
			line, _ := d.InputPos()
			return nil, fmt.Errorf("%q line %d: not a readable GPX file: %s", file, line, clipped(strings.TrimPrefix(err.Error(), "XML syntax error ")))
		}
	}
	if !g.rooted {
		return nil, fmt.Errorf("%q: not a GPX file: no gpx element in it", file)
	}
	if g.passed > 0 {
		g.t.notes = append(g.t.notes, fmt.Sprintf("%q: %d tracks and routes were passed over; only waypoints are read", file, g.passed))
	}
	return g.t, nil
}

type gpxReader struct {
	t      *table
	path   []string
	rooted bool
	passed int
	row    *tableRow
	column int // of the text that is open, or −1
	text   strings.Builder
}

func (g *gpxReader) take(token xml.Token) error {
	switch e := token.(type) {
	case xml.StartElement:
		return g.start(e)
	case xml.CharData:
		if g.row != nil && g.column >= 0 && g.text.Len() < 100*maxText {
			g.text.Write(e)
		}
	case xml.EndElement:
		if g.row != nil && len(g.path) == 3 && g.column >= 0 {
			g.row.values[g.column] = g.text.String()
			g.column = -1
		}
		if g.row != nil && len(g.path) == 2 {
			g.t.rows = append(g.t.rows, *g.row)
			g.row = nil
		}
		g.path = g.path[:len(g.path)-1]
	}
	return nil
}

func (g *gpxReader) start(e xml.StartElement) error {
	name := e.Name.Local
	g.path = append(g.path, name)
	switch depth := len(g.path); {
	case depth > maxDepth:
		return fmt.Errorf("elements lie more than %d deep", maxDepth)
	case depth == 1 && (name != "gpx" || g.rooted):
		return fmt.Errorf("its outermost element is %q, want gpx", clipped(name))
	case depth == 1:
		g.rooted = true
		return checkVersion(e)
	case depth == 2 && (name == "trk" || name == "rte"):
		g.passed++
	case depth == 2 && name == "wpt":
		if len(g.t.rows) == maxRows {
			return fmt.Errorf("more than %d waypoints", maxRows)
		}
		g.row, g.column = &tableRow{at: len(g.t.rows) + 1, values: make([]string, len(gpxTexts))}, -1
		g.row.point = orb.Point{coordinate(e, "lon"), coordinate(e, "lat")}
	case depth == 3 && g.row != nil:
		for i, n := range gpxTexts {
			if n == name {
				g.column = i
				g.text.Reset()
			}
		}
	}
	return nil
}

func checkVersion(e xml.StartElement) error {
	for _, a := range e.Attr {
		if a.Name.Local == "version" && a.Value != "1.1" && a.Value != "1.0" {
			return fmt.Errorf("its version is %q, read are 1.1 and 1.0", clipped(a.Value))
		}
	}
	return nil
}

// coordinate is an attribute as degrees, NaN where it is missing or no number.
func coordinate(e xml.StartElement, name string) float64 {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			if v, err := strconv.ParseFloat(strings.TrimSpace(a.Value), 64); err == nil {
				return v
			}
		}
	}
	return math.NaN()
}
