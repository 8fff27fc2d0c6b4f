package trip

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"time"

	"rillwood/habitat/results"
	"rillwood/vector"
)

// Format is the form of trip.json.
const Format = "rillwood-trip-1"

// Plan is one day as it is written to trip.json. Times are RFC 3339 with the
// offset of the day; lengths are metres, durations minutes. Places are WGS 84,
// longitude first in lines.
type Plan struct {
	Format   string    `json:"format"`
	Caution  string    `json:"caution"`
	Run      string    `json:"run"`
	Name     string    `json:"name"`
	Date     string    `json:"date"`
	Zone     string    `json:"zone"`
	Start    Spot      `json:"start"`
	Daylight Daylight  `json:"daylight"`
	Settings Settings  `json:"settings"`
	Leave    time.Time `json:"leave"`
	BackBy   time.Time `json:"back_by"`
	Back     time.Time `json:"back"`
	Stops    []Stop    `json:"stops"`
	Home     *Leg      `json:"home"` // way back from the last stop; null when there is no stop
	Reserve  []Reserve `json:"reserve"`
	Totals   Totals    `json:"totals"`
	Search   Search    `json:"search"`
	LeftOut  []LeftOut `json:"left_out"`
	Known    []string  `json:"known"`     // what the plan was made from
	NotKnown []string  `json:"not_known"` // what it could not know
	Cautions []string  `json:"cautions"`  // of this day, the gravest first
	Warnings []Warning `json:"warnings"`  // that go with every map
}

// Warning is one caution of the run, as it stands there.
type Warning struct {
	Title string `json:"title"`
	Text  string `json:"text"`
}

// Spot is a place with a name.
type Spot struct {
	Lon  float64 `json:"lon"`
	Lat  float64 `json:"lat"`
	Name string  `json:"name,omitempty"`
}

// Daylight of the day at the start; what does not happen is null.
type Daylight struct {
	Dawn    *time.Time `json:"civil_dawn"`
	Sunrise *time.Time `json:"sunrise"`
	Sunset  *time.Time `json:"sunset"`
	Dusk    *time.Time `json:"civil_dusk"`
}

// Settings are what was asked for.
type Settings struct {
	PathKmh     float64 `json:"speed_on_path_kmh"`
	OffKmh      float64 `json:"speed_off_path_kmh"`
	TreeMinutes float64 `json:"minutes_per_tree"`
	SpareMin    float64 `json:"minutes_before_sunset"`
	Wade        bool    `json:"water_crossings_allowed"`
	Private     bool    `json:"private_ground_allowed"`
}

// Leg is a walk.
type Leg struct {
	Minutes   float64      `json:"minutes"`
	Metres    float64      `json:"metres"`
	PathM     float64      `json:"path_m"`
	OffM      float64      `json:"off_path_m"`
	UpM       float64      `json:"climb_m"`
	DownM     float64      `json:"descent_m"`
	Crossings int          `json:"water_crossings"`
	UnknownM  float64      `json:"ground_of_unknown_access_m"`
	PrivateM  float64      `json:"private_ground_m"`
	Line      [][2]float64 `json:"line"`
}

// Stop is a stay at a patch.
type Stop struct {
	Rank    int       `json:"rank"`
	Part    string    `json:"part,omitempty"` // which side of the water, where a patch is divided
	Way     Leg       `json:"way"`
	Arrive  time.Time `json:"arrive"`
	Depart  time.Time `json:"depart"`
	Minutes float64   `json:"minutes"`
	Trees   int       `json:"trees"`
	Finds   float64   `json:"expected_finds"`
	Chance  float64   `json:"chance_of_a_find"`
	// MoveOn is after how many empty trees, with no find before, to move on;
	// null = not before the last.
	MoveOn *int     `json:"move_on_after"`
	Hosts  []string `json:"look_for"` // common names, the likeliest first
	Winter []string `json:"known_by"` // how to know them, in the same order; "" = not told
	Access string   `json:"access"`
	Note   string   `json:"access_note,omitempty"`
	Stream string   `json:"stream,omitempty"`
	Share  float64  `json:"share_of_patch"` // on this side of the water
	Lon    float64  `json:"lon"`            // where one comes in
	Lat    float64  `json:"lat"`
}

