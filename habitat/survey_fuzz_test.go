package habitat

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/goccy/go-yaml"
	"github.com/google/go-cmp/cmp"
)

// A survey either reads and then reads back equal after being written out,
// or is refused in one line that names the file.
func FuzzSurvey(f *testing.F) {
	f.Add(Template(TemplateInputs{Name: "x", Elevation: "a.tif", LandCover: "b.tif"}))
	f.Add([]byte("elevation: {path: [a.tif, b.tif], nodata: -9999}\nrun: {memory: 2GB}\n"))
	f.Add([]byte("elevation:\n  path: |\n    a\n---\n"))
	f.Add([]byte("? a\n: b"))
	f.Add([]byte("elevation: {path: \"\\u00e9.tif\"}\nname: '#'\n"))
	f.Add([]byte("name: !!binary aGk=\n"))
	f.Add([]byte("a: &a [*a]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := ParseSurvey("s.yaml", data)
		if err != nil {
			if m := err.Error(); !strings.HasPrefix(m, "s.yaml") || strings.ContainsAny(m, "\n\x00") {
				t.Fatalf("error is not one line about the file: %q", m)
			}
			return
		}
		for _, text := range []string{s.Name, s.Area.Where, s.Streams.Where, s.Streams.Layer} {
			if strings.ContainsFunc(text, func(r rune) bool { return r < ' ' || r > '~' }) {
				return // the encoder of the YAML library is not ours to judge on these
			}
		}
		out, err := yaml.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		again, err := ParseSurvey("s.yaml", out)
		if err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		if d := cmp.Diff(s, again); d != "" {
			t.Errorf("written and read again (-want +got):\n%s\n%s", d, out)
		}
	})
}

// Files made to exhaust a parser are turned away quickly.
func TestHostileYAML(t *testing.T) {
	for name, text := range map[string]string{
		"long lists":          "a:\n" + strings.Repeat("- b\n", 19_000),
		"list in brackets":    "a: [\n" + strings.Repeat(strings.Repeat("b,", 4000)+"\n", 120) + "]\n",
		"lines of keys":       strings.Repeat("{a: b, c: d},\n", 19_000),
		"brackets over lines": strings.Repeat("[\n", 400_000),
		"braces over lines":   strings.Repeat("{a:\n", 200_000),
		"dashes over lines":   strings.Repeat("-\n", 400_000),
		"stair of keys":       stair(1400),
		"questions":           strings.Repeat("? ", 4000),
		"alias bomb":          "a: &a [x]\nb: &b [*a,*a]\nc: &c [*b,*b]\nelevation: {path: *c}\n",
		"many keys":           strings.Repeat("a: 1\n", 200_000),
		"quotes":              strings.Repeat("\"", 8000),
		"colons":              "a" + strings.Repeat(": b", 2700),
	} {
		t.Run(name, func(t *testing.T) {
			begin := time.Now()
			if _, err := ParseSurvey("s.yaml", []byte(text)); err == nil {
				t.Error("accepted")
			} else if len(err.Error()) > 400 {
				t.Errorf("error of %d characters", len(err.Error()))
			}
			if took := time.Since(begin); took > 3*time.Second {
				t.Errorf("took %v", took)
			}
		})
	}
}

// stair nests keys one deeper on each line, as deep as 1 MiB allows.
func stair(depth int) string {
	var b strings.Builder
	for i := range depth {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

func FuzzProfile(f *testing.F) {
	data, err := BuiltinProfile(DefaultProfile)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add(smallProfile(f)) // the large one is slow to vary
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := ParseProfile("p.yaml", data)
		if err != nil {
			if m := err.Error(); !strings.HasPrefix(m, "p.yaml") || strings.Contains(m, "\n") {
				t.Fatalf("error is not one line about the file: %q", m)
			}
			return
		}
		if _, err := NewHostTable(p, nil); err != nil && strings.Contains(err.Error(), "\n") {
			t.Fatalf("error of more than a line: %v", err)
		}
	})
}

// smallProfile is a whole profile of one host and one curve.
func smallProfile(t testing.TB) []byte {
	p, err := LoadProfile(DefaultProfile)
	if err != nil {
		t.Fatal(err)
	}
	p.Curves, p.Curve, p.Hosts, p.Provenance = p.Curves[:1], p.Curves[0].Name, p.Hosts[:1], nil
	p.Hosts[0].Source, p.Hosts[0].HitRate.Source = "", ""
	data, err := p.Encode()
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func FuzzTarget(f *testing.F) {
	for _, name := range TargetNames() {
		data, err := targetFiles.ReadFile("data/target-" + name + ".yaml")
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	ground, err := LoadProfile(DefaultProfile)
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		tg, err := ParseTarget("t.yaml", data)
		if err == nil {
			_, err = ground.For(tg)
		}
		if err != nil {
			if m := err.Error(); !strings.Contains(m, "t.yaml") && !strings.Contains(m, "target") || strings.Contains(m, "\n") {
				t.Fatalf("error is not one line about the file: %q", m)
			}
		}
	})
}

func FuzzLegend(f *testing.F) {
	files, err := filepath.Glob("data/legend-*.csv")
	if err != nil || len(files) == 0 {
		f.Fatalf("no legends to start from: %v", err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add([]byte("code,name,group,cover\n70000,far,wooded,0.5\n-3,near,water,\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := ParseLegend("l.csv", data)
		if err != nil {
			if m := err.Error(); !strings.HasPrefix(m, "l.csv") || strings.Contains(m, "\n") {
				t.Fatalf("error is not one line about the file: %q", m)
			}
			return
		}
		for _, c := range l.Classes {
			s, ok := l.Slot(c.Code)
			if back, known := l.Class(s); !ok || !known || back != c {
				t.Fatalf("code %d is in slot %d (%v), which holds %+v", c.Code, s, ok, back)
			}
		}
	})
}
