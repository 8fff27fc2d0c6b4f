package inventory

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"rillwood/raster"
	"rillwood/vector"
)

// MaxRecords is the most tree records that are taken from one source.
const MaxRecords = 5_000_000

// TreeSource says where records of single trees are and how to read them.
// Either Points or CSV is named. The zero value of each option is its default.
//
// Records are a census of the surveyed ground: where no tree is recorded, none
// stands. Plot samples (with a column TPA_UNADJ, trees per acre) are not, and
// are refused.
type TreeSource struct {
	Points vector.Query // a layer of points; Fields and Bounds are chosen here
	CSV    string       // a file of comma-separated values (RFC 4180) with a line of column names
	CRS    string       // "EPSG:n" or WKT of the CSV's x and y; may be left out when the columns are called lon and lat, which are then EPSG:4326
	Extent vector.Query // polygons of the surveyed ground; without a Path the convex hull of all records, grown by half a bandwidth

	Columns      Columns
	DiameterUnit string   // "cm" or "in"; may be left out when the column's name ends in _cm or _in
	MinCm        float64  // thinner trees are left out; 0 means 10, negative keeps all
	BandwidthM   float64  // standard deviation of the kernel, metres; 0 means 100
	BlendM       float64  // over how many metres inside the border the weight falls to 0; 0 means half a bandwidth, negative none
	DeadPrior    float64  // the profile's dead share counts as this many trees on the spot; 0 means 5
	Covers       []string // ids of the hosts that were looked for, or "all"; nil: those that records name. A host looked for and not found has density 0
}

// Columns name columns of the records; an empty one is looked for under its
// usual names. Case does not matter.
type Columns struct{ X, Y, Species, Diameter, Status, Expansion string }

// Usual column names, in order of preference: those of the US forest inventory
// database first (spcd, dia in inches, statuscd; from memory), then everyday
// ones (common practice, no source).
var usual = struct{ lon, lat, x, y, species, diameter, status, expansion []string }{
	lon:       []string{"lon", "longitude", "lng", "long", "dec_lon"},
	lat:       []string{"lat", "latitude", "dec_lat"},
	x:         []string{"x", "easting", "east", "x_coord", "utm_x", "point_x"},
	y:         []string{"y", "northing", "north", "y_coord", "utm_y", "point_y"},
	species:   []string{"spcd", "species_code", "species", "scientific_name", "scientific", "botanical_name", "botanical", "latin_name", "common_name", "common", "tree_species"},
	diameter:  []string{"dbh_cm", "diameter_cm", "dbh_in", "diameter_in", "dia_cm", "dia_in", "dia", "dbh", "diameter", "diam"},
	status:    []string{"statuscd", "status", "tree_status"},
	expansion: []string{"expansion", "expansion_factor", "trees", "tree_count"},
}

// plotColumn marks plot samples: trees per acre that one tallied tree stands for.
const plotColumn = "tpa_unadj"

const maxRadius = 4096 // cells; a wider kernel would take hours

const (
	defaultMinCm      = 10  // common practice, no source
	defaultBandwidthM = 100 // common practice, no source
	defaultDeadPrior  = 5   // common practice, no source
)

// settings are a TreeSource's options with defaults put in.
type settings struct {
	minCm, sigmaM, blendM, prior float64
	kernel                       []float64
	path, name                   string
}

func (s TreeSource) settings(f raster.Frame) (settings, error) {
	o := settings{minCm: s.MinCm, sigmaM: s.BandwidthM, blendM: s.BlendM, prior: s.DeadPrior, path: s.CSV}
	if (s.CSV == "") == (s.Points.Path == "") {
		return o, fmt.Errorf("tree records: name either a layer of points or a CSV file, one of the two")
	}
	if s.CSV == "" {
		o.path = s.Points.Path
	}
	o.name = filepath.Base(o.path)
	setDefault(&o.minCm, defaultMinCm)
	setDefault(&o.sigmaM, defaultBandwidthM)
	setDefault(&o.blendM, o.sigmaM/2)
	setDefault(&o.prior, defaultDeadPrior)
	o.minCm, o.blendM = max(o.minCm, 0), max(o.blendM, 0)
	for _, v := range []struct {
		field    string
		v, least float64
		most     float64
		unit     string
	}{
		{"minimum diameter", o.minCm, 0, 500, "cm"},
		{"bandwidth", o.sigmaM, f.Cell / 100, maxRadius * f.Cell / 4, "m"},
		{"blend", o.blendM, 0, maxRadius * f.Cell, "m"},
		{"dead prior", o.prior, 1e-6, 1e6, "trees"},
	} {
		if !(v.v >= v.least && v.v <= v.most) {
			return o, fmt.Errorf("%q: %s: found %g; give %g to %g %s", o.path, v.field, v.v, v.least, v.most, v.unit)
		}
	}
	switch s.DiameterUnit {
	case "", "cm", "in":
	default:
		return o, fmt.Errorf("%q: diameter unit: found %q; give cm or in", o.path, s.DiameterUnit)
	}
	o.kernel = gaussian(o.sigmaM / f.Cell)
	return o, nil
}

func setDefault(v *float64, d float64) {
	if *v == 0 {
		*v = d
	}
}

// diameterFactor turns the column's numbers into centimetres.
func (s TreeSource) diameterFactor(column string) (float64, error) {
	unit := ""
	lower := strings.ToLower(column)
	switch {
	case strings.HasSuffix(lower, "_cm"):
		unit = "cm"
	case strings.HasSuffix(lower, "_in"):
		unit = "in"
	}
	switch {
	case unit == "" && s.DiameterUnit == "":
		return 0, fmt.Errorf("diameter column %q: its unit is not known; give cm or in", column)
	case unit != "" && s.DiameterUnit != "" && unit != s.DiameterUnit:
		return 0, fmt.Errorf("diameter column %q is in %s by its name, the unit given is %s; give the right one, or another column", column, unit, s.DiameterUnit)
	case unit == "":
		unit = s.DiameterUnit
	}
	if unit == "in" {
		return 2.54, nil // international inch, exact
	}
	return 1, nil
}

// covered tells for each host whether the source speaks of it; nil means those
// its records name.
func (s TreeSource) covered(hosts []Host) ([]bool, error) {
	if s.Covers == nil {
		return nil, nil
	}
	out := make([]bool, len(hosts))
next:
	for _, id := range s.Covers {
		for i, h := range hosts {
			if id == "all" {
				out[i] = true
			} else if h.ID == id {
				out[i] = true
				continue next
			}
		}
		if id != "all" {
			return nil, fmt.Errorf("hosts looked for: %q is no host of the profile; it has %s", id, hostIDs(hosts))
		}
	}
	return out, nil
}

func hostIDs(hosts []Host) string {
	var ids []string
	for _, h := range hosts {
		ids = append(ids, h.ID)
	}
	return strings.Join(ids, ", ")
}

func checkHosts(hosts []Host) error {
	for _, h := range hosts {
		if !(h.DensityHa >= 0) || math.IsInf(h.DensityHa, 0) || !(h.DeadShare >= 0 && h.DeadShare <= 1) {
			return fmt.Errorf("host %q: density %g and dead share %g; give a density of 0 or more and a share from 0 to 1", h.ID, h.DensityHa, h.DeadShare)
		}
	}
	return nil
}
