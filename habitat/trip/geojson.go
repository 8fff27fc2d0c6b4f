package trip

import (
	"github.com/paulmach/orb"

	"rillwood/vector"
)

// WriteGeoJSON writes start and stops as points and the legs as lines.
func (p *Plan) WriteGeoJSON(path string) error {
	type prop = vector.Property
	c := vector.Collection{Members: []prop{{Key: "caution", Value: p.Caution}, {Key: "run", Value: p.Run}, {Key: "date", Value: p.Date}}}
	add := func(g orb.Geometry, props ...prop) {
		c.Features = append(c.Features, vector.GeoFeature{Geometry: g, Properties: props})
	}
	leg := func(l Leg, to string, order int) {
		var line orb.LineString
		for _, q := range l.Line {
			line = append(line, orb.Point(q))
		}
		if len(line) < 2 {
			return
		}
		add(line, prop{Key: "kind", Value: "way"}, prop{Key: "to", Value: to}, prop{Key: "order", Value: order}, prop{Key: "minutes", Value: round(l.Minutes, 1)}, prop{Key: "metres", Value: round(l.Metres, 0)},
			prop{Key: "path_m", Value: round(l.PathM, 0)}, prop{Key: "climb_m", Value: round(l.UpM, 0)}, prop{Key: "water_crossings", Value: l.Crossings})
	}
	add(orb.Point{p.Start.Lon, p.Start.Lat}, prop{Key: "kind", Value: "start"}, prop{Key: "name", Value: p.Start.Name}, prop{Key: "leave", Value: clock(p.Leave)}, prop{Key: "back", Value: clock(p.Back)})
	for i, s := range p.Stops {
		leg(s.Way, s.Label(), i+1)
		add(orb.Point{s.Lon, s.Lat}, prop{Key: "kind", Value: "stop"}, prop{Key: "order", Value: i + 1}, prop{Key: "rank", Value: s.Rank}, prop{Key: "arrive", Value: clock(s.Arrive)}, prop{Key: "depart", Value: clock(s.Depart)},
			prop{Key: "trees", Value: s.Trees}, prop{Key: "expected_finds", Value: round(s.Finds, 2)}, prop{Key: "move_on_after", Value: s.moveOn()}, prop{Key: "access", Value: s.Access})
	}
	if p.Home != nil {
		leg(*p.Home, "start", len(p.Stops)+1)
	}
	return vector.WriteGeoJSON(path, c)
}

func (s Stop) moveOn() any {
	if s.MoveOn == nil {
		return nil
	}
	return *s.MoveOn
}
