package main

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"rillwood/fixtures"
	"rillwood/internal/shareddata"
	"rillwood/raster"
)

// actAsProgram makes the test binary behave as the program.
const actAsProgram = "RILLWOOD_TEST_ACT"

func TestMain(m *testing.M) {
	if os.Getenv(actAsProgram) != "" {
		main()
	}
	testscript.Main(m, map[string]func(){"rillwood": main})
}

// The scripts of testdata/script run the program as a person would.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"county":   cmdCounty,
			"fails":    cmdFails,
			"json":     cmdJSON,
			"sums":     cmdSums,
			"same":     cmdSame,
			"tidy":     cmdTidy,
			"truncate": cmdTruncate,
			"recode":   cmdRecode,
			"nocrs":    cmdNoCRS,
		},
	})
}

// layers of a small invented county, made once for all scripts.
var layers = sync.OnceValues(func() (map[string][]byte, error) {
	dir, err := os.MkdirTemp("", "county")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	c, err := fixtures.New(150, 120, 10, 1)
	if err != nil {
		return nil, err
	}
	if err := c.Write(context.Background(), dir, nil); err != nil {
		return nil, err
	}
	files := map[string][]byte{}
	for _, name := range []string{"elevation.tif", "landcover.tif", "streams.gpkg", "places.gpkg", "soils.gpkg", "floodzones.gpkg", "geology.tif", "geology.csv", "elm_basal_area.tif", "trees.gpkg", "weather.csv"} {
		if files[name], err = os.ReadFile(filepath.Join(dir, name)); err != nil {
			return nil, err
		}
	}
	return files, nil
})

// county: writes the layers of an invented county into the working folder.
func cmdCounty(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 0, "county")
	files, err := layers()
	ts.Check(err)
	for name, data := range files {
		ts.Check(os.WriteFile(ts.MkAbs(name), data, 0o644))
	}
}

// fails CODE ARG...: runs rillwood, which must end with the exit code and one
// plain line on stderr, and nothing on stdout.
func cmdFails(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: fails CODE ARG...")
	}
	code, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec("rillwood", args[1:]...)
	got := 0
	if exit := (*exec.ExitError)(nil); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("rillwood did not run: %v", err)
	}
	if got != code {
		ts.Fatalf("exit code %d, want %d", got, code)
	}
	if out := ts.ReadFile("stdout"); out != "" {
		ts.Fatalf("a run that failed spoke on stdout: %s", out)
	}
	text := ts.ReadFile("stderr")
	line, rest, _ := strings.Cut(text, "\n")
	if rest != "" || !strings.HasPrefix(line, "rillwood: ") || len(line) < 30 || len(line) > 700 {
		ts.Fatalf("want one line that starts with \"rillwood: \", got:\n%s", text)
	}
	for _, r := range line {
		if r < ' ' {
			ts.Fatalf("control character %q in: %s", r, line)
		}
	}
}

// json: stdout of the last command is one JSON document whose names are small
// words joined by underscores.
func cmdJSON(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 0, "json")
	d := json.NewDecoder(strings.NewReader(ts.ReadFile("stdout")))
	var doc any
	ts.Check(d.Decode(&doc))
	if _, err := d.Token(); err != io.EOF {
		ts.Fatalf("more than one document on stdout: %v", err)
	}
	if _, ok := doc.(map[string]any); !ok {
		ts.Fatalf("no object, but %T", doc)
	}
	checkNames(ts, "", doc)
}

var jsonName = regexp.MustCompile(`^[a-z][a-z0-9_]*$`)

func checkNames(ts *testscript.TestScript, at string, v any) {
	switch v := v.(type) {
	case map[string]any:
		for name, x := range v {
			if !jsonName.MatchString(name) {
				ts.Fatalf("the name %q in %q is not in our style", name, at)
			}
			checkNames(ts, at+"."+name, x)
		}
	case []any:
		for _, x := range v {
			checkNames(ts, at, x)
		}
	}
}

// sums DIR FILE: writes the checksums of all files below DIR.
func cmdSums(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 2, "sums DIR FILE")
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(sums(ts, args[0])), 0o644))
}

// same DIR FILE: the files below DIR still have those checksums.
func cmdSame(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 2, "same DIR FILE")
	if now, before := sums(ts, args[0]), ts.ReadFile(args[1]); now != before {
		ts.Fatalf("%s changed: was\n%sis\n%s", args[0], before, now)
	}
}

// tidy DIR: nothing half-written or temporary lies below DIR.
func cmdTidy(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 1, "tidy DIR")
	for line := range strings.Lines(sums(ts, args[0])) {
		if line == "folder .tmp\n" {
			continue // the script's own folder for temporary files, which must be empty
		}
		if name := filepath.Base(strings.Fields(line)[1]); strings.HasPrefix(name, ".") || strings.Contains(line, ".tmp") {
			ts.Fatalf("left behind: %s", line)
		}
	}
}

// sums gives one line for each file and folder below dir, in order.
func sums(ts *testscript.TestScript, dir string) string {
	var b strings.Builder
	root := ts.MkAbs(dir)
	ts.Check(filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || path == root {
			return err
		}
		name, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		if d.IsDir() {
			fmt.Fprintf(&b, "folder %s\n", name)
			return nil
		}
		data, err := os.ReadFile(path)
		fmt.Fprintf(&b, "%x %s\n", sha256.Sum256(data), name)
		return err
	}))
	return b.String()
}

