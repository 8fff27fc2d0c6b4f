package field

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strings"
	"time"
)

type gpxFile struct {
	XMLName  xml.Name      `xml:"http://www.topografix.com/GPX/1/1 gpx"`
	Version  string        `xml:"version,attr"`
	Creator  string        `xml:"creator,attr"`
	Desc     string        `xml:"metadata>desc"`
	Waypoint []gpxWaypoint `xml:"wpt"`
}

// gpxWaypoint has its elements in the order the GPX 1.1 schema demands.
type gpxWaypoint struct {
	Lat  string `xml:"lat,attr"`
	Lon  string `xml:"lon,attr"`
	Time string `xml:"time"`
	Name string `xml:"name"`
	Desc string `xml:"desc"`
	Src  string `xml:"src,omitempty"`
}

// writeGPX writes one waypoint for each stop and observer, its rows as a note.
// The time is noon by the sun at the place, so that it is the same day when read.
// Run ids have no place in a note and are left out, as are flags.
func writeGPX(w io.Writer, records []Record) error {
	g := gpxFile{Version: "1.1", Creator: "Rillwood", Desc: SafetyLine}
	at := map[string]int{}
	last := map[string]Record{}
	for _, r := range records {
		key := digest(r.Day(), r.Stop, r.Observer, number(r.Lon), number(r.Lat), number(r.AccuracyM), fmt.Sprint(r.Candidate))
		if k, known := at[key]; known {
			g.Waypoint[k].Desc += "; " + rowText(r, last[key])
			last[key] = r
			continue
		}
		at[key], last[key] = len(g.Waypoint), r
		noon := r.Date.Add(12*time.Hour - time.Duration(math.Round(r.Lon*240))*time.Second)
		g.Waypoint = append(g.Waypoint, gpxWaypoint{
			Lat: number(r.Lat), Lon: number(r.Lon), Time: noon.Format(time.RFC3339), Name: r.Stop, Desc: rowText(r, Record{}), Src: r.Observer,
		})
	}
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
}

// rowText is a record as a row of a note; what holds for the stop stands in
// the first row, where before is the zero Record.
func rowText(r, before Record) string {
	host := r.Host
	if host == "" {
		host = NoHost
	}
	part := []string{host}
	if r.Condition != "" {
		part = append(part, r.Condition)
	}
	if host != NoHost {
		part = append(part, fmt.Sprintf("%d/%d", r.Inspected, r.Found))
	}
	if r.Confirmed != "" {
		part = append(part, r.Confirmed)
	}
	if r.Minutes > 0 {
		part = append(part, number(r.Minutes)+"min")
	}
	if before.Date.IsZero() {
		if r.Candidate > 0 {
			part = append(part, fmt.Sprintf("#%d", r.Candidate))
		}
		if r.AccuracyM > 0 {
			part = append(part, "±"+number(r.AccuracyM)+"m")
		}
	}
	if note := strings.ReplaceAll(strings.ReplaceAll(r.Note, ";", ","), " -- ", " - "); note != "" {
		part = append(part, "--", note)
	}
	return strings.Join(part, " ")
}
