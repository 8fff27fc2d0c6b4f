package results

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"rillwood/habitat/handover"
)

// Format is the form of run.json this package reads.
const Format = "rillwood-run-1"

// ErrHalf is what Open says of a folder in which a run was cut off while its
// results were put in place.
var ErrHalf = errors.New("a run was stopped here while its results were put in place; run rillwood map again, which finishes that first")

// DecodeRecord decodes a run.json, which must be of this format and name its
// run, into what into points at. Fields it does not have are left as they are.
func DecodeRecord(data []byte, into any) error {
	var head struct {
		Format *string `json:"format"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return Damaged(data, err)
	}
	switch {
	case head.Format == nil:
		return errors.New(`"format" is missing, so it is no record of a run; give the folder that a run wrote`)
	case *head.Format != Format:
		return fmt.Errorf("format is %q, this version reads %q; make the map again with this version", Clip(*head.Format, 40), Format)
	}
	if err := json.Unmarshal(data, into); err != nil {
		return Damaged(data, err)
	}
	var named struct {
		Run string `json:"run"`
	}
	if err := json.Unmarshal(data, &named); err != nil {
		return Damaged(data, err)
	}
	if named.Run == "" {
		return errors.New(`"run" is missing; the record is damaged, make the map again`)
	}
	return nil
}

// record is what pages need of run.json, read leniently.
type record struct {
	Run      string            `json:"run"`
	Software map[string]string `json:"software"`
	Caution  string            `json:"caution"`
	Cautions []struct {
		Key   string `json:"key"`
		Title string `json:"title"`
		Text  string `json:"text"`
		Short bool   `json:"short"`
	} `json:"cautions"`
	Help struct {
		PoisonLine string `json:"poison_line"`
		Emergency  string `json:"emergency"`
		Where      string `json:"where"`
	} `json:"help"`
	Target struct {
		Common     string `json:"common"`
		Scientific string `json:"scientific"`
		Months     []int  `json:"months"`
	} `json:"target"`
	Survey struct {
		Name      string   `json:"name"`
		Threshold *float64 `json:"threshold"`
	} `json:"survey"`
	Inputs []Input     `json:"inputs"`
	Frame  recordFrame `json:"frame"`

	Profile struct {
		Name  string `json:"name"`
		Hosts []struct {
			ID         string `json:"id"`
			Common     string `json:"common"`
			Scientific string `json:"scientific"`
			Winter     string `json:"winter"`
		} `json:"hosts"`
		Rates []recordRate `json:"hit_rates"`
	} `json:"profile"`
	Counts struct {
		Threshold float64 `json:"threshold"`
		Found     int     `json:"patches_found"`
	} `json:"counts"`
	Warnings []string `json:"warnings"`
	Outputs  []string `json:"outputs"`
}

type recordRate struct {
	Host   string  `json:"host"`
	Hits   float64 `json:"hits"`
	Of     float64 `json:"of"`
	Weight float64 `json:"weight"`
}

// readRecord reads run.json; what an earlier version did not write is a note.
func (r *Run) readRecord() error {
	if handover.Pending(r.Folder) {
		return ErrHalf
	}
	path, err := r.file("run.json")
	if err != nil {
		return err
	}
	data, err := ReadFile(path)
	if err != nil {
		return err
	}
	if err := r.parseRecord(data); err != nil {
		return fmt.Errorf("run.json: %w", err)
	}
	return nil
}

func (r *Run) parseRecord(data []byte) error {
	var rec record
	if err := DecodeRecord(data, &rec); err != nil {
		return err
	}
	threshold := rec.Counts.Threshold
	if rec.Survey.Threshold != nil {
		threshold = *rec.Survey.Threshold
	}
	if !(threshold >= 0 && threshold <= 1) {
		return fmt.Errorf("survey.threshold is %g, want 0 to 1; the record is damaged, make the map again", threshold)
	}
	for _, m := range rec.Target.Months {
		if m < 1 || m > 12 {
			return fmt.Errorf("target.months holds %d, want months 1 to 12; the record is damaged, make the map again", m)
		}
	}
	r.ID, r.Name, r.Threshold, r.Found = rec.Run, rec.Survey.Name, threshold, max(0, rec.Counts.Found)
	r.Warnings, r.frame, r.Inputs, r.Profile = rec.Warnings, rec.Frame, rec.Inputs, rec.Profile.Name
	r.outputs, r.wrote = rec.Outputs, map[string]bool{}
	for _, o := range rec.Outputs {
		r.wrote[o] = true
	}
	if v := rec.Software["rillwood"]; v != "" {
		r.Software = "Rillwood " + v
	}
	r.Target = Target{rec.Target.Common, rec.Target.Scientific, rec.Target.Months}
	r.Help = Help{rec.Help.PoisonLine, rec.Help.Emergency, rec.Help.Where}
	if r.Target.Common == "" {
		r.note("run.json is of an earlier version and does not say what is looked for; make the map again")
	}
	r.takeCautions(&rec)
	return r.takeHosts(&rec)
}

// firstCaution stands where a record has no caution at all.
const firstCaution = "A map says where to look, never what is safe to eat."

// expected are the cautions that every map of this version carries.
var expected = []string{"map", "lookalike", "print", "poison", "snags", "water", "cold", "hunting", "access", "ground", "wood"}

// takeCautions takes them as they are, and says which ones a record lacks.
func (r *Run) takeCautions(rec *record) {
	for _, c := range rec.Cautions {
		if c.Text != "" {
			r.Cautions = append(r.Cautions, Caution{c.Key, c.Title, c.Text, c.Short})
		}
	}
	if len(r.Cautions) == 0 {
		text := rec.Caution
		if text == "" {
			text = firstCaution
		}
		r.Cautions = []Caution{{"map", "The map is about trees", text, true}}
		r.note("run.json is of an earlier version and lacks most cautions; make the map again")
		return
	}
	var gone []string
	for _, key := range expected {
		if !slices.ContainsFunc(r.Cautions, func(c Caution) bool { return c.Key == key }) {
			gone = append(gone, key)
		}
	}
	if len(gone) > 0 {
		r.note("run.json lacks cautions (%s); make the map again", strings.Join(gone, ", "))
	}
}

func (r *Run) takeHosts(rec *record) error {
	for _, h := range rec.Profile.Hosts {
		r.Hosts = append(r.Hosts, Host{ID: h.ID, Common: h.Common, Scientific: h.Scientific, Winter: h.Winter})
	}
	if len(r.Hosts) == 0 {
		for _, q := range rec.Profile.Rates {
			r.Hosts = append(r.Hosts, Host{ID: q.Host, Common: q.Host})
		}
		r.note("run.json is of an earlier version and does not say what to know the hosts by; make the map again")
	}
	rates := map[string]recordRate{}
	for _, q := range rec.Profile.Rates {
		if !(q.Hits >= 0 && q.Of >= q.Hits && q.Weight >= 0) {
			return fmt.Errorf("profile.hit_rates of %q are %g hits of %g, weight %g; the record is damaged, make the map again", Clip(q.Host, 40), q.Hits, q.Of, q.Weight)
		}
		rates[q.Host] = q
	}
	seen := map[string]bool{}
	for i := range r.Hosts {
		h := &r.Hosts[i]
		if h.ID == "" || seen[h.ID] {
			return fmt.Errorf("profile.hosts names %q twice or not at all; the record is damaged, make the map again", Clip(h.ID, 40))
		}
		seen[h.ID] = true
		if h.Common == "" {
			h.Common = h.ID
		}
		q := rates[h.ID]
		h.Hits, h.Of, h.Weight = q.Hits, q.Of, q.Weight
	}
	return nil
}

// HostByID finds a host; an unknown one is named by its id.
func (r *Run) HostByID(id string) Host {
	for _, h := range r.Hosts {
		if h.ID == id {
			return h
		}
	}
	return Host{ID: id, Common: id}
}

// recordFrame is the grid of the whole run; its window is what was written.
type recordFrame struct {
	EPSG   int     `json:"epsg"`
	Cell   float64 `json:"cell_m"`
	West   float64 `json:"west"`
	North  float64 `json:"north"`
	Window *[4]int `json:"written_window"` // column, row, columns, rows
}

// differs says where a grid is not the one of the record, "" where it is or
// the record does not tell.
func (f recordFrame) differs(w, h, epsg int, x0, y0, cell float64) string {
	near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-3*cell }
	switch {
	case f.Window == nil || f.Cell == 0:
		return ""
	case w != f.Window[2] || h != f.Window[3]:
		return fmt.Sprintf("has %d × %d cells, run.json says %d × %d", w, h, f.Window[2], f.Window[3])
	case !(math.Abs(cell-f.Cell) <= 1e-9*cell):
		return fmt.Sprintf("has cells of %g m, run.json says %g m", cell, f.Cell)
	case f.EPSG != 0 && epsg != 0 && f.EPSG != epsg:
		return fmt.Sprintf("lies in EPSG:%d, run.json says EPSG:%d", epsg, f.EPSG)
	}
	if x, y := f.West+float64(f.Window[0])*f.Cell, f.North-float64(f.Window[1])*f.Cell; !near(x0, x) || !near(y0, y) {
		return fmt.Sprintf("begins at %.1f, %.1f, run.json says %.1f, %.1f", x0, y0, x, y)
	}
	return ""
}
