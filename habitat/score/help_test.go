package score

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"testing"
)

// readCase reads a published case of fixtures/cases; each names its source.
func readCase(t *testing.T, name string, into any) {
	t.Helper()
	data, err := os.ReadFile("../../fixtures/cases/" + name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, into); err != nil {
		t.Fatal(err)
	}
}

// judge runs a Python script that reads JSON on its input and prints JSON, with
// a Python that has the modules, or skips the test.
func judge(t *testing.T, modules, script string, in, out any) {
	t.Helper()
	text, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	script = "import json, sys\ntry:\n    import " + modules + "\nexcept ImportError:\n    sys.exit(77)\n" + script
	for _, name := range []string{"python3", "/usr/bin/python3"} {
		cmd := exec.Command(name, "-c", script)
		var said bytes.Buffer
		cmd.Stdin, cmd.Stderr = bytes.NewReader(text), &said
		answer, err := cmd.Output()
		if err == nil {
			if err := json.Unmarshal(answer, out); err != nil {
				t.Fatalf("judge gave no JSON: %v\n%s", err, answer)
			}
			return
		}
		if exit := (*exec.ExitError)(nil); errors.As(err, &exit) && exit.ExitCode() != 77 {
			t.Fatalf("judge failed: %v\n%s", err, said.String())
		}
	}
	t.Skipf("no python3 with %s here: this judge is not heard", modules)
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.9g, want %.9g", what, got, want)
	}
}

// chances draws n rows of trials whose chances are stretched by slope on the
// logit scale, some of them tied.
func chances(r *rand.Rand, n int, slope float64, trials int) (p, of, found []float64) {
	for range n {
		x := r.NormFloat64() * 1.5
		q := logistic(x)
		if r.IntN(3) == 0 {
			q = math.Round(q*20) / 20
			q = min(max(q, 0.05), 0.95)
			x = math.Log(q / (1 - q))
		}
		m := 1 + r.IntN(trials)
		hits := 0.0
		for range m {
			if r.Float64() < logistic(slope*x) {
				hits++
			}
		}
		p, of, found = append(p, q), append(of, float64(m)), append(found, hits)
	}
	return p, of, found
}

func mustSample(t *testing.T, p, of, found []float64) Sample {
	t.Helper()
	s, err := NewSample(p, of, found)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
