// Package compare says what changed between two runs of a map: the inputs,
// settings and weights, the suitability cell by cell, and the candidates, each
// with the figure that moved it most and the change that stands behind it.
//
// It reads the folders that runs leave (run.json, shortlist.geojson,
// suitability.tif, layers) and nothing else. Run A is the one before, run B
// the one after.
package compare

import (
	"context"
	"math"
)

// Format names the form of the comparison as JSON.
const Format = "rillwood-compare-1"

// Caution goes with everything that leaves.
const Caution = "A map says where to look, never what is safe to eat."

// Result is all that a comparison finds.
type Result struct {
	Format     string      `json:"format"`
	Caution    string      `json:"caution"`
	A          Side        `json:"a"`
	B          Side        `json:"b"`
	Same       bool        `json:"same"` // inputs, settings, profile, frame, suitability and candidates are alike
	Changes    []Change    `json:"changes"`
	Raster     *Difference `json:"suitability"` // nil where the frames cannot be laid on each other
	Counts     Counts      `json:"counts"`
	Overlap    []Overlap   `json:"overlap"`
	Candidates []Pair      `json:"candidates"` // by rank after; those that left stand where they were
	Notes      []string    `json:"notes"`
}

// Side is one of the two runs.
type Side struct {
	Run       string  `json:"run"`
	Name      string  `json:"name"`
	Threshold float64 `json:"threshold"` // suitability a patch needs
	Found     int     `json:"patches_found"`
	Listed    int     `json:"listed"`
}

// Counts is how many candidates have each status.
type Counts struct {
	Entered int `json:"entered"`
	Left    int `json:"left"`
	Rose    int `json:"rose"`
	Fell    int `json:"fell"`
	Stayed  int `json:"stayed"`
}

// Overlap is how many of the first candidates the two lists share: Shared
// pairs have both ranks within Top, of Of there could be.
type Overlap struct {
	Top    int      `json:"top"`
	Shared int      `json:"shared"`
	Of     int      `json:"of"`
	Share  *float64 `json:"share"` // nil where a list is empty
}

// Runs compares two runs. top is the length of the short overlap, beside which
// that of the whole lists is given. Results do not depend on workers.
func Runs(ctx context.Context, a, b *Run, top, workers int) (*Result, error) {
	r := &Result{Format: Format, Caution: Caution, A: a.side(), B: b.side(), Changes: changesBetween(a, b), Notes: []string{}}
	r.Notes = append(append(r.Notes, a.Notes...), b.Notes...)
	d, why, err := differ(ctx, a, b, workers)
	if err != nil {
		return nil, err
	}
	r.Raster = d
	if why != "" {
		r.Notes = append(r.Notes, why)
	}
	m, err := match(a, b)
	if err != nil {
		return nil, err
	}
	g, err := readGrounds(ctx, a, b, m, r.Changes, workers)
	if err != nil {
		return nil, err
	}
	r.Notes = append(r.Notes, g.notes...)
	r.Candidates = m.pairs(a, b, &reasoner{a: a, b: b, m: m, ground: g, changes: r.Changes})
	for _, p := range r.Candidates {
		r.Counts.add(p.Status)
	}
	r.Overlap = []Overlap{overlap(r.Candidates, len(a.Candidates), len(b.Candidates), top)}
	if n := max(len(a.Candidates), len(b.Candidates)); n > top {
		r.Overlap = append(r.Overlap, overlap(r.Candidates, len(a.Candidates), len(b.Candidates), n))
	}
	r.Same = len(r.Changes) == 0 && (d == nil || d.same()) && len(r.Candidates) == r.Counts.Stayed && allAlike(r.Candidates)
	return r, nil
}

func (c *Counts) add(s Status) {
	switch s {
	case Entered:
		c.Entered++
	case Left:
		c.Left++
	case Rose:
		c.Rose++
	case Fell:
		c.Fell++
	case Stayed:
		c.Stayed++
	}
}

func overlap(pairs []Pair, na, nb, top int) Overlap {
	o := Overlap{Top: top, Of: min(top, max(na, nb))}
	for _, p := range pairs {
		if p.Before != nil && p.After != nil && p.Before.Rank <= top && p.After.Rank <= top {
			o.Shared++
		}
	}
	if na > 0 && nb > 0 {
		share := math.Round(1e4*float64(o.Shared)/float64(o.Of)) / 1e4
		o.Share = &share
	}
	return o
}
