package main

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"rillwood/internal/terminal"
)

// asProgram is a command that runs the program itself.
func asProgram(t *testing.T, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self, args...)
	cmd.Env = append(os.Environ(), actAsProgram+"=1")
	return cmd
}

// A reader who has seen enough ends nothing: the map is made, the exit code is
// that of the command, and there is not a word on stderr.
func TestReaderWhoLeaves(t *testing.T) {
	dir := t.TempDir()
	for name, data := range mustLayers(t) {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	survey := filepath.Join(dir, "survey.yaml")
	if err := os.WriteFile(survey, []byte("elevation: {path: elevation.tif, unit: m}\nstreams: {path: streams.gpkg}\nshortlist: {min_ha: 0.5}\noutput: {layers: [none], report: false}\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name   string
		args   []string
		stderr bool // whether stderr has no reader either
		code   int
	}{
		{"map", []string{"map", survey}, true, exitOK},
		{"quiet map", []string{"map", "-q", survey}, false, exitOK},
		{"manual", []string{"manual"}, false, exitOK},
		{"help", []string{"--help"}, false, exitOK},
		{"check that finds a problem", []string{"check", filepath.Join(dir, "nowhere.yaml")}, false, exitFail},
	} {
		os.RemoveAll(filepath.Join(dir, "out"))
		r, w, err := os.Pipe()
		if err != nil {
			t.Fatal(err)
		}
		r.Close() // before a byte is written
		cmd := asProgram(t, c.args...)
		var stderr bytes.Buffer
		cmd.Stdout, cmd.Stderr = w, &stderr
		if c.stderr {
			cmd.Stderr = w
		}
		err = cmd.Run()
		w.Close()
		if got := cmd.ProcessState.ExitCode(); got != c.code {
			t.Errorf("%s: ends with %d (%v), want %d", c.name, got, err, c.code)
		}
		if stderr.Len() > 0 {
			t.Errorf("%s: says %q", c.name, stderr.String())
		}
		if _, err := os.Stat(filepath.Join(dir, "out", "run.json")); c.args[0] == "map" && err != nil {
			t.Errorf("%s: the run did not end whole: %v", c.name, err)
		}
	}
}

func mustLayers(t *testing.T) map[string][]byte {
	t.Helper()
	files, err := layers()
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// What could not be printed because the disk is full is an error.
func TestFullDisk(t *testing.T) {
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip("there is no /dev/full here: a full disk is not tried")
	}
	defer full.Close()
	for _, args := range [][]string{{"effort", "--json"}, {"--help"}} {
		cmd := asProgram(t, args...)
		var stderr bytes.Buffer
		cmd.Stdout, cmd.Stderr = full, &stderr
		cmd.Run()
		const want = "rillwood: standard output: no space left on device; what was to be printed is not whole\n"
		if got := cmd.ProcessState.ExitCode(); got != exitFail || stderr.String() != want {
			t.Errorf("%q ends with %d and says %q, want %d and %q", args, got, stderr.String(), exitFail, want)
		}
	}
}

// A request to terminate: like Ctrl-C (see TestInterrupt), with a code of its own.
func TestTerminate(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "county")
	cmd := asProgram(t, "demo", "--size", "400x400", dir)
	first := make(chan struct{})
	stderr := &waiting{first: first}
	cmd.Stderr = stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	<-first
	if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	cmd.Wait()
	if got := cmd.ProcessState.ExitCode(); got != 128+15 {
		t.Errorf("ends with %d (%v), want 143", got, cmd.ProcessState)
	}
	if !strings.HasSuffix(stderr.text.String(), "\nrillwood: stopped; earlier results are as they were\n") {
		t.Errorf("says %q", stderr.text.String())
	}
}

// waiting tells when something is first written to it.
type waiting struct {
	text  bytes.Buffer
	first chan struct{}
}

func (w *waiting) Write(p []byte) (int, error) {
	if w.text.Len() == 0 {
		close(w.first)
	}
	return w.text.Write(p)
}

// A fault of the program is one line without a trace.
func TestOwnFault(t *testing.T) {
	for _, trace := range []string{"", "1"} {
		t.Setenv(traceVar, trace)
		var out bytes.Buffer
		code := func() (code int) {
			c := silent()
			c.err = &out
			defer c.ownFault(&code)
			var none []int
			_ = none[len(out.Bytes())]
			return exitOK
		}()
		line, rest, _ := strings.Cut(out.String(), "\n")
		if code != exitFail || !strings.HasPrefix(line, "rillwood: this is a fault of the program and not of your files: ") || !strings.Contains(line, "index out of range") {
			t.Errorf("ends with %d and says %q", code, line)
		}
		if traced := strings.Contains(rest, "console_test.go"); traced != (trace != "") {
			t.Errorf("%s=%q, traced: %v", traceVar, trace, traced)
		}
	}
}

// Whatever an error or a result holds, a terminal is not steered by it.
func TestConsoleIsSafe(t *testing.T) {
	const hostile = "a\x1b]0;title\x07\r\nb\u202ec\u009b31m"
	var out, errs bytes.Buffer
	c := silent()
	c.out, c.err = &out, &errs
	if err := c.tell(false, nil, "one  two\n"+hostile+"\nend"); err != nil {
		t.Fatal(err)
	}
	if want := "one  two\na]0;title \nbc31m\nend"; out.String() != want {
		t.Errorf("a result: %q, want %q", out.String(), want)
	}
	c.fail("%s", hostile)
	c.say("note", "%v", errors.New(hostile))
	if want := "rillwood: a]0;title  bc31m\nnote: a]0;title  bc31m\n"; errs.String() != want {
		t.Errorf("errors: %q, want %q", errs.String(), want)
	}
	c.errScreen = terminal.Screen{Colour: true}
	errs.Reset()
	c.fail("no")
	if want := "\x1b[31mrillwood\x1b[0m: no\n"; errs.String() != want {
		t.Errorf("in colour: %q, want %q", errs.String(), want)
	}
}

func TestColourWanted(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{nil, "auto"},
		{[]string{"map", "--color=never", "x"}, "never"},
		{[]string{"map", "--color", "always"}, "always"},
		{[]string{"--color=never", "--color=always"}, "always"},
		{[]string{"--color=blue"}, "auto"},
		{[]string{"--color"}, "auto"},
		{[]string{"map", "--", "--color=never"}, "auto"},
	} {
		if got := colourWanted(c.args); got != c.want {
			t.Errorf("%q: %s, want %s", c.args, got, c.want)
		}
	}
}
