package approach

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"os/exec"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// judge runs a Python script that reads JSON on its input and prints JSON, with
// a Python that has the modules, or skips the test.
func judge(t *testing.T, modules, script string, in, out any) {
	t.Helper()
	text, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	// One run both looks for the modules and judges: they are slow to load.
	script = "import json, sys\ntry:\n    import " + modules + "\nexcept ImportError:\n    sys.exit(77)\n" + script
	var answer []byte
	heard := false
	for _, name := range []string{"python3", "/usr/bin/python3"} {
		cmd := exec.Command(name, "-c", script)
		var said bytes.Buffer
		cmd.Stdin, cmd.Stderr = bytes.NewReader(text), &said
		answer, err = cmd.Output()
		if err == nil {
			heard = true
			break
		}
		if exit := (*exec.ExitError)(nil); errors.As(err, &exit) && exit.ExitCode() != 77 {
			t.Fatalf("judge failed: %v\n%s", err, said.String())
		}
	}
	if !heard {
		t.Skipf("no python3 with %s here: this judge is not heard", modules)
	}
	if err := json.Unmarshal(answer, out); err != nil {
		t.Fatalf("judge gave no JSON: %v\n%s", err, answer)
	}
}

// land is a Ground made of a stream index, cells and a formula for height.
type land struct {
	*StreamIndex
	*WaterPlane
	height func(p orb.Point) float64
}

func (l land) Height(p orb.Point) float64 {
	if l.height == nil {
		return 0
	}
	return l.height(p)
}

// meadow is dry, open and level, with streams.
func meadow(streams ...orb.Geometry) land {
	return land{StreamIndex: NewStreamIndex(streams), WaterPlane: &WaterPlane{
		Frame: raster.Frame{W: 1, H: 1, Cell: 1}, Cell: func(int, int) uint8 { return 0 },
	}}
}

// flood sets bits on all cells whose centre lies in the box, on 10 m cells from
// (−1000, 3000) to (3000, −1000).
func (l land) flood(box orb.Bound, bits uint8) land {
	f := raster.Frame{W: 400, H: 400, X0: -1000, Y0: 3000, Cell: 10}
	before := l.WaterPlane
	l.WaterPlane = &WaterPlane{Frame: f, Cell: func(x, y int) uint8 {
		var old uint8
		if before.Frame == f {
			old = before.Cell(x, y)
		}
		if e, n := f.Center(x, y); box.Contains(orb.Point{e, n}) {
			old |= bits
		}
		return old
	}}
	return l
}

func wander(r *rand.Rand, size, step float64, n int) orb.LineString {
	p := orb.Point{size * r.Float64(), size * r.Float64()}
	angle := 2 * math.Pi * r.Float64()
	line := orb.LineString{p}
	for range n {
		angle += r.NormFloat64() * 0.6
		p = orb.Point{p[0] + step*math.Cos(angle), p[1] + step*math.Sin(angle)}
		line = append(line, p)
	}
	return line
}

func build(t testing.TB, ways []Way, starts []Start, g Ground, o Options) (*Network, []string) {
	t.Helper()
	n, warnings, err := Build(t.Context(), ways, starts, g, o)
	if err != nil {
		t.Fatal(err)
	}
	return n, warnings
}
