package compare

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"rillwood/habitat/results"
	"rillwood/raster"
)

// Run is one run's folder, read and checked.
type Run struct {
	Folder     string
	Label      string // A or B
	Candidates []Candidate
	Notes      []string

	record record
	info   *raster.Info // of suitability.tif; nil when it cannot be read
	hasTIF map[string]bool
}

// Open reads the folder of a run. A run record or a shortlist that is missing,
// damaged, of another format, or of two different runs is an error; a missing
// suitability raster is a note, and candidates alone are compared.
func Open(folder, label string) (*Run, error) {
	r := &Run{Folder: folder, Label: label, hasTIF: map[string]bool{}}
	if s, err := os.Stat(folder); err != nil || !s.IsDir() {
		return nil, fmt.Errorf("run %s: %q is no folder; give the folder that a run wrote its results into", label, folder)
	}
	path := filepath.Join(folder, "run.json")
	data, err := results.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("run %s: %w", label, err)
	}
	if r.record, err = parseRecord(data); err != nil {
		return nil, fmt.Errorf("run %s: %q: %w", label, path, err)
	}
	path = filepath.Join(folder, "shortlist.geojson")
	if data, err = results.ReadFile(path); err != nil {
		return nil, fmt.Errorf("run %s: %w", label, err)
	}
	list, err := parseShortlist(data)
	if err != nil {
		return nil, fmt.Errorf("run %s: %q: %w", label, path, err)
	}
	if list.run != "" && list.run != r.record.Run {
		return nil, fmt.Errorf("run %s: %q is of run %q, run.json of run %q; files of two runs lie in one folder, make the map again", label, path, list.run, r.record.Run)
	}
	r.Candidates = list.candidates
	path = filepath.Join(folder, "suitability.tif")
	if info, err := raster.Describe(path, ""); err != nil {
		r.Notes = append(r.Notes, fmt.Sprintf("run %s: no suitability raster to compare: %v", label, err))
	} else {
		r.info = &info
		r.hasTIF["suitability"] = true
	}
	// A run without layers has no such folder.
	layers, _ := os.ReadDir(filepath.Join(folder, "layers"))
	for _, l := range layers {
		if name, tif := strings.CutSuffix(l.Name(), ".tif"); tif {
			r.hasTIF[name] = true
		}
	}
	return r, nil
}

// layer is the path of a raster of the run, "" when it has none of the name.
func (r *Run) layer(name string) string {
	switch {
	case !r.hasTIF[name]:
		return ""
	case name == "suitability":
		return filepath.Join(r.Folder, "suitability.tif")
	}
	return filepath.Join(r.Folder, "layers", name+".tif")
}

func (r *Run) side() Side {
	return Side{Run: r.record.Run, Name: r.record.name(), Threshold: r.record.threshold(), Found: max(r.record.Counts.Found, len(r.Candidates)), Listed: len(r.Candidates)}
}
