package results

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"rillwood/raster"
)

// Each fault of a folder is one line that names the folder, the file, the
// fault, and what to do.
func TestFaultsOfFolders(t *testing.T) {
	write := func(name, text string) func(t *testing.T, d string) {
		return func(t *testing.T, d string) { put(t, filepath.Join(d, name), text) }
	}
	// replace changes the first place of a text in a file, which must be there.
	replace := func(name, old, fresh string) func(t *testing.T, d string) {
		return func(t *testing.T, d string) {
			data, err := os.ReadFile(filepath.Join(d, name))
			if err != nil || !strings.Contains(string(data), old) {
				t.Fatalf("%s holds no %s", name, old)
			}
			put(t, filepath.Join(d, name), strings.Replace(string(data), old, fresh, 1))
		}
	}
	remove := func(name string) func(t *testing.T, d string) {
		return func(t *testing.T, d string) {
			if err := os.Remove(filepath.Join(d, name)); err != nil {
				t.Fatal(err)
			}
		}
	}
	cut := func(name string) func(t *testing.T, d string) {
		return func(t *testing.T, d string) {
			data, err := os.ReadFile(filepath.Join(d, name))
			if err != nil {
				t.Fatal(err)
			}
			put(t, filepath.Join(d, name), string(data[:len(data)/2]))
		}
	}
	feature := func(geometry, properties string) func(t *testing.T, d string) {
		return write("shortlist.geojson", `{"type": "FeatureCollection", "features": [{"geometry": `+geometry+`, "properties": `+properties+`}]}`)
	}
	way := func(geometry, properties string) func(t *testing.T, d string) {
		return write("ways.geojson", `{"type": "FeatureCollection", "features": [{"geometry": `+geometry+`, "properties": `+properties+`}]}`)
	}
	const square = `{"type": "Polygon", "coordinates": [[[-87,43.35],[-86.999,43.35],[-86.999,43.351],[-87,43.35]]]}`
	const place = `"lon": -86.9995, "lat": 43.3505`
	const line = `{"type": "LineString", "coordinates": [[-87,43.35],[-86.999,43.35]]}`
	whole := made{}.write(t)
	for _, c := range []struct {
		name  string
		spoil func(t *testing.T, dir string)
		want  string
	}{
		{"no folder", func(t *testing.T, d string) { must(t, os.RemoveAll(d)) }, "no such file; name the folder"},
		{"a run cut off", write(".rillwood-moves", "{}"), "a run was stopped here"},
		{"no record", remove("run.json"), `run.json" is missing`},
		{"record that is a folder", func(t *testing.T, d string) {
			must(t, errors.Join(os.Remove(filepath.Join(d, "run.json")), os.Mkdir(filepath.Join(d, "run.json"), 0o755)))
		}, "no plain file"},
		{"record that is a pipe", func(t *testing.T, d string) {
			must(t, errors.Join(os.Remove(filepath.Join(d, "run.json")), syscall.Mkfifo(filepath.Join(d, "run.json"), 0o644)))
		}, "no plain file"},
		{"record that leads out", func(t *testing.T, d string) { linkOut(t, d, "run.json") }, `run.json" is a link that leads out`},
		{"record that leads nowhere", func(t *testing.T, d string) {
			must(t, errors.Join(os.Remove(filepath.Join(d, "run.json")), os.Symlink("run.json", filepath.Join(d, "run.json"))))
		}, "cannot be read"},
		{"record cut short", cut("run.json"), "run.json: line "},
		{"empty record", write("run.json", ""), "no JSON"},
		{"record of another format", replace("run.json", Format, "rillwood-run-2"), `format is "rillwood-run-2"`},
		{"no record at all", write("run.json", `{"a": 1}`), `"format" is missing`},
		{"list for a record", write("run.json", `[]`), "is a JSON array"},
		{"record without its run", replace("run.json", `"run": "a1"`, `"run": ""`), `"run" is missing`},
		{"record of another kind", replace("run.json", `"threshold": 0.6`, `"threshold": "high"`), `"survey.threshold" is a JSON string`},
		{"threshold too high", replace("run.json", `"threshold": 0.6`, `"threshold": 60`), "survey.threshold is 60, want 0 to 1"},
		{"number beyond numbers", replace("run.json", `"threshold": 0.6`, `"threshold": 1e999`), "run.json: "},
		{"month thirteen", replace("run.json", "12,", "13,"), "target.months holds 13"},
		{"two hosts of one name", replace("run.json", `"id": "ash"`, `"id": "elm"`), `profile.hosts names "elm" twice`},
		{"more hits than trees", replace("run.json", `"hits": 3`, `"hits": 41`), `hit_rates of "elm"`},

		{"no suitability", remove("suitability.tif"), `suitability.tif" is missing`},
		{"no raster", write("suitability.tif", "nonsense"), "not a raster"},
		{"suitability that leads out", func(t *testing.T, d string) { linkOut(t, d, "suitability.tif") }, "is a link that leads out"},
		{"another size", replace("run.json", "60,\n", "61,\n"), "suitability.tif has 60 × 40 cells, run.json says 61 × 40"},
		{"other cells", replace("run.json", `"cell_m": 10`, `"cell_m": 30`), "has cells of 10 m, run.json says 30 m"},
		{"another place", replace("run.json", `"west": 499950`, `"west": 499960`), "begins at 500000.0"},
		{"another system", replace("run.json", `"epsg": 32616`, `"epsg": 32617`), "lies in EPSG:32616, run.json says EPSG:32617"},
		{"degrees", func(t *testing.T, d string) {
			f := madeFrame(t, 60, 40)
			f.WKT, f.X0, f.Y0, f.Cell = raster.WGS84(), -87, 43, 1e-4
			writeRaster(t, filepath.Join(d, "suitability.tif"), f, -9999, func(x, y int) float32 { return 0 })
		}, "not a grid that a map writes"},
		{"feet", func(t *testing.T, d string) {
			crs, err := raster.ParseCRS("EPSG:2260") // New York East, US survey feet
			must(t, err)
			f := madeFrame(t, 60, 40)
			f.WKT = crs.WKT
			writeRaster(t, filepath.Join(d, "suitability.tif"), f, -9999, func(x, y int) float32 { return 0 })
		}, "not a grid that a map writes"},

		{"no shortlist", remove("shortlist.geojson"), `shortlist.geojson" is missing`},
		{"shortlist cut short", cut("shortlist.geojson"), "no JSON"},
		{"shortlist of another run", replace("shortlist.geojson", `"run":"a1"`, `"run":"b2"`), `is of run "b2", run.json of run "a1"`},
		{"no collection", write("shortlist.geojson", `{"type": "Feature"}`), "want a FeatureCollection"},
		{"no geometry", feature(`null`, `{"rank": 1}`), "no geometry"},
		{"no properties", feature(square, `null`), "no properties"},
		{"no rank", feature(square, `{}`), "no rank of 1"},
		{"rank nought", feature(square, `{"rank": 0}`), "no rank of 1"},
		{"half a rank", feature(square, `{"rank": 1.5}`), `"rank" is a JSON number`},
		{"a rank twice", replace("shortlist.geojson", `"rank":2`, `"rank":1`), "two candidates have rank 1"},
		{"a point", feature(`{"type": "Point", "coordinates": [0,0]}`, `{"rank": 1}`), `geometry is "Point"`},
		{"open ring", feature(`{"type": "Polygon", "coordinates": [[[0,0],[1,0],[1,1],[0,1]]]}`, `{"rank": 1}`), "not closed"},
		{"short ring", feature(`{"type": "Polygon", "coordinates": [[[0,0],[1,0],[0,0]]]}`, `{"rank": 1}`), "3 positions"},
		{"no ring", feature(`{"type": "Polygon", "coordinates": []}`, `{"rank": 1}`), "no ring"},
		{"no polygon", feature(`{"type": "MultiPolygon", "coordinates": []}`, `{"rank": 1}`), "no polygon"},
		{"metres for degrees", feature(`{"type": "Polygon", "coordinates": [[[500000,0],[1,0],[1,1],[500000,0]]]}`, `{"rank": 1}`), "longitude and latitude"},
		{"half a position", feature(`{"type": "Polygon", "coordinates": [[[1],[1,0],[1,1],[1]]]}`, `{"rank": 1}`), "longitude and latitude"},
		{"no place", feature(square, `{"rank": 1}`), "candidate 1: lon and lat are no longitude and latitude"},
		{"place beyond the pole", feature(square, `{"rank": 1, "lon": 0, "lat": 91}`), "lon and lat are no"},
		{"place elsewhere", feature(square, `{"rank": 1, "lon": -86.5, "lat": 43.35}`), "candidate 1 lies outside suitability.tif"},
		{"outline round the world", feature(`{"type": "Polygon", "coordinates": [[[-180,-90],[180,-90],[180,90],[-180,-90]]]}`, `{"rank": 1, `+place+`}`), "candidate 1 lies outside suitability.tif"},
		{"text for a figure", feature(square, `{"rank": 1, `+place+`, "score": "high"}`), `"score" is a JSON string`},
		{"a figure beyond numbers", feature(square, `{"rank": 1, `+place+`, "area_ha": -1e999}`), "shortlist.geojson: "},
		{"a list of trees", feature(square, `{"rank": 1, `+place+`, "trees": [1]}`), `"trees" is a JSON list or text`},
		{"a text of trees", feature(square, `{"rank": 1, `+place+`, "trees": {"elm": {"expected": "many"}}}`), "shortlist.geojson: feature 1: "},
		{"start nowhere", feature(square, `{"rank": 1, `+place+`, "walk_note": "", "walk_m": 1, "entry_lon": 0, "entry_lat": 0}`), "start or entry"},

		{"ways cut short", cut("ways.geojson"), "ways.geojson: line "},
		{"ways of another run", replace("ways.geojson", `"run":"a1"`, `"run":"b2"`), `ways.geojson: is of run "b2"`},
		{"no ways collection", write("ways.geojson", `{}`), "ways.geojson: type is"},
		{"ways that are a folder", func(t *testing.T, d string) {
			must(t, errors.Join(os.Remove(filepath.Join(d, "ways.geojson")), os.Mkdir(filepath.Join(d, "ways.geojson"), 0o755)))
		}, "no plain file"},
		{"ways that lead out", func(t *testing.T, d string) { linkOut(t, d, "ways.geojson") }, "is a link that leads out"},
		{"a way without a line", way(`null`, `{"rank": 1}`), "ways.geojson: feature 1 has no geometry"},
		{"a way that is a point", way(`{"type": "Point", "coordinates": [0,0]}`, `{"rank": 1}`), `geometry is "Point", want a LineString`},
		{"a way of one position", way(`{"type": "LineString", "coordinates": [[0,0]]}`, `{"rank": 1}`), "a line has 1 positions"},
		{"a way off the earth", way(`{"type": "LineString", "coordinates": [[0,0],[0,95]]}`, `{"rank": 1}`), "longitude and latitude"},
		{"a way to no candidate", way(line, `{"rank": 3}`), "has rank 3, which is no candidate with one way in"},
		{"a way where none was found", way(line, `{"rank": 2}`), "has rank 2, which is no candidate with one way in"},
		{"two ways", write("ways.geojson", `{"type": "FeatureCollection", "features": [{"geometry": `+line+`, "properties": {"rank": 1}}, {"geometry": `+line+`, "properties": {"rank": 1}}]}`), "feature 2 has rank 1"},
		{"cautions that are no list", way(line, `{"rank": 1, "cautions": "none"}`), `cautions" is a JSON string`},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			must(t, os.CopyFS(dir, os.DirFS(whole)))
			c.spoil(t, dir)
			_, err := Open(dir)
			if err == nil {
				t.Fatal("taken as it is")
			}
			if !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") || !strings.HasPrefix(err.Error(), "run") || len(err.Error()) > 400 {
				t.Errorf("got %v, want %q in one line", err, c.want)
			}
			if c.name == "a run cut off" && !errors.Is(err, ErrHalf) {
				t.Errorf("%v is not ErrHalf", err)
			}
		})
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// What is larger than a run writes is not read into memory.
func TestSizesAreBounded(t *testing.T) {
	path := filepath.Join(t.TempDir(), "run.json")
	put(t, path, strings.Repeat(" ", 100))
	if _, err := readAtMost(path, 99); err == nil || !strings.Contains(err.Error(), "more than a run writes") {
		t.Errorf("99 of 100 bytes: %v", err)
	}
	if data, err := readAtMost(path, 100); err != nil || len(data) != 100 {
		t.Errorf("100 of 100 bytes: %d, %v", len(data), err)
	}
	f, err := os.Create(path)
	must(t, err)
	must(t, errors.Join(f.Truncate(mostBytes+1), f.Close())) // takes no room on disk
	if _, err := ReadFile(path); err == nil || !strings.Contains(err.Error(), "512 MB, more than a run writes") {
		t.Errorf("512 MB and a byte: %v", err)
	}
}
