package pack

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"
)

func TestReadmeGolden(t *testing.T) {
	run := madeRun(t)
	path := filepath.Join(t.TempDir(), readmeName)
	if err := os.WriteFile(path, []byte(readme(run, all(run), []string{readmeName, waypointsName, sheetsName, csvName, gpkgName, styleName})), 0o644); err != nil {
		t.Fatal(err)
	}
	golden(t, path)
	text := read(t, path)
	if strings.Contains(text, overviewName) {
		t.Error("it tells of a picture that is not in the pack")
	}
	folded := strings.Join(strings.Fields(text), " ")
	for _, c := range run.Cautions {
		if !strings.Contains(folded, c.Title+": "+c.Text) {
			t.Errorf("caution %q is missing", c.Key)
		}
	}
	for _, k := range columns(run) {
		if !strings.Contains(folded, k.name+",") && !strings.Contains(folded, k.name+":") {
			t.Errorf("column %s is not explained", k.name)
		}
	}
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		if n := len([]rune(line)); n > 78 || strings.ContainsFunc(line, unicode.IsControl) {
			t.Errorf("%d characters, or one that controls: %q", n, line)
		}
	}
}

func TestSentences(t *testing.T) {
	for _, c := range []struct {
		in   []string
		want string
	}{
		{[]string{"one", "", "two.", "  ", "three!"}, "One. Two. Three!"},
		{nil, ""},
		{[]string{"élan"}, "Élan."},
		{[]string{"a\nb\x00"}, "A b."},
	} {
		if got := sentences(c.in...); got != c.want {
			t.Errorf("%q: %q, want %q", c.in, got, c.want)
		}
	}
}
