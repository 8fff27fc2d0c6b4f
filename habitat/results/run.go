package results

import (
	"github.com/paulmach/orb"

	"rillwood/raster"
)

// Run is a finished run. All coordinates are WGS 84, longitude first, unless
// a field says otherwise.
type Run struct {
	Folder     string
	ID         string       // of run.json
	Name       string       // of the survey, "" = not named
	Software   string       // name and version of the program that made it
	Frame      raster.Frame // grid of suitability.tif, in metres
	Threshold  float64      // suitability from which ground was taken into patches
	Found      int          // patches found; Candidates are the best of them
	Target     Target
	Hosts      []Host                 // in the order of the profile
	Cautions   []Caution              // the gravest first
	Help       Help                   // whom to call
	Candidates []Candidate            // by rank
	Ways       map[int]orb.LineString // way in by rank, from where a car may stand to the patch
	Streams    []Stream
	Area       orb.MultiPolygon // what was mapped
	Warnings   []string
	Layers     []string // names of the rasters that are there, "suitability" and "relief" among them, sorted
	Notes      []string // what is missing from the folder, one line each
	Inputs     []Input
	Profile    string // name of the profile

	frame   recordFrame
	outputs []string        // what the run wrote, slashed names
	wrote   map[string]bool // the same
}

// Input is one file the run read.
type Input struct {
	Role   string `json:"role"`
	Path   string `json:"path"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// Target is what is looked for.
type Target struct {
	Common, Scientific string
	Months             []int // of the season, 1–12, in order
}

// Caution is one warning, in plain words.
type Caution struct {
	Key, Title, Text string
	Short            bool // belongs to the short list
}

// Help is whom to call when someone ate the wrong mushroom.
type Help struct{ PoisonLine, Emergency, Where string }

// Host is a tree that may carry the target.
type Host struct {
	ID, Common, Scientific string
	Winter                 string  // what to know it by without leaves, "" = not told
	Hits, Of, Weight       float64 // prior or learned chance that one dead or dying tree carries the target: Hits/Of, believed as Weight trees
}

// Stream is a piece of a stream the run used.
type Stream struct {
	Name  string // "" = no name
	Order int    // Strahler, 0 = not known
	Line  orb.MultiLineString
}