// truncate FILE OUT SHARE: copies the first part of a file.
func cmdTruncate(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 3, "truncate FILE OUT SHARE")
	share, err := strconv.ParseFloat(args[2], 64)
	ts.Check(err)
	data := ts.ReadFile(args[0])
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(data[:int(share*float64(len(data)))]), 0o644))
}

// recode IN OUT FROM TO: copies a class raster with one code turned into another.
func cmdRecode(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 4, "recode IN OUT FROM TO")
	from, err := strconv.Atoi(args[2])
	ts.Check(err)
	to, err := strconv.Atoi(args[3])
	ts.Check(err)
	var index [65536]uint8
	for code := range index {
		index[code] = uint8(min(code, 255))
	}
	index[from] = uint8(to)
	rewrite(ts, args[0], args[1], &index, true)
}

// nocrs IN OUT: copies a raster of small whole numbers without its coordinate system.
func cmdNoCRS(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 2, "nocrs IN OUT")
	var index [65536]uint8
	for code := range index {
		index[code] = uint8(min(code, 255))
	}
	rewrite(ts, args[0], args[1], &index, false)
}

func rewrite(ts *testscript.TestScript, in, out string, index *[65536]uint8, crs bool) {
	i, err := raster.Describe(ts.MkAbs(in), "")
	ts.Check(err)
	f := raster.Frame{W: i.W, H: i.H, X0: i.Geo[0], Y0: i.Geo[3], Cell: i.Geo[1], WKT: i.CRS.WKT}
	p, err := raster.NewPlane[uint8](f.W, f.H, nil)
	ts.Check(err)
	_, _, err = raster.ReadClasses(context.Background(), raster.Source{Paths: []string{ts.MkAbs(in)}}, f, index, 255, 1, p, func(float64) {})
	ts.Check(err)
	if !crs {
		// The plainest of the formats that know no coordinate system.
		var b strings.Builder
		fmt.Fprintf(&b, "ncols %d\nnrows %d\nxllcorner %.0f\nyllcorner %.0f\ncellsize %g\nNODATA_value -9999\n", f.W, f.H, f.X0, f.Y0-float64(f.H)*f.Cell, f.Cell)
		for k, v := range p.Mem() {
			fmt.Fprint(&b, v)
			if (k+1)%f.W == 0 {
				b.WriteByte('\n')
			} else {
				b.WriteByte(' ')
			}
		}
		ts.Check(os.WriteFile(ts.MkAbs(out), []byte(b.String()), 0o644))
		return
	}
	s, err := raster.CreateTIFF[uint8](ts.MkAbs(out), f, raster.TIFFOptions{Nearest: true})
	ts.Check(err)
	ts.Check(s.WriteRows(0, f.H, p.Mem()))
	ts.Check(s.Close())
}

func want(ts *testscript.TestScript, neg bool, args []string, n int, usage string) {
	if neg || len(args) != n {
		ts.Fatalf("usage: %s", usage)
	}
}

// What GDAL mutters while it reads a broken file must not reach the terminal.
func TestRealBrokenFileGivesOneLine(t *testing.T) {
	broken := shareddata.Path(t, "realdata", "robustness", "raster", "corrupted_gtiff_tags.tif")
	survey := filepath.Join(t.TempDir(), "survey.yaml")
	if err := os.WriteFile(survey, []byte("elevation: {path: "+strconv.Quote(broken)+"}\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self, "map", "-q", survey)
	cmd.Env = append(os.Environ(), actAsProgram+"=1")
	out, err := cmd.CombinedOutput()
	if exit := (*exec.ExitError)(nil); !errors.As(err, &exit) || exit.ExitCode() != exitFail {
		t.Errorf("ended with %v", err)
	}
	if text := string(out); strings.Count(text, "\n") != 1 || !strings.HasPrefix(text, "rillwood: elevation: ") {
		t.Errorf("want one line, got:\n%s", text)
	}
}

// Ctrl-C: one line, exit code 130, and no results begun.
func TestInterrupt(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "county")
	cmd := exec.Command(self, "demo", "--size", "400x400", dir)
	cmd.Env = append(os.Environ(), actAsProgram+"=1")
	stderr, err := cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(stderr)
	last := ""
	for lines.Scan() {
		if last == "" { // the first stage is over, a dozen are to come
			if err := cmd.Process.Signal(os.Interrupt); err != nil {
				t.Fatal(err)
			}
		}
		last = lines.Text()
	}
	err = cmd.Wait()
	if exit := (*exec.ExitError)(nil); !errors.As(err, &exit) || exit.ExitCode() != 130 { // 128 and SIGINT, as shells tell it
		t.Errorf("ended with %v", err)
	}
	if want := "rillwood: stopped; earlier results are as they were"; last != want {
		t.Errorf("last line %q, want %q", last, want)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "out", "*")); len(left) > 0 {
		t.Errorf("results of a stopped run: %q", left)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "layers", ".*")); len(left) > 0 {
		t.Errorf("left behind: %q", left)
	}
}