// Label is what a stop is called: "7", or "7 b" for its second part.
func (s Stop) Label() string {
	if s.Part == "" {
		return fmt.Sprint(s.Rank)
	}
	return fmt.Sprintf("%d %s", s.Rank, s.Part)
}

// Reserve is a stop that a longer day would take in: for when the others are
// given up early.
type Reserve struct {
	Label  string  `json:"label"`
	Trees  int     `json:"trees"`
	Finds  float64 `json:"expected_finds"`
	Access string  `json:"access"`
}

// Totals of the day.
type Totals struct {
	Finds      float64 `json:"expected_finds"`
	Trees      int     `json:"trees"`
	Metres     float64 `json:"metres"`
	ClimbM     float64 `json:"climb_m"`
	WalkingMin float64 `json:"walking_minutes"`
	StayingMin float64 `json:"staying_minutes"`
	SpareMin   float64 `json:"minutes_left_before_back_by"`
	Crossings  int     `json:"water_crossings"`
}

// Search says how good the plan is known to be.
type Search struct {
	Considered int     `json:"stops_considered"`
	Proven     bool    `json:"proven_best"` // of those considered
	Bound      float64 `json:"no_plan_finds_more_than"`
	Gap        float64 `json:"gap"`
	HourGives  float64 `json:"finds_an_hour_more_would_give"`
}

// LeftOut counts candidates that were not considered, by reason.
type LeftOut struct {
	Why   string `json:"why"`
	Ranks []int  `json:"ranks"`
}

// Write writes the plan to a file, beside it first.
func (p *Plan) Write(path string) error {
	return vector.WriteBeside(path, func(w io.Writer) error {
		e := json.NewEncoder(w)
		e.SetIndent("", " ")
		return e.Encode(p)
	})
}

// mostStops is the most stops of a day and mostPoints of one leg that are read.
const (
	mostStops  = 1000
	mostPoints = 200_000
)

// Read reads a trip.json. What is damaged is an error of one line.
func Read(path string) (*Plan, error) {
	data, err := results.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("trip: %w", err)
	}
	p, err := Parse(data)
	if err != nil {
		return nil, fmt.Errorf("trip %q: %w", path, err)
	}
	return p, nil
}

// Parse reads a plan from memory.
func Parse(data []byte) (*Plan, error) {
	var head struct {
		Format string `json:"format"`
	}
	if err := json.Unmarshal(data, &head); err != nil || head.Format != Format {
		return nil, fmt.Errorf("format is %q, want %q: it is no plan of a trip; name the trip.json that rillwood trip wrote", results.Clip(head.Format, 40), Format)
	}
	var p Plan
	if err := json.Unmarshal(data, &p); err != nil {
		return nil, fmt.Errorf("damaged (%v); plan the trip again", err)
	}
	if len(p.Stops) > mostStops || len(p.Stops) > 0 && p.Home == nil {
		return nil, fmt.Errorf("it has %d stops and no way home, or too many; plan the trip again", len(p.Stops))
	}
	if !onEarth(p.Start.Lon, p.Start.Lat) {
		return nil, fmt.Errorf("start is no longitude and latitude; plan the trip again")
	}
	legs := []*Leg{p.Home}
	for i := range p.Stops {
		if s := &p.Stops[i]; !onEarth(s.Lon, s.Lat) || s.Trees < 0 || s.MoveOn != nil && *s.MoveOn < 0 {
			return nil, fmt.Errorf("stop %d lies nowhere or has fewer than no trees; plan the trip again", i+1)
		}
		legs = append(legs, &p.Stops[i].Way)
	}
	for _, l := range legs {
		if l == nil {
			continue
		}
		if len(l.Line) > mostPoints {
			return nil, fmt.Errorf("a way has %d points, more than a day's walk; plan the trip again", len(l.Line))
		}
		for _, q := range l.Line {
			if !onEarth(q[0], q[1]) {
				return nil, fmt.Errorf("a way leads to %g, %g, which is no longitude and latitude; plan the trip again", q[0], q[1])
			}
		}
	}
	return &p, nil
}

func onEarth(lon, lat float64) bool { return math.Abs(lon) <= 180 && math.Abs(lat) <= 90 }
