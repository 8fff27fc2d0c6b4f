package habitat

import "path/filepath"

// LayerSpec names a vector layer.
type LayerSpec struct {
	Path  string `yaml:"path" json:"-"`
	Layer string `yaml:"layer" json:"layer,omitempty"` // empty: the first layer
	Where string `yaml:"where" json:"where,omitempty"` // attribute filter, SQL style; empty: every feature
	CRS   string `yaml:"crs" json:"crs,omitempty"`     // EPSG:n for a layer that names none
	Swap  bool   `yaml:"swap" json:"swap,omitempty"`   // whether its coordinates come with the axes the other way round
}

// EvidenceSpec names the layers that speak for or against bottomland beside
// the terrain.
type EvidenceSpec struct {
	ValleyFlatness bool            `yaml:"valley_flatness" json:"valley_flatness"`
	Soils          EvidenceLayer   `yaml:"soils" json:"soils"`
	FloodZones     EvidenceLayer   `yaml:"flood_zones" json:"flood_zones"`
	Layers         []EvidenceLayer `yaml:"layers" json:"layers"`
}

// EvidenceLayer is polygons or a class raster, and the table that says what
// its values weigh.
type EvidenceLayer struct {
	Name      string `yaml:"name" json:"name,omitempty"`
	LayerSpec `yaml:",inline"`
	Nodata    *int64            `yaml:"nodata,omitempty" json:"nodata,omitempty"`
	Fields    map[string]string `yaml:"fields" json:"fields,omitempty"` // field of the table: column of the layer
	Table     string            `yaml:"table" json:"table,omitempty"`   // built-in table, or path of a CSV
	Unknown   string            `yaml:"unknown" json:"unknown,omitempty"`
}

// InventorySpec names measured host trees.
type InventorySpec struct {
	Rasters []HostRaster `yaml:"rasters" json:"rasters"`
	Trees   TreeLayer    `yaml:"trees" json:"trees"`
	BlendM  float64      `yaml:"blend" json:"blend"` // metres over which measured ground passes into modelled ground
}

// HostRaster is a raster of one host.
type HostRaster struct {
	Host    string   `yaml:"host" json:"host"` // id of the profile
	Path    []string `yaml:"path" json:"-"`
	CRS     string   `yaml:"crs" json:"crs,omitempty"`
	Nodata  *float64 `yaml:"nodata,omitempty" json:"nodata,omitempty"`
	Measure string   `yaml:"measure" json:"measure"` // basal-area, likelihood or trees-ha
	Unit    string   `yaml:"unit" json:"unit,omitempty"`
	StemCm  float64  `yaml:"stem_cm" json:"stem_cm,omitempty"`
}

// TreeLayer is records of single trees: a point layer or a CSV.
type TreeLayer struct {
	LayerSpec    `yaml:",inline"`
	Fields       map[string]string `yaml:"fields" json:"fields,omitempty"` // species, diameter, status, x, y, expansion: column
	DiameterUnit string            `yaml:"diameter_unit" json:"diameter_unit,omitempty"`
	MinCm        float64           `yaml:"min_cm" json:"min_cm,omitempty"`
	BandwidthM   float64           `yaml:"bandwidth" json:"bandwidth,omitempty"`
	Covers       []string          `yaml:"covers" json:"covers,omitempty"` // hosts that were looked for, or all; empty: those found
	Surveyed     LayerSpec         `yaml:"surveyed" json:"surveyed"`
}

// AccessSpec is polygons that say who may enter.
type AccessSpec struct {
	LayerSpec `yaml:",inline"`
	Field     string            `yaml:"field" json:"field,omitempty"`           // empty: the usual names
	Values    map[string]string `yaml:"values" json:"values,omitempty"`         // value: open, permit, private, closed or unknown
	Status    string            `yaml:"status" json:"status,omitempty"`         // of every polygon, where there is no field
	NameField string            `yaml:"name_field" json:"name_field,omitempty"` // empty: the usual names
}

// KeepOutSpec is ground that no patch may take in: a layer, or kinds of land
// cover, with what lies within a distance of it.
type KeepOutSpec struct {
	LayerSpec `yaml:",inline"`
	Preset    string   `yaml:"preset" json:"preset,omitempty"`
	Cover     []string `yaml:"cover" json:"cover,omitempty"`
	DistanceM *float64 `yaml:"distance,omitempty" json:"distance,omitempty"`
	Reason    string   `yaml:"reason" json:"reason,omitempty"`
}

