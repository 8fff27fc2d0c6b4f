package vector

import (
	"encoding/hex"
	"encoding/json"
	"os/exec"
	"strings"
	"testing"
	"unicode"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"
)

// heard puts a question to a Python script, JSON in and out, with a Python that
// has the modules; without one the test is skipped.
func heard(t testing.TB, modules, script string, question, answer any) {
	t.Helper()
	python := ""
	for _, p := range []string{"python3", "/usr/bin/python3"} {
		if command(p, "-c", "import "+modules).Run() == nil {
			python = p
			break
		}
	}
	if python == "" {
		t.Skipf("no python3 with %s here: the comparison with it is not run", modules)
	}
	in, err := json.Marshal(question)
	if err != nil {
		t.Fatal(err)
	}
	cmd := command(python, "-c", script)
	cmd.Stdin = strings.NewReader(string(in))
	out, err := cmd.Output()
	if err != nil {
		if e, ok := err.(*exec.ExitError); ok {
			t.Fatalf("%s: %v\n%s", modules, err, e.Stderr)
		}
		t.Fatal(err)
	}
	if err := json.Unmarshal(out, answer); err != nil {
		t.Fatalf("%s: %v\n%s", modules, err, out)
	}
}

// hexOf is a geometry as WKB in hexadecimal, which keeps every bit.
func hexOf(t testing.TB, g orb.Geometry) string {
	t.Helper()
	b, err := wkb.Marshal(g)
	if err != nil {
		t.Fatal(err)
	}
	return hex.EncodeToString(b)
}

// oneCleanLine demands that a message is one line that prints as it stands.
func oneCleanLine(t testing.TB, message string) {
	t.Helper()
	for _, r := range message {
		if !unicode.IsPrint(r) {
			t.Errorf("message %q holds %q", message, r)
			return
		}
	}
}
