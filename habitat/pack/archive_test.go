package pack

import (
	"archive/zip"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"rillwood/fixtures"
	"rillwood/habitat"
	"rillwood/habitat/results"
)

// environment is that of the tests before the program's own settings are made.
var environment = os.Environ()

// county is a small invented county, mapped once.
var county = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "county")
	if err != nil {
		return "", err
	}
	mapped = dir
	c, err := fixtures.New(200, 160, 10, 7)
	if err != nil {
		return "", err
	}
	if err := c.Write(context.Background(), dir, nil); err != nil {
		return "", err
	}
	text := "name: Larchwood County\nelevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\nlandcover: {path: landcover.tif, legend: us-30m}\n" +
		"access: [{path: places.gpkg, layer: parks}, {path: places.gpkg, layer: private, status: private}]\n" +
		"approach: {paths: {path: places.gpkg, layer: paths}, roads: {path: places.gpkg, layer: roads}, parking: {path: places.gpkg, layer: parking}}\n" +
		"shortlist: {min_ha: 0.3}\noutput: {folder: out, layers: [access]}\n"
	survey := filepath.Join(dir, "survey.yaml")
	if err := os.WriteFile(survey, []byte(text), 0o644); err != nil {
		return "", err
	}
	s, err := habitat.LoadSurvey(survey)
	if err != nil {
		return "", err
	}
	r, err := habitat.Map(context.Background(), s, nil)
	if err != nil {
		return "", err
	}
	return r.Folder, nil
})

var mapped string // folder of the county, once there is one

func removeCounty() {
	if mapped != "" {
		os.RemoveAll(mapped)
	}
}

func countyRun(t *testing.T) *results.Run {
	t.Helper()
	dir, err := county()
	if err != nil {
		t.Fatal(err)
	}
	run, err := results.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(run.Candidates) < 4 || len(run.Ways) == 0 {
		t.Fatalf("the county has %d candidates and %d ways: too few to test with", len(run.Candidates), len(run.Ways))
	}
	return run
}

// A pack of a run as it is made: its files, that they are of the chosen
// patches alone, and that nothing else of this machine or day is in it.
func TestPackOfARun(t *testing.T) {
	run := countyRun(t)
	dir := t.TempDir()
	path := filepath.Join(dir, "pack.zip")
	got, err := Write(t.Context(), path, run, Choice{Ranks: []int{3, 1, 3}, Top: 10})
	if err != nil {
		t.Fatal(err)
	}
	names := []string{"README.txt", "waypoints.gpx", "sheets.html", "shortlist.csv", "shortlist.gpkg", "suitability.sld", "overview.png"}
	st, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	want := &Packed{Path: path, Run: run.ID, Ranks: []int{3, 1}, Files: names, Bytes: st.Size(), Notes: []string{}}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("packed (-want +got):\n%s", d)
	}
	z, err := zip.OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	if want := "Rillwood field pack, run " + run.ID; z.Comment != want {
		t.Errorf("comment %q, want %q", z.Comment, want)
	}
	files := map[string]string{}
	var order []string
	for _, f := range z.File {
		order = append(order, f.Name)
		if !filepath.IsLocal(f.Name) || !f.Modified.Equal(time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)) || f.Mode().Perm() != 0o644 {
			t.Errorf("%s: of %v, mode %v", f.Name, f.Modified, f.Mode())
		}
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		files[f.Name] = string(data)
	}
	if d := cmp.Diff(names, order); d != "" {
		t.Errorf("files (-want +got):\n%s", d)
	}
	for name, data := range files {
		if strings.Contains(data, filepath.Dir(run.Folder)) || strings.Contains(data, dir) {
			t.Errorf("%s names a folder of this machine", name)
		}
	}
	g := parsed(t, files["waypoints.gpx"])
	if len(g.Tracks) != 2 || g.Tracks[0].Name != "RW03 EDGE" || g.Tracks[1].Name != "RW01 EDGE" {
		t.Errorf("not patches 3 and 1 alone: %d tracks", len(g.Tracks))
	}
	if n := strings.Count(files["shortlist.csv"], "\r\n"); n != 3 {
		t.Errorf("%d lines in the table, want 3", n)
	}
	if n := strings.Count(files["sheets.html"], `class="fieldsheet`); n != 2 {
		t.Errorf("%d sheets, want 2", n)
	}
	folded := strings.Join(strings.Fields(files["README.txt"]), " ")
	for _, c := range run.Cautions {
		if !strings.Contains(folded, c.Title+": "+c.Text) {
			t.Errorf("README.txt lacks the caution %q", c.Key)
		}
		if !strings.Contains(g.Metadata.Desc, c.Text) {
			t.Errorf("waypoints.gpx lacks the caution %q", c.Key)
		}
	}
	for _, key := range []string{"map", "lookalike", "print", "poison", "snags", "water", "cold", "hunting", "access", "ground"} {
		if !slices.ContainsFunc(run.Cautions, func(c results.Caution) bool { return c.Key == key }) {
			t.Errorf("the run lacks the caution %q", key)
		}
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 1 {
		t.Errorf("left behind: %v, %v", left, err)
	}
	if tool, err := exec.LookPath("unzip"); err == nil {
		if out, err := exec.Command(tool, "-t", path).CombinedOutput(); err != nil {
			t.Errorf("unzip finds fault: %v\n%s", err, out)
		}
	}
	gpx := filepath.Join(t.TempDir(), "a.gpx")
	if err := os.WriteFile(gpx, []byte(files["waypoints.gpx"]), 0o644); err != nil {
		t.Fatal(err)
	}
	valid(t, gpx)
}

