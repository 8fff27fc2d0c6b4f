package field

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestParseNote(t *testing.T) {
	elm := Record{Host: "american-elm", Condition: DeadStanding, Inspected: 12, Found: 1}
	with := func(change func(*Record)) Record {
		r := elm
		change(&r)
		return r
	}
	for text, want := range map[string][]Record{
		"elm dead 12/1":                    {elm},
		"Elm DEAD-standing 12/1":           {elm},
		"american  elm dead standing 12/1": {elm},
		"Ulmus americana 12/1 snag":        {elm},
		"elms dead 12/1 ok 20min":          {with(func(r *Record) { r.Confirmed, r.Minutes = "yes", 20 })},
		"elm dead 12/1 no 1h30":            {with(func(r *Record) { r.Confirmed, r.Minutes = "no", 90 })},
		"elm dead 12/1 ? 0.5h":             {with(func(r *Record) { r.Minutes = 30 })},
		"elm dead 12/1 #7 ±8m 2026-01-31": {with(func(r *Record) {
			r.Candidate, r.AccuracyM, r.Date = 7, 8, day("2026-01-31")
		})},
		"elm dead 12/1 -- by the dead ford 3/4": {with(func(r *Record) { r.Note = "by the dead ford 3/4" })},
		"elm 0":                                 {{Host: "american-elm"}},
		"elm none":                              {{Host: "american-elm"}},
		"none 30 min":                           nil,
		"none 30min":                            {{Host: NoHost, Minutes: 30}},
		"slippery elm fallen 2/0":               {{Host: "slippery-elm", Condition: Fallen, Inspected: 2}},
		"elm dead 12/1; cottonwood down 4/0 #3; ash 0 20min": {
			with(func(r *Record) { r.Candidate, r.Minutes = 3, 20 }),
			{Host: "eastern-cottonwood", Condition: Fallen, Inspected: 4, Candidate: 3},
			{Host: "green-ash", Candidate: 3}},
	} {
		got, err := ParseNote(text, vocabulary)
		if want == nil {
			if err == nil {
				t.Errorf("%q: read as %+v", text, got)
			}
			continue
		}
		if err != nil {
			t.Errorf("%q: %v", text, err)
		} else if diff := cmp.Diff(want, got, ignore); diff != "" {
			t.Errorf("%q:\n%s", text, diff)
		}
	}
}

func TestNotesThatAreRefused(t *testing.T) {
	for text, says := range map[string]string{
		"":                                     "empty note",
		"elm":                                  "no count",
		"elm ded 3/1":                          `did you mean "dead"?`,
		"alm dead 3/1":                         `did you mean "elm"?`,
		"oak dead 3/1":                         "its hosts are american-elm",
		"elm 3/1 4/1":                          "a second count",
		"elm dead alive 3/1":                   "a second condition",
		"elm 12":                               "12/0",
		"elm 3/1 2026-01-30; ash 0 2026-01-31": "two dates",
		"elm 3/1 #1; ash 0 #2":                 "two candidates",
		"elm 3/1; birch 2/0":                   "row 2 of the note",
		"elm 3/1 by the ford":                  "remarks after --",
	} {
		_, err := ParseNote(text, vocabulary)
		if err == nil {
			t.Errorf("%q: no error", text)
			continue
		}
		holds(t, text, err.Error(), says)
	}
}

func TestPlacesAreNoNotes(t *testing.T) {
	for text, want := range map[string]bool{
		"Elm Street": false, "parking": false, "Ash Creek lot": false, "": false, "dead end": false,
		"elm dead": true, "elm 12-1": true, "none": true, "oak 3/1": true, "elm dead 12/1": true, "gate\nelm 3/1": true,
	} {
		if got := looksLikeNote(text, vocabulary); got != want {
			t.Errorf("%q: %v, want %v", text, got, want)
		}
	}
}

// Whatever is read of a note keeps to what a record may hold, and is read
// again from the words it is exported in.
func FuzzParseNote(f *testing.F) {
	for _, s := range []string{"elm dead 12/1 ok 20min", "elm 3/1; ash 0 -- x", "none 1h30", "slippery elm fallen 2/0 #4 ±8m 2026-01-31", "elm -- -- 3/1", ";;\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		looksLikeNote(text, vocabulary)
		rows, err := ParseNote(text, vocabulary)
		if err != nil {
			holds(t, "error", err.Error())
			return
		}
		if len(rows) == 0 || len(rows) > maxNoteRows {
			t.Fatalf("%d rows", len(rows))
		}
		for _, r := range rows {
			if r.Host == "" || r.Inspected < 0 || r.Found < 0 || r.Minutes < 0 || r.AccuracyM < 0 {
				t.Fatalf("%+v", r)
			}
			if r.Host == NoHost && r.Inspected+r.Found > 0 {
				continue // refused when the row is checked
			}
			r.settle()
			again, err := ParseNote(rowText(r, Record{}), vocabulary)
			if err != nil {
				t.Fatalf("%q: %v", rowText(r, Record{}), err)
			}
			b := again[0]
			b.Date, b.Note = r.Date, r.Note
			if b.settle(); b.Stop != r.Stop || !b.same(r) {
				t.Fatalf("%+v became %+v by %q", r, b, rowText(r, Record{}))
			}
		}
	})
}
