package results

import "github.com/paulmach/orb"

// Candidate is one patch of the shortlist as shortlist.geojson tells it.
// Figures that the file does not tell are NaN, texts "".
type Candidate struct {
	Rank                int
	Score               float64
	AreaHa              float64
	SMean, SMax         float64 // suitability
	BMean               float64 // bottomland
	Finds, FindsSD      float64 // expected finds in season
	FindsLow, FindsHigh float64 // nine of ten draws lie between
	RankConfidence      float64 // share of draws in which it is among the best ten
	Learning            bool    // kept for what a visit would teach
	FirstHost           string
	Check95             int // dead or dying trees to check for a 95 % chance of one find, 0 = no number is enough
	HoldsCheck          bool
	DeadTrees           float64
	Trees               []TreeCount // the likeliest first, as written
	HeightM, SlopePct   float64
	Stream              string
	StreamOrder         int // 0 = not known
	StreamM             float64
	Cover               string
	CoverShare          float64
	Limiting            string
	OutsideShare        float64
	Evidence            []string
	EvidenceShift       float64
	MeasuredShare       float64
	Access, AccessNote  string // Access: open, permit, private, closed or unknown
	Land                []string
	Lon, Lat            float64 // a cell of the patch near its middle
	Why                 string
	Walk                *Walk // nil = no paths or roads were given
	Shape               orb.MultiPolygon
	East, North         float64 // Lon, Lat in the frame's grid, metres
}

// TreeCount is how many trees of a host a patch is expected to hold.
type TreeCount struct {
	Host                string // id
	Expected, Low, High float64
}

// Walk is the way to a patch on foot. Where OK is false only Note is told.
type Walk struct {
	OK                         bool
	Note                       string
	DistanceM, PathM, OffPathM float64
	ClimbM, DescentM           float64
	Crossings                  int
	StartKind, Start           string
	StartLon, StartLat         float64
	EntryLon, EntryLat         float64
	EntryEast, EntryNorth      float64  // in the frame's grid, metres
	Cautions                   []string // as ways.geojson tells them
}
