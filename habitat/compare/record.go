package compare

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
)

// recordFormat is the form of run.json this package reads.
const recordFormat = "rillwood-run-1"

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
	var head struct {
		Format *string `json:"format"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return record{}, damaged(data, err)
	}
	switch {
	case head.Format == nil:
		return record{}, errors.New(`"format" is missing, so it is no record of a run; give the folder that a run wrote`)
	case *head.Format != recordFormat:
		return record{}, fmt.Errorf("format is %q, this version reads %q; make the map again with this version", clip(*head.Format, 40), recordFormat)
	}
	var r record
	if err := json.Unmarshal(data, &r); err != nil {
		return record{}, damaged(data, err)
	}
	if r.Run == "" {
		return record{}, errors.New(`"run" is missing; the record is damaged, make the map again`)
	}
	return r, nil
}

// damaged puts a fault of JSON into words that name line and field.
func damaged(data []byte, err error) error {
	if syntax := (*json.SyntaxError)(nil); errors.As(err, &syntax) {
		at := min(int(syntax.Offset), len(data))
		return fmt.Errorf("line %d: no JSON (%v); the file is damaged, make the map again", 1+bytes.Count(data[:at], []byte("\n")), syntax)
	}
	if kind := (*json.UnmarshalTypeError)(nil); errors.As(err, &kind) {
		field := kind.Field
		if field == "" {
			field = "the whole"
		}
		return fmt.Errorf("%q is a JSON %s where another kind is wanted; the file is damaged, make the map again", clip(field, 60), kind.Value)
	}
	return fmt.Errorf("no JSON (%v); the file is damaged, make the map again", err)
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

func clip(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}
