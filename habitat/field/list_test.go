package field

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Counted by hand.
func TestCount(t *testing.T) {
	rows := trip() // 2025-11-22: a elm 12/1, a ash 4/0, b elm absent by @AB, c elm 1/0 twice
	rows[0].Confirmed, rows[0].Minutes = "yes", 61
	rows = append(rows, Record{Date: day("2026-01-31"), Lon: -87, Lat: 43, Host: "green-ash", Inspected: 5, Found: 3, Confirmed: "no", Stop: "a", Flags: []string{FlagNotThis}},
		Record{Date: day("2026-01-31"), Lon: -87, Lat: 43, Host: "green-ash", Inspected: 2, Found: 2, Stop: "a", Flags: []string{FlagUnconfirmed}})
	got := Count(rows)
	want := Tally{Rows: 7, Trips: 3, Stops: 4, First: "2025-11-22", Last: "2026-01-31", Minutes: 61, Trees: 25, Finds: 6, Confirmed: 1, Refuted: 3,
		Hosts: []HostTally{{"american-elm", 3, 1, 14, 1, 1}, {"green-ash", 2, 0, 11, 5, 0}},
		Flags: []FlagTally{{FlagNotThis, 1}, {FlagUnconfirmed, 1}}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	got.Hosts[0].Host = strings.Repeat("é", 40)
	got.Flags[0].Flag = strings.Repeat("é", 90)
	text := got.Text()
	for line := range strings.Lines(text) {
		if n := len([]rune(strings.TrimSuffix(line, "\n"))); n > 80 {
			t.Errorf("%d columns: %s", n, line)
		}
	}
	for _, s := range []string{"3 trips, 4 stops, 7 rows", "1 h 01 min", "1 of these confirmed by spore print, 3 not it, 2 not confirmed", SafetyLine} {
		if !strings.Contains(text, s) {
			t.Errorf("no %q in\n%s", s, text)
		}
	}
	if Count(nil).Text() != "No records yet.\n" {
		t.Error("an empty store")
	}
	for line := range strings.Lines(NoteHelp) {
		if len([]rune(line)) > 81 {
			t.Errorf("too wide: %s", line)
		}
	}
}

func TestHostWords(t *testing.T) {
	for word, want := range map[string]string{
		"american-elm": "american-elm", "American Elm": "american-elm", "AMERICAN_ELM": "american-elm", "ulmus americana": "american-elm", "Ulmus": "american-elm",
		"elm": "american-elm", "elms": "american-elm", "poplar": "eastern-cottonwood", "cottonwood": "eastern-cottonwood", "ashes": "green-ash", "ash": "green-ash",
		"white ash": "white-ash", "Acer": "boxelder", "sycamores": "sycamore", "none": NoHost, "no host": NoHost, "other": "", "oak": "", "": "", "s": "", "es": "",
	} {
		got, err := vocabulary.Host(word)
		if got != want || (err == nil) != (want != "") {
			t.Errorf("%q: %q, %v; want %q", word, got, err, want)
		}
	}
}
