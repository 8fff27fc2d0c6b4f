package report

import (
	"time"

	"github.com/paulmach/orb"

	"rillwood/habitat/trip"
)

// day is a planned day as the map draws it.
type day struct {
	Start place     `json:"start"`
	Name  string    `json:"name"`
	Leave string    `json:"leave"`
	Back  string    `json:"back"`
	Legs  [][]place `json:"legs"`
	Stops []dayStop `json:"stops"`
}

type dayStop struct {
	Rank   int    `json:"rank"`
	Label  string `json:"label"`
	At     place  `json:"at"`
	Arrive string `json:"arrive"`
	Depart string `json:"depart"`
	Trees  int    `json:"trees"`
}

func clock(t time.Time) string { return t.Format("15:04") }

// takeTrip puts the day's name on the page.
func (p *page) takeTrip(t *trip.Plan) {
	if p.Trip = t; t == nil {
		return
	}
	p.TripDay = t.Date
	if at, err := time.Parse(time.DateOnly, t.Date); err == nil {
		p.TripDay = at.Format("Monday 2 January 2006")
	}
}

// dayOf is what the map draws of a plan, nil of none.
func dayOf(t *trip.Plan) *day {
	if t == nil {
		return nil
	}
	d := &day{Start: placeOf(orb.Point{t.Start.Lon, t.Start.Lat}), Name: t.Start.Name, Leave: clock(t.Leave), Back: clock(t.Back), Legs: [][]place{}, Stops: []dayStop{}}
	leg := func(l *trip.Leg) {
		var line []place
		for _, q := range l.Line {
			line = append(line, placeOf(orb.Point(q)))
		}
		if len(line) > 1 {
			d.Legs = append(d.Legs, line)
		}
	}
	for i := range t.Stops {
		s := &t.Stops[i]
		leg(&s.Way)
		d.Stops = append(d.Stops, dayStop{s.Rank, s.Label(), placeOf(orb.Point{s.Lon, s.Lat}), clock(s.Arrive), clock(s.Depart), s.Trees})
	}
	if t.Home != nil {
		leg(t.Home)
	}
	return d
}
