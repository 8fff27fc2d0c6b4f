package pack

import (
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"time"

	"rillwood/habitat/trip"
	"rillwood/vector"
)

// WriteTrip writes a day's plan as GPX 1.1: start and stops as waypoints and as
// a route, the ways walked as one track with a segment for each leg. Planned
// times stand in the texts; GPX has them only for what was walked.
func WriteTrip(path string, p *trip.Plan) error {
	w := &gpxWriter{box: gpxBounds{90, 180, -90, -180}}
	title := plain("Trip " + p.Date + " " + p.Name)
	w.doc = gpx{Version: "1.1", Creator: "Rillwood", Metadata: gpxMetadata{Name: title, Desc: plain(tripSafety(p)), Keywords: plain("trip, run " + p.Run)}}
	clock := func(t time.Time) string { return t.Format("15:04") }
	start := w.point(p.Start.Lon, p.Start.Lat)
	start.Name, start.Sym, start.Type = "START", "Parking Area", "start"
	start.Cmt = plain(p.Start.Name)
	start.Desc = sentences(fmt.Sprintf("Leave %s, back %s, at the latest %s (%s)", clock(p.Leave), clock(p.Back), clock(p.BackBy), p.Zone), p.Caution)
	w.doc.Points = append(w.doc.Points, start)
	route := gpxRoute{Name: title, Cmt: plain(p.Zone), Desc: plain(p.Caution), Points: []gpxPoint{start}}
	track := gpxTrack{Name: title + " WAY", Desc: plain("Drawn from maps alone: " + p.Caution), Type: "walking"}
	leg := func(l *trip.Leg) {
		if l == nil || len(l.Line) < 2 {
			return
		}
		var s gpxSegment
		for _, q := range l.Line {
			s.Points = append(s.Points, w.point(q[0], q[1]))
		}
		track.Segments = append(track.Segments, s)
	}
	for i := range p.Stops {
		s := &p.Stops[i]
		leg(&s.Way)
		q := w.point(s.Lon, s.Lat)
		q.Name, q.Sym, q.Type = fmt.Sprintf("%d RW%02d%s", i+1, s.Rank, s.Part), "Forest", "stop"
		q.Cmt = plain(fmt.Sprintf("%s to %s, %d trees%s", clock(s.Arrive), clock(s.Depart), s.Trees, moveOn(s)))
		q.Desc = sentences("Look for "+strings.Join(s.Hosts, ", "), "Access: "+s.Access+". "+s.Note, p.Caution)
		w.doc.Points = append(w.doc.Points, q)
		route.Points = append(route.Points, q)
	}
	leg(p.Home)
	end := start
	end.Name = "BACK " + clock(p.Back)
	route.Points = append(route.Points, end)
	w.doc.Routes = append(w.doc.Routes, route)
	if len(track.Segments) > 0 {
		w.doc.Tracks = append(w.doc.Tracks, track)
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

func moveOn(s *trip.Stop) string {
	if s.MoveOn == nil {
		return ""
	}
	return fmt.Sprintf(", move on after %d empty", *s.MoveOn)
}

// tripSafety is every warning in one text, after those of the day.
func tripSafety(p *trip.Plan) string {
	parts := append([]string{p.Caution}, p.Cautions...)
	for _, w := range p.Warnings {
		parts = append(parts, strings.ToUpper(w.Title)+": "+w.Text)
	}
	return strings.Join(parts, " ")
}
