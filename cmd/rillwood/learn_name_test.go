package main

import (
	"regexp"
	"strings"
	"testing"

	"rillwood/habitat"
)

// Whatever the file is called, the profile in it can be read back.
func TestProfileNameOfFile(t *testing.T) {
	form := regexp.MustCompile(`^[a-z][a-z0-9-]{0,39}$`)
	for _, c := range []struct{ file, want string }{
		{"/a/winter.yaml", "winter"},
		{"/a/My Creek_2026.yaml", "my-creek-2026"},
		{"2026.yaml", "learned-2026"},
		{"Überlauf.yaml", "berlauf"},
		{"雪.yaml", "learned"},
		{"a.b.yaml", "a-b"},
		{".yaml", "learned"},
		{habitat.DefaultProfile + ".yaml", "learned-" + habitat.DefaultProfile},
		{strings.Repeat("x", 39) + "-y.yaml", strings.Repeat("x", 39)},
	} {
		if got := profileNameOf(c.file); got != c.want || !form.MatchString(got) {
			t.Errorf("%s: %q, want %q", c.file, got, c.want)
		}
	}
}
