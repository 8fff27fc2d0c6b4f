package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"rillwood/internal/shareddata"
)

var (
	wholeCorpus = flag.Bool("corpus", false, "offer every file of the corpus in every role, not a sample")
	corpusTable = flag.String("corpus-table", "", "write the outcomes of the corpus to this file")
)

// What a run may take of a file that came from anywhere.
const (
	corpusSeconds = 10
	corpusBytes   = 1 << 30
)

// corpusRoles are the places of a survey that a stranger's file may stand in.
// Each gives the survey's lines, %s being the file.
var corpusRoles = []struct{ name, survey string }{
	{"elevation", "elevation: {path: %s}\n"},
	{"streams", "elevation: {path: elevation.tif}\nstreams: {path: %s}\n"},
	{"landcover", "elevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\nlandcover: {path: %s}\n"},
	{"area", "elevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\narea: {path: %s}\n"},
	{"soils", "elevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\nevidence: {soils: {path: %s}}\n"},
	{"evidence", "elevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\nevidence: {layers: [{name: geology, path: %s, table: geology.csv}]}\n"},
	{"access", "elevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\naccess: [{path: %s}]\n"},
	{"keep out", "elevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\nkeep_out: [{path: %s, distance: 20, reason: test}]\n"},
	{"paths", "elevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\napproach: {paths: {path: %s}}\n"},
	{"basal area", "elevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\ninventory: {rasters: [{host: american-elm, path: %s, measure: basal-area, unit: m2/ha}]}\n"},
	{"trees", "elevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\ninventory: {trees: {path: %s}}\n"},
	{"records", ""},
}

// outcome of one file in one role.
type outcome struct {
	file, role, verdict, line string
	took                      time.Duration
	bytes                     int64
}

