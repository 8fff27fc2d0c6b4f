//go:build unix

package vector

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A pipe with no writer: whoever opens it for reading waits for ever.
func pipe(t *testing.T, path string) string {
	t.Helper()
	if err := os.RemoveAll(path); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mkfifo(path, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// readSoon reads a layer and fails when that takes longer than a refusal may.
func readSoon(t *testing.T, path string) error {
	t.Helper()
	done := make(chan error, 1)
	go func() {
		_, err := Read(t.Context(), Query{Path: path}, mustCRS(t, 32618).WKT)
		done <- err
	}()
	select {
	case err := <-done:
		return err
	case <-time.After(10 * time.Second):
		t.Fatal("no end within 10 s")
		return nil
	}
}

func refusedWith(t *testing.T, path, says string) {
	t.Helper()
	err := readSoon(t, path)
	if err == nil || !strings.Contains(err.Error(), says) || !strings.Contains(err.Error(), filepath.Base(path)) {
		t.Errorf("got %v, want a line with %q", err, says)
	} else {
		oneCleanLine(t, err.Error())
	}
}

// What stands beside a layer is read with it: it is a plain file there, or the
// layer is refused.
func TestCompanionsArePlainFiles(t *testing.T) {
	outside := t.TempDir()
	for _, end := range []string{"dbf", "shx", "prj", "cpg", "SHX"} {
		t.Run(end, func(t *testing.T) {
			shp := convert(t, gpkg(t, 32618, rivers()), "ESRI Shapefile", "shp")
			at := strings.TrimSuffix(shp, ".shp") + "." + end
			pipe(t, at)
			refusedWith(t, shp, "is not a plain file")
			for _, to := range []string{"/dev/zero", pipe(t, filepath.Join(outside, "pipe")), "/etc/passwd"} {
				if err := os.Remove(at); err != nil {
					t.Fatal(err)
				}
				if err := os.Symlink(to, at); err != nil {
					t.Fatal(err)
				}
				refusedWith(t, shp, "is a link out of its folder")
			}
		})
	}
	for _, end := range []string{"-wal", "-journal"} {
		path := gpkg(t, 32618, rivers())
		pipe(t, path+end)
		refusedWith(t, path, "is not a plain file")
	}
	// A link within the folder is the user's own order.
	shp := convert(t, gpkg(t, 32618, rivers()), "ESRI Shapefile", "shp")
	dbf := strings.TrimSuffix(shp, ".shp") + ".dbf"
	if err := os.Rename(dbf, filepath.Join(filepath.Dir(dbf), "table.bin")); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("table.bin", dbf); err != nil {
		t.Fatal(err)
	}
	if err := readSoon(t, shp); err != nil {
		t.Error(err)
	}
}

// A coordinate system may name any path as a grid of shifts or as a list; PROJ
// opens none but its own. Opening the pipe would hang, so an end is the proof.
func TestCoordinateSystemsOpenNoFiles(t *testing.T) {
	at := pipe(t, filepath.Join(t.TempDir(), "pipe"))
	dir := t.TempDir()
	const line = `{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[-75,42],[-75.001,42.001]]}}`
	for name, crs := range map[string]string{
		"grid":   "+proj=longlat +ellps=clrk66 +nadgrids=" + at,
		"list":   "+init=" + at + ":1",
		"height": "+proj=longlat +datum=WGS84 +geoidgrids=" + at + " +vunits=m",
	} {
		quoted, err := json.Marshal(crs)
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, name+".geojson")
		text := fmt.Sprintf(`{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":%s}},"features":[%s]}`, quoted, line)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if err := readSoon(t, path); err != nil {
			oneCleanLine(t, err.Error())
		} else if name != "height" { // heights are not read
			t.Errorf("%s: it was taken", name)
		}
	}
	shp := convert(t, gpkg(t, 4326, rivers()), "ESRI Shapefile", "shp")
	wkt := `GEOGCS["g",DATUM["d",SPHEROID["WGS 84",6378137,298.257223563],EXTENSION["PROJ4_GRIDS","` + at + `"]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]`
	if err := os.WriteFile(strings.TrimSuffix(shp, ".shp")+".prj", []byte(wkt), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := readSoon(t, shp); err == nil {
		t.Error("a system that cannot be reached was taken")
	}
}

// A GeoPackage is data: SQL and expressions it holds are not run, be they
// endless, huge or neither.
func TestGeoPackagesRunNothing(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("no python3 to make them with")
	}
	const view = "ALTER TABLE rivers RENAME TO kept; CREATE VIEW rivers AS "
	const endless = "WITH RECURSIVE c(x) AS (SELECT 1 UNION ALL SELECT x+1 FROM c) "
	for name, c := range map[string]struct{ sql, says string }{
		"plain view":        {view + "SELECT * FROM kept", "never run"},
		"endless view":      {view + endless + "SELECT kept.* FROM kept, c WHERE x = -1", "never run"},
		"huge text":         {view + "SELECT kept.*, hex(zeroblob(400000000)) AS t FROM kept", "never run"},
		"loads code":        {view + "SELECT kept.*, load_extension('x.so') AS t FROM kept", "never run"},
		"endless contents":  {"CREATE TABLE c0 AS SELECT * FROM gpkg_contents; DROP TABLE gpkg_contents; CREATE VIEW gpkg_contents AS " + endless + "SELECT c0.* FROM c0, c WHERE x = -1", "never run"},
		"generated column":  {"ALTER TABLE rivers ADD COLUMN g TEXT AS (hex(zeroblob(400000000)))", "expressions in the file"},
		"endless count":     {"DROP TABLE gpkg_ogr_contents; CREATE VIEW gpkg_ogr_contents AS " + endless + "SELECT 'rivers' AS table_name, x AS feature_count FROM c WHERE x = -1", ""},
		"trigger on a read": {"CREATE TRIGGER t AFTER INSERT ON gpkg_ogr_contents BEGIN DELETE FROM rivers; END", ""},
	} {
		t.Run(name, func(t *testing.T) {
			path := gpkg(t, 32618, rivers())
			const script = "import sqlite3, sys\nc = sqlite3.connect(sys.argv[1]); c.execute('PRAGMA foreign_keys=OFF'); c.executescript(sys.argv[2]); c.commit(); c.close()"
			if out, err := exec.Command(python, "-c", script, path, c.sql).CombinedOutput(); err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			if c.says != "" {
				refusedWith(t, path, c.says)
			} else if err := readSoon(t, path); err != nil {
				t.Error(err)
			}
		})
	}
}
