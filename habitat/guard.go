package habitat

import (
	"os"
	"path/filepath"
)

// outputNames lists the files a run writes, slashed, below its folder.
func outputNames(p *Profile, layers []string) []string {
	names := append([]string{"suitability.tif", "shortlist.geojson", recordName}, optionalNames...)
	for _, layer := range layers {
		if layer != "hosts" {
			names = append(names, "layers/"+layer+".tif")
			continue
		}
		for _, h := range p.Hosts {
			names = append(names, "layers/host-"+h.ID+".tif")
		}
	}
	return names
}

// guardOutputs looks, before any work is done, where the results will go: a
// result must not take the place of a file that is read, nor of a folder.
func guardOutputs(in *Inputs, folder string, names []string) error {
	s := in.Survey
	read := append([]string{s.File, s.Area.Path}, s.Streams.Path...)
	for _, e := range in.Elevation {
		read = append(read, e.Path)
	}
	for _, e := range in.LandCover {
		read = append(read, e.Path)
	}
	for _, p := range []string{s.Profile, s.Target, s.LandCover.Legend} {
		if isPath(p) {
			read = append(read, p)
		}
	}
	for _, l := range s.layers() {
		read = append(read, l.spec.Path)
	}
	for _, t := range s.tables() {
		read = append(read, *t)
	}
	for _, list := range in.hostRasters {
		read = append(read, list...)
	}
	var inputs []os.FileInfo
	for _, p := range read {
		if p == "" {
			continue
		}
		if st, err := os.Stat(p); err == nil {
			inputs = append(inputs, st)
		}
	}
	for _, name := range names {
		path := filepath.Join(folder, filepath.FromSlash(name))
		st, err := os.Stat(path)
		if err != nil {
			continue // free
		}
		if st.IsDir() {
			return wrong("output.folder", "%q is a folder, and a result of that name is to be written; choose another folder", path)
		}
		for _, input := range inputs {
			if os.SameFile(st, input) {
				return wrong("output.folder", "the results would overwrite %q, which the survey reads; choose another folder", path)
			}
		}
	}
	return nil
}
