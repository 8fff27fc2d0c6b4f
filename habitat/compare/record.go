package compare

import "rillwood/habitat/results"

// recordFormat is the form of run.json this package reads.
const recordFormat = results.Format

// record is run.json, read leniently: what a later version adds is compared by
// its own name, what an earlier one lacks counts as not given.
type record struct {
	Format   string            `json:"format"`
	Run      string            `json:"run"`
	Software map[string]string `json:"software"`
	Survey   map[string]any    `json:"survey"`
	Inputs   []inputFile       `json:"inputs"`
	Landed   map[string]string `json:"landed"`
	Frame    struct {
		CRS    string  `json:"crs"`
		EPSG   int     `json:"epsg"`
		Cell   float64 `json:"cell_m"`
		Cols   int     `json:"columns"`
		Rows   int     `json:"rows"`
		West   float64 `json:"west"`
		North  float64 `json:"north"`
		Window [4]int  `json:"written_window"`
	} `json:"frame"`
	Profile map[string]any `json:"profile"`
	Counts  struct {
		Threshold float64 `json:"threshold"`
		Found     int     `json:"patches_found"`
	} `json:"counts"`
}

type inputFile struct {
	Role   string `json:"role"`
	Path   string `json:"path"`
	SHA256 string `json:"sha256"`
}

func parseRecord(data []byte) (record, error) {
	var r record
	if err := results.DecodeRecord(data, &r); err != nil {
		return record{}, err
	}
	return r, nil
}

func (r *record) name() string { s, _ := r.Survey["name"].(string); return s }

func (r *record) threshold() float64 {
	if t, ok := r.Survey["threshold"].(float64); ok {
		return t
	}
	return r.Counts.Threshold
}

// flatness tells whether the run measured valley flatness, which has an
// intercept and a slope weight of its own.
func (r *record) flatness() bool {
	e, _ := r.Survey["evidence"].(map[string]any)
	on, _ := e["valley_flatness"].(bool)
	return on
}

// number follows keys down the profile's bottomland figures.
func (r *record) number(keys ...string) (float64, bool) {
	var v any = r.Profile["bottomland"]
	for _, k := range keys {
		m, ok := v.(map[string]any)
		if !ok {
			return 0, false
		}
		v = m[k]
	}
	f, ok := v.(float64)
	return f, ok
}
