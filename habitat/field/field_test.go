package field

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rillwood/raster"
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(appendForever); dir != "" {
		keepAppending(dir)
	}
	if err := raster.Setup(); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

// hosts is a vocabulary as the built-in profile has it, in part.
var hosts = []Host{
	{"american-elm", "American elm", "Ulmus americana", "elm"},
	{"slippery-elm", "slippery elm", "Ulmus rubra", "elm"},
	{"eastern-cottonwood", "eastern cottonwood", "Populus deltoides", "poplar"},
	{"black-willow", "black willow", "Salix nigra", "willow"},
	{"green-ash", "green ash", "Fraxinus pennsylvanica", "ash"},
	{"white-ash", "white ash", "Fraxinus americana", "ash"},
	{"boxelder", "boxelder", "Acer negundo", "maple"},
	{"sycamore", "sycamore", "Platanus occidentalis", "other"},
}

var vocabulary = NewVocabulary(hosts)

func options() Options {
	return Options{Vocabulary: vocabulary, Today: day("2026-03-01")}
}

func day(s string) time.Time {
	d, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return d
}

// row is a plain record of the invented county.
func row(stop string, inspected, found int) Record {
	return Record{Date: day("2025-11-22"), Lon: -87.02, Lat: 43.31, Host: "american-elm", Condition: DeadStanding, Inspected: inspected, Found: found, Stop: stop}
}

func write(t testing.TB, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// mustParse reads a table that has nothing wrong in it.
func mustParse(t testing.TB, text string, o Options) *Import {
	t.Helper()
	in, err := ParseCSV("trip.csv", []byte(text), o)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range in.Problems {
		t.Errorf("unexpected: %v", p)
	}
	return in
}

func holds(t testing.TB, what, text string, parts ...string) {
	t.Helper()
	for _, p := range parts {
		if !strings.Contains(text, p) {
			t.Errorf("%s: %q does not say %q", what, text, p)
		}
	}
	if strings.ContainsAny(text, "\n\r") {
		t.Errorf("%s: more than one line: %q", what, text)
	}
}
