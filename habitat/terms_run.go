package habitat

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"rillwood/raster"
)

// Run is a finished run, opened again to learn from: its record, its grid and
// the layers it wrote.
type Run struct {
	Folder  string
	Record  Record
	Frame   raster.Frame // of the rasters the run wrote; Terms.Cell counts in it
	Layers  []string     // names of the rasters that are there, "suitability" among them, in order
	Missing []string     // one line for each layer that learning wants and the run does not have
}

// runFormat is what Record.Format says.
const runFormat = "rillwood-run-1"

// Layers that hold the terms of the model, and those that are good to have.
var (
	termLayers = []string{"relative-height", "brook-height", "slope", "stream-distance"}
	readLayers = append(slices.Clone(termLayers), "bottomland", "expected-finds", "confidence")
)

// OpenRun opens the folder a run wrote into. Layers that are missing are no
// error: Missing says which and what to do, and Need asks for them.
func OpenRun(folder string) (*Run, error) {
	r := &Run{Folder: folder}
	abs, err := raster.LocalPath(folder, true)
	if err != nil {
		return nil, fmt.Errorf("run: %w; name the folder that a map was written into", err)
	}
	if r.Record, err = readRecord(filepath.Join(abs, recordName)); err != nil {
		return nil, fmt.Errorf("run %q: %w", folder, err)
	}
	r.Folder = abs
	first, err := raster.Describe(r.path("suitability"), "")
	if err != nil {
		return nil, fmt.Errorf("run %q: %w", folder, err)
	}
	if !first.NorthUp() || math.Abs(first.Geo[1]+first.Geo[5]) > 1e-9*first.Geo[1] || !first.CRS.Projected {
		return nil, fmt.Errorf("run %q: suitability.tif is not a grid that a map writes; make the map again", folder)
	}
	r.Frame = raster.Frame{W: first.W, H: first.H, X0: first.Geo[0], Y0: first.Geo[3], Cell: first.Geo[1], WKT: first.CRS.WKT, EPSG: first.CRS.EPSG, Name: first.CRS.Name}
	if w := r.Record.Frame.Window; w[2] != first.W || w[3] != first.H {
		return nil, fmt.Errorf("run %q: suitability.tif has %d × %d cells, %s says %d × %d; they are not of one run: make the map again", folder, first.W, first.H, recordName, w[2], w[3])
	}
	return r, r.findLayers(folder)
}

// findLayers looks which rasters the run wrote, and that they share its grid.
func (r *Run) findLayers(folder string) error {
	r.Layers = []string{"suitability"}
	for _, name := range r.Record.Outputs {
		name, ok := strings.CutPrefix(name, "layers/")
		name, tif := strings.CutSuffix(name, ".tif")
		if !ok || !tif || !filepath.IsLocal(name) || filepath.Base(name) != name {
			continue
		}
		in, err := raster.Describe(r.path(name), "")
		if err != nil {
			if fileExists(r.path(name)) {
				return fmt.Errorf("run %q: %w", folder, err)
			}
			continue // taken away since: it is missing
		}
		f := r.Frame
		if in.W != f.W || in.H != f.H || in.Geo[0] != f.X0 || in.Geo[3] != f.Y0 || in.Geo[1] != f.Cell {
			return fmt.Errorf("run %q: layers/%s.tif lies on another grid than suitability.tif; make the map again", folder, name)
		}
		r.Layers = append(r.Layers, name)
	}
	slices.Sort(r.Layers)
	for _, name := range r.wanted() {
		if !r.Has(name) {
			r.Missing = append(r.Missing, fmt.Sprintf("no layer %s: add %s to output.layers of the survey and make the map again", name, name))
		}
	}
	return nil
}

// wanted lists the layers that learning reads.
func (r *Run) wanted() []string {
	return append(r.judgedBy(), readLayers[len(termLayers):]...)
}