func TestSamePackSameBytes(t *testing.T) {
	run := countyRun(t)
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a.zip"), filepath.Join(dir, "other", "b.zip")
	if err := os.Mkdir(filepath.Dir(b), 0o755); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{a, b, b} { // the last is written over itself
		if _, err := Write(t.Context(), path, run, Choice{Top: 3}); err != nil {
			t.Fatal(err)
		}
	}
	if read(t, a) != read(t, b) {
		t.Error("two packs of one choice differ")
	}
	c := filepath.Join(dir, "c.zip")
	if _, err := Write(t.Context(), c, run, Choice{Top: 2}); err != nil {
		t.Fatal(err)
	}
	if read(t, a) == read(t, c) {
		t.Error("packs of two choices are the same")
	}
}

// Nothing that is no pack is written over, and each fault is one line that
// names what was found.
func TestPackRefuses(t *testing.T) {
	run := madeRun(t)
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	write := func(name, text string) {
		if err := os.WriteFile(at(name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("text.zip", "PK\x03\x04 of somebody")
	write("empty.zip", "")
	f, err := os.Create(at("photos.zip"))
	if err != nil {
		t.Fatal(err)
	}
	z := zip.NewWriter(f)
	if _, err := z.Create("README.txt"); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(z.Close(), f.Close(), os.Mkdir(at("folder.zip"), 0o755), os.Symlink("text.zip", at("link.zip"))); err != nil {
		t.Fatal(err)
	}
	few, one := *run, *run
	few.Candidates, one.Candidates = nil, run.Candidates[:1]
	for _, c := range []struct {
		name, file string
		run        *results.Run
		choice     Choice
		want       string
	}{
		{"empty shortlist", "a.zip", &few, Choice{Top: 10}, "shortlist of the run is empty"},
		{"no such rank", "a.zip", run, Choice{Ranks: []int{1, 12}}, "no candidate 12; the shortlist has 1 to 104"},
		{"a rank of nought", "a.zip", run, Choice{Ranks: []int{0}}, "no candidate 0"},
		{"one candidate", "a.zip", &one, Choice{Ranks: []int{2}}, "the shortlist has 1 only"},
		{"ending", "a.txt", run, Choice{Top: 1}, "ends in .zip"},
		{"no folder", "none/a.zip", run, Choice{Top: 1}, "no such file or directory"},
		{"a file for a folder", "text.zip/a.zip", run, Choice{Top: 1}, "not a directory"},
		{"no archive", "text.zip", run, Choice{Top: 1}, "is no field pack"},
		{"nothing in it", "empty.zip", run, Choice{Top: 1}, "is no field pack"},
		{"another archive", "photos.zip", run, Choice{Top: 1}, "is no field pack"},
		{"a folder", "folder.zip", run, Choice{Top: 1}, "is no field pack"},
		{"a link", "link.zip", run, Choice{Top: 1}, "is no field pack"},
	} {
		t.Run(c.name, func(t *testing.T) {
			before := listing(t, dir)
			_, err := Write(t.Context(), at(c.file), c.run, c.choice)
			if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("error %v, want one line with %q", err, c.want)
			}
			if err != nil && !strings.Contains(err.Error(), "candidate") && !strings.Contains(err.Error(), "shortlist") && !strings.Contains(err.Error(), fmt.Sprintf("%q", at(c.file))) {
				t.Errorf("error %v does not name the file", err)
			}
			if d := cmp.Diff(before, listing(t, dir)); d != "" {
				t.Errorf("the folder changed (-before +after):\n%s", d)
			}
		})
	}
}

// listing is what lies in a folder, with its contents.
func listing(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		out[e.Name()] = e.Type().String()
		if e.Type().IsRegular() {
			out[e.Name()] += read(t, filepath.Join(dir, e.Name()))
		}
	}
	return out
}

func TestStoppedPackLeavesNothing(t *testing.T) {
	run := countyRun(t)
	dir := t.TempDir()
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, err := Write(ctx, filepath.Join(dir, "a.zip"), run, Choice{Top: 1}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
	if left := listing(t, dir); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// The folder of a run may be a stranger's: no link leads other files of this
// machine into a pack.
func TestOverviewIsAPictureOfTheRun(t *testing.T) {
	secret := filepath.Join(t.TempDir(), "secret.png")
	png := read(t, filepath.Join(countyRun(t).Folder, "preview.png"))
	if err := os.WriteFile(secret, []byte(png), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		make func(path string) error
		want string // "" = copied
	}{
		{"a picture", func(p string) error { return os.WriteFile(p, []byte(png), 0o644) }, ""},
		{"none", func(string) error { return nil }, "no such file"},
		{"a link", func(p string) error { return os.Symlink(secret, p) }, "no plain file"},
		{"a folder", func(p string) error { return os.Mkdir(p, 0o755) }, "no plain file"},
		{"a text", func(p string) error { return os.WriteFile(p, []byte("root:x:0:0"), 0o644) }, "no PNG"},
		{"a large one", func(p string) error {
			return errors.Join(os.WriteFile(p, []byte(png), 0o644), os.Truncate(p, mostOverview+1))
		}, "no plain file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			folder, to := t.TempDir(), filepath.Join(t.TempDir(), "overview.png")
			if err := c.make(filepath.Join(folder, "preview.png")); err != nil {
				t.Fatal(err)
			}
			err := copyOverview(to, folder)
			if c.want == "" {
				if err != nil || read(t, to) != png {
					t.Errorf("not copied: %v", err)
				}
				return
			}
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want %q", err, c.want)
			}
			if _, err := os.Lstat(to); err == nil {
				t.Error("something was copied")
			}
		})
	}
}

// The longest id leaves room for what marks a pack.
func TestMarkIsShort(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.zip")
	if err := bundle(path, t.TempDir(), nil, strings.Repeat("x", 1<<17)); err != nil {
		t.Fatal(err)
	}
	if err := replaceable(path); err != nil {
		t.Error(err)
	}
}
