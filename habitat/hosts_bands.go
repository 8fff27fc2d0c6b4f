package habitat

import "math"

// HostTables answers like a HostTable at any height above the sea: one table
// for all when no host has an elevation response, else one for each band of
// elevation, worked out for its middle.
type HostTables struct {
	bands     []*HostTable
	low, step float64 // m: bottom of the first band, height of a band
}

const (
	bandM    = 25 // metres a band is high, where that makes no more than maxBands
	maxBands = 64
)

// NewHostTables makes the tables for ground between low and high metres above
// the sea.
func NewHostTables(p *Profile, legend *Legend, low, high float64) (*HostTables, error) {
	if !p.HasElevation() {
		t, err := NewHostTable(p, legend)
		return &HostTables{bands: []*HostTable{t}}, err
	}
	n := int(math.Ceil((high - low) / bandM))
	ts := &HostTables{low: low, step: bandM}
	if n > maxBands {
		n, ts.step = maxBands, (high-low)/maxBands
	}
	for b := range max(n, 1) {
		t, err := newHostTable(p, legend, low+(float64(b)+0.5)*ts.step)
		if err != nil {
			return nil, err
		}
		ts.bands = append(ts.bands, t)
	}
	return ts, nil
}

// HasElevation tells whether some host has an elevation response.
func (p *Profile) HasElevation() bool {
	for _, h := range p.Hosts {
		if len(h.Elevation) > 0 {
			return true
		}
	}
	return false
}

// one tells that a single table serves all heights.
func (ts *HostTables) one() bool { return len(ts.bands) == 1 }

// any is a table for what does not hang on height: hosts, cover factors.
func (ts *HostTables) any() *HostTable { return ts.bands[0] }

// band is the place of the table for a height.
func (ts *HostTables) band(z float32) int {
	if len(ts.bands) == 1 {
		return 0
	}
	return min(max(int((float64(z)-ts.low)/ts.step), 0), len(ts.bands)-1)
}

// at is the table for a height.
func (ts *HostTables) at(z float32) *HostTable { return ts.bands[ts.band(z)] }
