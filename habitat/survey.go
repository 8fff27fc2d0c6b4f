package habitat

import (
	"context"
	"fmt"
	"path/filepath"

	"rillwood/vector"
)

// Survey is one run as its file describes it. DefaultSurvey gives every
// default; LoadSurvey reads a file on top of it; Validate checks the whole.
// Relative paths in a loaded survey have been joined to the file's folder.
type Survey struct {
	Name      string        `yaml:"name"`
	Area      AreaSpec      `yaml:"area"`
	Frame     FrameSpec     `yaml:"frame"`
	Elevation ElevationSpec `yaml:"elevation"`
	Streams   StreamSpec    `yaml:"streams"`
	LandCover LandCoverSpec `yaml:"landcover"`
	Evidence  EvidenceSpec  `yaml:"evidence"`
	Inventory InventorySpec `yaml:"inventory"`
	Access    []AccessSpec  `yaml:"access"`
	KeepOut   []KeepOutSpec `yaml:"keep_out"`
	Approach  ApproachSpec  `yaml:"approach"`
	Profile   string        `yaml:"profile"` // name of a built-in profile, or path of a profile file
	Target    string        `yaml:"target"`  // another target of the same ground, built in or a file; empty: the profile's own
	Curve     string        `yaml:"curve"`   // bankfull curve of the profile; empty: the profile's own choice
	Shortlist ShortlistSpec `yaml:"shortlist"`
	Output    OutputSpec    `yaml:"output"`
	Run       RunSpec       `yaml:"run"`

	File string `yaml:"-"` // path of the survey file, empty when made in memory
}

// AreaSpec names the polygon to survey; an empty Path means the whole elevation.
type AreaSpec struct {
	Path  string `yaml:"path"`
	Layer string `yaml:"layer"` // empty: the first layer
	Where string `yaml:"where"` // attribute filter, SQL style; empty: every feature
	CRS   string `yaml:"crs"`   // EPSG:n for a layer that names none
}

// FrameSpec is the grid everything lands on.
type FrameSpec struct {
	CRS    string  `yaml:"crs" json:"crs"`               // auto, elevation, utm or EPSG:n
	Cell   float64 `yaml:"cell" json:"cell" read:"auto"` // metres; 0: the elevation's own
	Collar float64 `yaml:"collar" json:"collar"`         // metres of margin around the area
}

// ElevationSpec is the one input a run cannot do without.
type ElevationSpec struct {
	Path   []string `yaml:"path"`             // files, folders or globs
	Unit   string   `yaml:"unit"`             // auto, m, ft or us-ft
	CRS    string   `yaml:"crs"`              // EPSG:n for files that name none
	Nodata *float64 `yaml:"nodata,omitempty"` // nil: what the file says
}

// StreamSpec is the mapped stream network; with no Path, streams are drawn
// where at least ThresholdKm2 drains together.
type StreamSpec struct {
	Path         []string     `yaml:"path"`
	Layer        string       `yaml:"layer"`
	Where        string       `yaml:"where"`
	Rules        string       `yaml:"rules"` // auto, nhd or all; see KeepStream
	Fields       StreamFields `yaml:"fields"`
	AreaUnit     string       `yaml:"area_unit"`     // km2 or mi2: the unit of fields.area
	ThresholdKm2 float64      `yaml:"threshold_km2"` // used when there is no stream layer
	CRS          string       `yaml:"crs"`
}

// StreamFields names attribute columns; empty ones are looked for under
// their usual names (StreamFieldNames), without regard to case.
type StreamFields struct {
	Name  string `yaml:"name" json:"name"`
	Order string `yaml:"order" json:"order"`
	Area  string `yaml:"area" json:"area"` // total drainage area
	Code  string `yaml:"code" json:"code"` // feature code the rules go by
}

// LandCoverSpec is a raster of classes and the legend that explains them.
type LandCoverSpec struct {
	Path    []string `yaml:"path"`
	Legend  string   `yaml:"legend"` // auto, a named legend, or path of a CSV
	CRS     string   `yaml:"crs"`
	Nodata  *int64   `yaml:"nodata,omitempty"` // nil: what file and legend say
	Unknown string   `yaml:"unknown"`          // stop or neutral
}

// ShortlistSpec says what makes a patch worth a visit.
type ShortlistSpec struct {
	Threshold float64 `yaml:"threshold" json:"threshold" read:"auto"` // suitability a cell needs; 0: the profile's
	MinHa     float64 `yaml:"min_ha" json:"min_ha"`
	MaxHa     float64 `yaml:"max_ha" json:"max_ha"`
	Top       int     `yaml:"top" json:"top"` // patches listed; 0: all
	HoleHa    float64 `yaml:"hole_ha" json:"hole_ha"`
	Draws     int     `yaml:"draws" json:"draws"`     // of weights and hit rates, for intervals and the confidence of ranks; 0: none
	Explore   int     `yaml:"explore" json:"explore"` // places kept for visits that teach most
}