// ApproachSpec names what a visitor walks on, and from where.
type ApproachSpec struct {
	Paths     LayerSpec `yaml:"paths" json:"paths"`
	Roads     LayerSpec `yaml:"roads" json:"roads"`
	Parking   LayerSpec `yaml:"parking" json:"parking"`
	Water     LayerSpec `yaml:"water" json:"water"`
	OffPath   float64   `yaml:"off_path" json:"off_path"`           // effort of a metre off the path, in metres of path
	CrossingM float64   `yaml:"crossing" json:"crossing"`           // what one crossing of a stream is worth, metres of path
	FarthestM float64   `yaml:"off_path_most" json:"off_path_most"` // longest straight leg off the path, metres
}

// given tells whether any layer is named.
func (a ApproachSpec) given() bool { return a.Paths.Path != "" || a.Roads.Path != "" }

// layers lists the vector layers of the evidence, access, keep-out, inventory
// and approach sections with the field each stands in and its role.
func (s *Survey) layers() []namedLayer {
	var out []namedLayer
	add := func(role, field string, l *LayerSpec) {
		if l.Path != "" {
			out = append(out, namedLayer{role, field, l})
		}
	}
	for _, e := range s.evidenceLayers() {
		add("evidence", e.field, &e.spec.LayerSpec)
	}
	add("inventory", "inventory.trees", &s.Inventory.Trees.LayerSpec)
	add("inventory", "inventory.trees.surveyed", &s.Inventory.Trees.Surveyed)
	for i := range s.Access {
		add("access", at("access", i), &s.Access[i].LayerSpec)
	}
	for i := range s.KeepOut {
		add("keep_out", at("keep_out", i), &s.KeepOut[i].LayerSpec)
	}
	a := &s.Approach
	add("approach", "approach.paths", &a.Paths)
	add("approach", "approach.roads", &a.Roads)
	add("approach", "approach.parking", &a.Parking)
	add("approach", "approach.water", &a.Water)
	return out
}

type namedLayer struct {
	role, field string
	spec        *LayerSpec
}

// evidenceLayers lists the layers of evidence that are given, in the order
// they are read.
func (s *Survey) evidenceLayers() []namedEvidence {
	e := &s.Evidence
	var out []namedEvidence
	if e.Soils.Path != "" {
		out = append(out, namedEvidence{"evidence.soils", "soils", &e.Soils})
	}
	if e.FloodZones.Path != "" {
		out = append(out, namedEvidence{"evidence.flood_zones", "flood-zones", &e.FloodZones})
	}
	for i := range e.Layers {
		if e.Layers[i].Path != "" {
			out = append(out, namedEvidence{at("evidence.layers", i), "", &e.Layers[i]})
		}
	}
	return out
}

type namedEvidence struct {
	field, table string // the table when none is named
	spec         *EvidenceLayer
}

// name is what the layer is called in words.
func (e namedEvidence) name() string {
	switch {
	case e.spec.Name != "":
		return e.spec.Name
	case e.table == "soils":
		return "soil survey"
	case e.table == "flood-zones":
		return "flood zones"
	}
	return "evidence"
}

// tableName is the table that weighs the layer's values.
func (e namedEvidence) tableName() string {
	if e.spec.Table != "" {
		return e.spec.Table
	}
	return e.table
}

// moved is the evidence without the folders its tables lie in: a survey that is
// copied elsewhere is the same. What the tables hold is told by their digests.
func (e EvidenceSpec) moved() EvidenceSpec {
	e.Layers = orEmpty(e.Layers)
	list := []*EvidenceLayer{&e.Soils, &e.FloodZones}
	for i := range e.Layers {
		list = append(list, &e.Layers[i])
	}
	for _, l := range list {
		if isPath(l.Table) {
			l.Table = filepath.Base(l.Table)
		}
	}
	return e
}

// tables lists the files of evidence tables.
func (s *Survey) tables() []*string {
	var out []*string
	for _, e := range s.evidenceLayers() {
		if isPath(e.spec.Table) {
			out = append(out, &e.spec.Table)
		}
	}
	return out
}
