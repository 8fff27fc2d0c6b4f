package terminal

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// NO_COLOR: the convention of no-color.org, "when present and not an empty
// string (regardless of its value)".
func TestColours(t *testing.T) {
	for _, c := range []struct {
		name, mode    string
		terminal      bool
		noColor, term string
		want          bool
	}{
		{"a terminal", "auto", true, "", "xterm", true},
		{"not said", "", true, "", "xterm", true},
		{"a file", "auto", false, "", "xterm", false},
		{"NO_COLOR", "auto", true, "1", "xterm", false},
		{"NO_COLOR=0 too", "auto", true, "0", "xterm", false},
		{"a dumb terminal", "auto", true, "", "dumb", false},
		{"a terminal of no kind", "auto", true, "", "", false},
		{"never", "never", true, "", "xterm", false},
		{"always, in a file", "always", false, "1", "dumb", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Setenv("NO_COLOR", c.noColor)
			t.Setenv("TERM", c.term)
			if got, err := Colours(c.mode, c.terminal); err != nil || got != c.want {
				t.Errorf("got %v, %v, want %v", got, err, c.want)
			}
		})
	}
	if _, err := Colours("blue", true); err == nil || !strings.Contains(err.Error(), `"blue"`) {
		t.Errorf("an unknown mode: %v", err)
	}
}

func TestPaint(t *testing.T) {
	if got := (Screen{}).Paint(Red, "closed"); got != "closed" {
		t.Errorf("without colour: %q", got)
	}
	on := Screen{Colour: true}
	if got := on.Paint(Red, "closed"); got != "\x1b[31mclosed\x1b[0m" { // SGR of ECMA-48
		t.Errorf("with colour: %q", got)
	}
	if on.Paint("", "x") != "x" || on.Paint(Red, "") != "" {
		t.Error("nothing to paint, or with nothing, is painted")
	}
}

func TestColumns(t *testing.T) {
	f, err := os.Create(filepath.Join(t.TempDir(), "f"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for env, want := range map[string]int{"": Standard, "40": 40, "200": 200, "0": Standard, "-3": Standard, "many": Standard} {
		t.Setenv("COLUMNS", env)
		if got := Columns(f); got != want {
			t.Errorf("COLUMNS=%q: %d, want %d", env, got, want)
		}
	}
	for columns, want := range map[int]int{0: 80, -1: 80, 10: 20, 40: 40, 80: 80, 300: 80} {
		if got := (Screen{Columns: columns}).Width(); got != want {
			t.Errorf("a screen of %d columns is set in %d, want %d", columns, got, want)
		}
	}
}