// OutputSpec says where results go and which layers are written.
type OutputSpec struct {
	Folder  string   `yaml:"folder"`
	Layers  []string `yaml:"layers"`  // ["all"], ["none"] or names from LayerNames
	Preview bool     `yaml:"preview"` // whether to draw preview.png
	Report  bool     `yaml:"report"`  // whether to write report.html, with relief.tif and streams.gpkg that it is drawn from
}

// RunSpec holds what changes speed and what a run may take, and never results.
type RunSpec struct {
	Workers      int      `yaml:"workers" read:"auto"` // 0: one for each processor
	Memory       ByteSize `yaml:"memory"`              // 0: chosen from the machine
	Scratch      string   `yaml:"scratch"`             // folder for temporary files; empty: the output folder
	MostFeatures int      `yaml:"most_features"`       // of a vector layer that are kept
	MostPoints   int      `yaml:"most_points"`         // of the shapes of a vector layer
	Cache        string   `yaml:"cache"`               // folder where slow stages are kept for the next run; "auto": the user's cache folder; empty or "none": nowhere
}

// LayerNames are the rasters a run can write beside the suitability.
var LayerNames = []string{
	"bottomland", "height", "relative-height", "hosts", "expected-finds", "limiting", "confidence", "evidence", "valley-flatness", "access", "keep-out",
	"brook-height", "stream-distance", "slope", "uncertainty",
}

// DefaultProfile is the name of the built-in profile used when a survey names none.
const DefaultProfile = "elm-bottoms"

// LoadProfile reads the profile of the survey, with the target laid over it
// where the survey names one.
func (s *Survey) LoadProfile() (*Profile, error) {
	p, err := LoadProfile(s.Profile)
	if err != nil || s.Target == "" {
		return p, err
	}
	t, err := LoadTarget(s.Target)
	if err != nil {
		return nil, err
	}
	return p.For(t)
}

// DefaultSurvey is a survey with every default and no inputs.
func DefaultSurvey() *Survey {
	return &Survey{
		Frame:     FrameSpec{CRS: "auto", Collar: 1000},
		Elevation: ElevationSpec{Unit: "auto"},
		Streams:   StreamSpec{Rules: "auto", AreaUnit: "km2", ThresholdKm2: 0.5},
		LandCover: LandCoverSpec{Legend: "auto", Unknown: "stop"},
		Inventory: InventorySpec{BlendM: 100},
		Approach:  ApproachSpec{OffPath: 1.5, CrossingM: 300, FarthestM: 2000},
		Profile:   DefaultProfile,
		Shortlist: ShortlistSpec{MinHa: 1, MaxHa: 12, Top: 100, HoleHa: 0.1, Draws: 200},
		Output:    OutputSpec{Folder: "out", Layers: []string{"all"}, Preview: true, Report: true},
		Run:       RunSpec{MostFeatures: vector.DefaultLimits.Features, MostPoints: vector.DefaultLimits.Points},
	}
}

// limited bounds what is read of vector layers as the survey says.
func (s *Survey) limited(ctx context.Context) context.Context {
	return vector.WithLimits(ctx, vector.Limits{Features: s.Run.MostFeatures, Points: s.Run.MostPoints})
}

// LoadSurvey reads and checks a survey file. Errors are one line: file,
// line, column, field as the file spells it, what was found, what to do.
func LoadSurvey(path string) (*Survey, error) {
	data, err := readLimited(path)
	if err != nil {
		return nil, fmt.Errorf("survey file: %w", err)
	}
	s, err := ParseSurvey(path, data)
	if err != nil {
		return nil, err
	}
	s.join(filepath.Dir(path))
	return s, nil
}

// ParseSurvey reads a survey from memory; file is used in messages only and
// paths stay as written.
func ParseSurvey(file string, data []byte) (*Survey, error) {
	doc, err := parseDocument(file, data)
	if err != nil {
		return nil, err
	}
	s := DefaultSurvey()
	s.File = file
	if err := doc.decode(s); err != nil {
		return nil, err
	}
	if err := s.Validate(); err != nil {
		return nil, doc.locate(err)
	}
	return s, nil
}

// join makes paths relative to the survey file good from anywhere. A profile
// or legend that is a known name stays a name.
func (s *Survey) join(dir string) {
	one := func(p *string) {
		if *p != "" && !filepath.IsAbs(*p) {
			*p = filepath.Join(dir, *p)
		}
	}
	for _, list := range [][]string{s.Elevation.Path, s.Streams.Path, s.LandCover.Path} {
		for i := range list {
			one(&list[i])
		}
	}
	for i := range s.Inventory.Rasters {
		for k := range s.Inventory.Rasters[i].Path {
			one(&s.Inventory.Rasters[i].Path[k])
		}
	}
	for _, l := range s.layers() {
		one(&l.spec.Path)
	}
	for _, t := range s.tables() {
		one(t)
	}
	one(&s.Area.Path)
	one(&s.Output.Folder)
	one(&s.Run.Scratch)
	if s.Run.Cache != "auto" && s.Run.Cache != "none" {
		one(&s.Run.Cache)
	}
	if isPath(s.Profile) {
		one(&s.Profile)
	}
	if isPath(s.Target) {
		one(&s.Target)
	}
	if isPath(s.LandCover.Legend) {
		one(&s.LandCover.Legend)
	}
}