// Whatever a file is and wherever it is named: a result, or one line that names
// it, soon and within bounds; never a crash, a hang, or half a result.
func TestCorpus(t *testing.T) {
	root := shareddata.Path(t, "realdata", "robustness")
	files := corpusFiles(t, root)
	work := t.TempDir()
	made, err := layers()
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range made {
		if err := os.WriteFile(filepath.Join(work, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	type job struct{ file, role, survey string }
	var jobs []job
	for i, f := range files {
		for k, r := range corpusRoles {
			if *wholeCorpus || (i+k)%4 == 0 {
				jobs = append(jobs, job{f, r.name, r.survey})
			}
		}
	}
	out := make([]outcome, len(jobs))
	var next, done sync.Mutex
	at := 0
	var wait sync.WaitGroup
	for range runtime.NumCPU() {
		wait.Go(func() {
			for {
				next.Lock()
				i := at
				at++
				next.Unlock()
				if i >= len(jobs) {
					return
				}
				j := jobs[i]
				o := offer(t, work, i, j.file, j.survey)
				o.file, o.role = strings.TrimPrefix(j.file, root+"/"), j.role
				done.Lock()
				out[i] = o
				done.Unlock()
			}
		})
	}
	wait.Wait()
	for _, o := range out {
		if strings.HasPrefix(o.verdict, "bad") {
			t.Errorf("%s as %s: %s: %s", o.file, o.role, o.verdict, o.line)
		}
	}
	if *corpusTable != "" {
		writeOutcomes(t, *corpusTable, out)
	}
}

// corpusFiles lists the files a user might name; parts that only go with
// another file are not offered alone.
func corpusFiles(t *testing.T, root string) (files []string) {
	err := filepath.WalkDir(root, func(path string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		switch ext := strings.ToLower(filepath.Ext(path)); {
		case d.IsDir() || slices.Contains([]string{".dbf", ".shx", ".prj", ".sbn", ".sbx", ".cpg", ".md"}, ext) || strings.HasPrefix(d.Name(), "PROBE"):
		default:
			files = append(files, path)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(files) == 0 {
		t.Fatal("the corpus is empty")
	}
	return files
}

// A run that fails says what is wrong in one line of its own kind.
var failLine = regexp.MustCompile(`^rillwood: .+$`)

// offer runs the program on one file in one role.
func offer(t *testing.T, work string, i int, file, survey string) (o outcome) {
	folder := filepath.Join(work, fmt.Sprintf("out-%d", i))
	args := []string{"record", "add", folder, file}
	if survey != "" {
		at := filepath.Join(work, fmt.Sprintf("survey-%d.yaml", i))
		text := fmt.Sprintf(survey, fmt.Sprintf("%q", file)) + fmt.Sprintf("output: {folder: %q, layers: [bottomland]}\n", folder)
		if err := os.WriteFile(at, []byte(text), 0o644); err != nil {
			t.Error(err)
			return
		}
		args = []string{"map", "-q", at}
	}
	ctx, cancel := context.WithTimeout(t.Context(), corpusSeconds*time.Second)
	defer cancel()
	exe, err := os.Executable()
	if err != nil {
		t.Error(err)
		return
	}
	cmd := exec.CommandContext(ctx, exe, args...)
	cmd.Dir = work
	cmd.Env = append(os.Environ(), actAsProgram+"=1")
	var stdout, stderr bytes.Buffer
	cmd.Stdout, cmd.Stderr = &stdout, &stderr
	start := time.Now()
	err = cmd.Run()
	o.took = time.Since(start)
	if use, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage); ok {
		o.bytes = use.Maxrss * 1024
	}
	lines := strings.Split(strings.TrimSpace(stderr.String()), "\n")
	o.line = lines[len(lines)-1]
	_, left := os.Stat(folder)
	switch {
	case ctx.Err() != nil:
		o.verdict = fmt.Sprintf("bad: no end within %d s", corpusSeconds)
	case o.bytes > corpusBytes:
		o.verdict = fmt.Sprintf("bad: took %d MB", o.bytes>>20)
	case strings.Contains(stderr.String(), "goroutine ") || strings.Contains(stderr.String(), "panic:") || cmd.ProcessState.ExitCode() < 0:
		o.verdict, o.line = "bad: crash", stderr.String()
	case err == nil && survey == "":
		o.verdict = "result"
	case err == nil:
		o.verdict = "result"
		for _, name := range []string{"suitability.tif", "shortlist.geojson", "run.json"} {
			if st, err := os.Stat(filepath.Join(folder, name)); err != nil || st.Size() == 0 {
				o.verdict = "bad: a result without " + name
			}
		}
	case !failLine.MatchString(o.line) || survey != "" && len(lines) != 1:
		o.verdict, o.line = "bad: more or less than one line", stderr.String()
	case !strings.Contains(o.line, filepath.Base(file)) && !strings.Contains(o.line, strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))):
		o.verdict = "bad: the line does not name the file"
	case survey != "" && left == nil:
		o.verdict = "bad: a folder is left"
	default:
		o.verdict = "one line"
	}
	os.RemoveAll(folder)
	return o
}

func writeOutcomes(t *testing.T, path string, out []outcome) {
	var b strings.Builder
	slices.SortStableFunc(out, func(a, b outcome) int { return strings.Compare(a.role, b.role) })
	counts := map[string]map[string]int{}
	for _, o := range out {
		if counts[o.role] == nil {
			counts[o.role] = map[string]int{}
		}
		counts[o.role][strings.SplitN(o.verdict, ":", 2)[0]]++
		fmt.Fprintf(&b, "%s\t%s\t%s\t%.1f s\t%d MB\t%s\n", o.role, o.file, o.verdict, o.took.Seconds(), o.bytes>>20, strings.ReplaceAll(o.line, "\n", " / "))
	}
	for _, r := range corpusRoles {
		c := counts[r.name]
		fmt.Fprintf(&b, "| %s | %d | %d | %d |\n", r.name, c["result"], c["one line"], c["bad"])
	}
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		t.Error(err)
	}
}
