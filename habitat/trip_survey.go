package habitat

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"rillwood/habitat/results"
)

// tripSurvey opens the survey a run was made from: the one named, or
// survey.yaml beside the run's folder, when its layers are those of the run by
// name and size. Layers that have changed since are named in notes.
func tripSurvey(run *results.Run, named string) (s *Survey, notes []string, err error) {
	path := named
	if path == "" {
		path = filepath.Join(filepath.Dir(run.Folder), "survey.yaml")
		if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
			return nil, nil, fmt.Errorf("the survey that %q was mapped from is not beside it: name its file with --survey, since walking times come from its elevation", run.Folder)
		}
	}
	if s, err = LoadSurvey(path); err != nil {
		return nil, nil, err
	}
	var gone []string
	for _, in := range run.Inputs {
		file := filepath.FromSlash(in.Path)
		if !filepath.IsAbs(file) {
			file = filepath.Join(filepath.Dir(path), file)
		}
		if st, err := os.Stat(file); err == nil && st.Size() == in.Bytes {
			continue
		}
		if in.Role == "elevation" {
			return nil, nil, fmt.Errorf("survey %q: its elevation is not %q as the map was made from; name the survey of this run with --survey, or make the map again", path, in.Path)
		}
		gone = append(gone, in.Role)
	}
	if len(gone) > 0 {
		notes = append(notes, "changed or gone since the map was made: "+strings.Join(gone, ", "))
	}
	return s, notes, nil
}
