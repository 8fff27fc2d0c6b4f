package raster

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// companions are the endings of files that the drivers may open beside a
// layer's own, in place of its ending; those that begin with + come behind its
// whole name.
var companions = strings.Fields("dbf shx prj cpg qix sbn sbx idm ind cst " + // shapefile
	"hdr stx clr blw bpw tfw wld aux ige rrd rde " + // flat rasters, world files, HFA
	"+.hdr +.aux.xml +.ovr +.msk +-wal +-shm +-journal") // headers, GDAL's own, SQLite's

// PlainCompanions makes sure that what stands beside a layer and goes with it
// is a plain file of the same folder: a pipe or a device would be read without
// end, and a link may lead anywhere. abs is the layer's path, links resolved.
func PlainCompanions(abs string) error {
	stem := strings.TrimSuffix(abs, filepath.Ext(abs))
	for _, c := range companions {
		names := []string{stem + "." + c, stem + "." + strings.ToUpper(c)}
		if behind, whole := strings.CutPrefix(c, "+"); whole {
			names = []string{abs + behind}
		}
		for _, name := range names {
			if err := plainBeside(name); err != nil {
				return err
			}
		}
	}
	return nil
}

// PlainFolder makes sure of the same for all that is in a layer's folder.
func PlainFolder(abs string) error {
	entries, err := os.ReadDir(abs)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if err := plainBeside(filepath.Join(abs, e.Name())); err != nil {
			return err
		}
	}
	return nil
}

// plainBeside takes a plain file, a folder, a link to a plain file of the same
// folder, and nothing at all.
func plainBeside(name string) error {
	st, err := os.Lstat(name)
	if err != nil || st.Mode().IsRegular() || st.IsDir() {
		return nil
	}
	if st.Mode()&fs.ModeSymlink != 0 {
		to, err := filepath.EvalSymlinks(name)
		if err != nil { // it leads nowhere, so nothing is read
			return nil
		}
		if st, err := os.Stat(to); err == nil && st.Mode().IsRegular() && filepath.Dir(to) == filepath.Dir(name) {
			return nil
		}
		return fmt.Errorf("%q beside it is a link out of its folder; copy the file there", filepath.Base(name))
	}
	return fmt.Errorf("%q beside it is not a plain file; take it away", filepath.Base(name))
}
