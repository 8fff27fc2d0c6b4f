package vector

import (
	"encoding/hex"
	"encoding/json"
	"errors"
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
	in, err := json.Marshal(question)
	if err != nil {
		t.Fatal(err)
	}
	const noModule = 77
	script = "try:\n    import " + modules + "\nexcept ImportError:\n    raise SystemExit(77)\n" + script
	for _, python := range []string{"/usr/bin/python3", "python3"} {
		cmd := command(python, "-c", script)
		cmd.Stdin = strings.NewReader(string(in))
		out, err := cmd.Output()
		var failed *exec.ExitError
		if errors.As(err, &failed) && failed.ExitCode() != noModule {
			t.Fatalf("%s: %v\n%s", modules, err, failed.Stderr)
		}
		if err != nil {
			continue
		}
		if err := json.Unmarshal(out, answer); err != nil {
			t.Fatalf("%s: %v\n%s", modules, err, out)
		}
		return
	}
	t.Skipf("no python3 with %s here: the comparison with it is not run", modules)
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
