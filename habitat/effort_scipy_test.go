package habitat

import (
	"encoding/json"
	"errors"
	"os/exec"
	"strings"
	"testing"
)

// askSciPy runs a script that needs scipy, reads JSON from its input and
// prints JSON. Where scipy is not installed the test is skipped.
func askSciPy(t *testing.T, script string, question, answer any) {
	t.Helper()
	in, err := json.Marshal(question)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("/usr/bin/python3", "-c", script)
	cmd.Stdin = strings.NewReader(string(in))
	out, err := cmd.Output()
	if exit := (*exec.ExitError)(nil); errors.As(err, &exit) && !strings.Contains(string(exit.Stderr), "ModuleNotFoundError") {
		t.Fatalf("%v\n%s", err, exit.Stderr)
	} else if err != nil {
		t.Skipf("no python3 with scipy here (%v): the comparison with it is not run", err)
	}
	if err := json.Unmarshal(out, answer); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
}
