package learn

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// readCase reads a published case of fixtures/cases; each names its source.
func readCase(t *testing.T, name string, into any) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "fixtures", "cases", name+".json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, into); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.9g, expected %.9g ± %g", what, got, want, within)
	}
}

// noModule is how a judge's script ends where a module is missing.
const noModule = 77

// askPython runs a script that reads JSON from its input and prints JSON, or
// skips the test where the modules are missing.
func askPython(t *testing.T, modules, script string, question, answer any) {
	t.Helper()
	in, err := json.Marshal(question)
	if err != nil {
		t.Fatal(err)
	}
	guarded := fmt.Sprintf("import sys, json\ntry:\n import %s\nexcept ImportError:\n sys.exit(%d)\nask = json.load(sys.stdin)\n%s", modules, noModule, script)
	for _, name := range []string{"python3", "/usr/bin/python3"} {
		cmd := exec.Command(name, "-c", guarded)
		cmd.Stdin = strings.NewReader(string(in))
		var diagnostics strings.Builder
		cmd.Stderr = &diagnostics
		out, err := cmd.Output()
		if err == nil {
			if err := json.Unmarshal(out, answer); err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			return
		}
		if cmd.ProcessState != nil && cmd.ProcessState.ExitCode() != noModule {
			t.Fatalf("judge failed: %v\n%s", err, diagnostics.String())
		}
	}
	t.Skipf("no python3 with %s here: this judge is not heard", modules)
}

func ones(n int) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = 1
	}
	return v
}

// withIntercept puts a column of ones before the others.
func withIntercept(columns ...[]float64) [][]float64 {
	x := make([][]float64, len(columns[0]))
	for i := range x {
		x[i] = []float64{1}
		for _, c := range columns {
			x[i] = append(x[i], c[i])
		}
	}
	return x
}