// judgedBy lists the layers without which the run's log-odds of bottomland
// cannot be told.
func (r *Run) judgedBy() []string {
	names := slices.Clone(termLayers)
	if r.Record.Survey.Evidence.ValleyFlatness {
		names = append(names, "valley-flatness")
	}
	if len(r.Record.Survey.Evidence.Layers) > 0 {
		names = append(names, "evidence")
	}
	return names
}

// Has tells whether the run holds a layer, by its name in output.layers.
func (r *Run) Has(layer string) bool { return slices.Contains(r.Layers, layer) }

// Need is an error that names every layer of the list the run does not hold;
// with no list, those of the terms of the model.
func (r *Run) Need(layers ...string) error {
	if len(layers) == 0 {
		layers = termLayers
	}
	var gone []string
	for _, l := range layers {
		if !r.Has(l) {
			gone = append(gone, l)
		}
	}
	switch len(gone) {
	case 0:
		return nil
	case 1:
		return fmt.Errorf("run %q: no layer %s; add it to output.layers of the survey and make the map again", r.Folder, gone[0])
	}
	return fmt.Errorf("run %q: no layers %s; add them to output.layers of the survey and make the map again", r.Folder, strings.Join(gone, ", "))
}

func (r *Run) path(layer string) string {
	if layer == "suitability" {
		return filepath.Join(r.Folder, "suitability.tif")
	}
	return filepath.Join(r.Folder, "layers", layer+".tif")
}

// LoadProfile gives the profile the run was made with: the one named (built in
// or a file) or, with "", the run's own of a map with another
// target, else the built-in one of the recorded name. A profile
// whose bottomland weights or hit rates are not those of the run is refused.
func (r *Run) LoadProfile(nameOrPath string) (*Profile, error) {
	was := r.Record.Profile.Name
	if nameOrPath == "" {
		switch {
		case slices.Contains(r.Record.Outputs, profileName):
			nameOrPath = filepath.Join(r.Folder, profileName)
		case slices.Contains(ProfileNames(), was):
			nameOrPath = was
		default:
			return nil, fmt.Errorf("run %q: made with the profile %q, which is not built in; name its file with --profile", r.Folder, oneLine(was))
		}
	}
	p, err := LoadProfile(nameOrPath)
	if err != nil {
		return nil, err
	}
	if !reflect.DeepEqual(p.Bottomland, r.Record.Profile.Bottomland) {
		return nil, fmt.Errorf("profile %q: its bottomland weights are not those the run %q was made with (profile %q); name that profile with --profile, or make the map again with this one", nameOrPath, r.Folder, oneLine(was))
	}
	if !r.sameRates(p) {
		return nil, fmt.Errorf("profile %q: its hit rates are not those the run %q was made with (profile %q); name that profile with --profile, or make the map again with this one", nameOrPath, r.Folder, oneLine(was))
	}
	return p, nil
}

// sameRates tells whether the hit rates of a profile are those of the run; so
// they are taken to be where the run's record does not tell them.
func (r *Run) sameRates(p *Profile) bool {
	was := r.Record.Profile
	return len(was.HitRates) == 0 || slices.Equal(was.HitRates, recordRates(p)) &&
		was.ByBottomland.Value == p.RateByBottomland.Value && was.ByBottomland.SD == p.RateByBottomland.SD
}

// maxRecordBytes bounds what is read of a run's record.
const maxRecordBytes = 16 << 20

func readRecord(path string) (Record, error) {
	var rec Record
	file, err := os.Open(path)
	if err != nil {
		return rec, fmt.Errorf("holds no %s; name the folder that a map was written into", recordName)
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, maxRecordBytes+1))
	if err != nil || len(data) > maxRecordBytes {
		return rec, fmt.Errorf("%s cannot be read, or is larger than %d MiB", recordName, maxRecordBytes>>20)
	}
	if err := json.Unmarshal(data, &rec); err != nil {
		return rec, fmt.Errorf("%s is not the record of a run (%s); make the map again", recordName, oneLine(err.Error()))
	}
	if rec.Format != runFormat {
		return rec, fmt.Errorf("%s has the format %q, expected %q; make the map again", recordName, oneLine(rec.Format), runFormat)
	}
	return rec, nil
}
