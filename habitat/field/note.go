package field

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// NoteHelp is the phone note convention, for people.
const NoteHelp = `A note is what you type into a waypoint's name or description:

  elm dead 12/1 ok 20min
  elm dead 12/1; cottonwood fallen 4/0; ash 0 -- flooded, north bank
  none 30min

  part         what it says                               in the table
  elm          the host: common, scientific or kin word   host
  none         no host tree of any kind here              host
  dead         alive, dying, dead, fallen (and the like)  condition
  12/1         trees looked at / trees with finds         inspected, found
  0            looked for, none of this host here         inspected 0
  ok, no, ?    spore print: yes it is, no it is not,      confirmed
               not made yet
  20min, 1h30  time at the stop, told once                minutes
  #7           candidate 7 of the run                     candidate
  ±8m          how good the position is                   accuracy_m
  2026-01-31   the day, where the waypoint has no time    date
  -- words     a remark, to the end of the row            note

The order is free, the host first. A semicolon begins the next row.
`

// maxNoteRows is how many rows one note may hold.
const maxNoteRows = 50

var (
	countForm    = regexp.MustCompile(`^(\d{1,6})/(\d{1,6})$`)
	minutesForm  = regexp.MustCompile(`^(\d{1,4}(?:\.\d)?)(?:min|mins|minutes|')$`)
	hoursForm    = regexp.MustCompile(`^(\d{1,2}(?:\.\d{1,2})?)h(?:(\d{1,2})(?:min)?)?$`)
	rankForm     = regexp.MustCompile(`^#(\d{1,6})$`)
	accuracyForm = regexp.MustCompile(`^(?:±|\+-|\+/-)(\d{1,5}(?:\.\d)?)m?$`)
)

// ParseNote reads a note: one record for each row in it, without place or,
// unless the note names it, date. What is told once for the stop (date, candidate,
// accuracy, minutes) holds for all its rows, the minutes on the first.
func ParseNote(text string, v *Vocabulary) ([]Record, error) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == '\n' })
	var out []Record
	for _, part := range parts {
		if Clean(part) == "" {
			continue
		}
		if len(out) == maxNoteRows {
			return nil, fmt.Errorf("more than %d rows in one note", maxNoteRows)
		}
		r, err := noteRow(Clean(part), v)
		if err != nil {
			if len(parts) > 1 {
				return nil, fmt.Errorf("row %d of the note: %w", len(out)+1, err)
			}
			return nil, err
		}
		out = append(out, r)
	}
	if len(out) == 0 {
		return nil, errors.New("an empty note")
	}
	return out, shareStop(out)
}

// shareStop spreads what holds for the whole stop.
func shareStop(rows []Record) error {
	first := &rows[0]
	for i := range rows {
		r := &rows[i]
		if i > 0 && r.Minutes > 0 && first.Minutes == 0 {
			first.Minutes, r.Minutes = r.Minutes, 0
		}
		if !r.Date.IsZero() && !first.Date.IsZero() && !r.Date.Equal(first.Date) {
			return fmt.Errorf("two dates in one note, %s and %s", first.Day(), r.Day())
		}
		if r.Candidate > 0 && first.Candidate > 0 && r.Candidate != first.Candidate {
			return fmt.Errorf("two candidates in one note, #%d and #%d", first.Candidate, r.Candidate)
		}
		if first.Date.IsZero() {
			first.Date = r.Date
		}
		first.Candidate, first.AccuracyM = max(first.Candidate, r.Candidate), max(first.AccuracyM, r.AccuracyM)
	}
	for i := range rows {
		rows[i].Date, rows[i].Candidate, rows[i].AccuracyM = first.Date, first.Candidate, first.AccuracyM
	}
	return nil
}

// noteRow reads one row: the longest host name first, then words in any order.
func noteRow(text string, v *Vocabulary) (Record, error) {
	said, remark, _ := strings.Cut(" "+text+" ", " -- ")
	words := strings.Fields(said)
	r := Record{Note: strings.TrimSpace(remark)}
	n := 0
	for k := min(len(words), 4); k > 0 && n == 0; k-- {
		if id, ok := v.host(strings.Join(words[:k], " ")); ok {
			r.Host, n = id, k
		}
	}
	if n == 0 {
		if len(words) == 0 {
			return r, errors.New("a remark without a host; write the host first, as in: elm dead 12/1")
		}
		_, err := v.Host(words[0])
		return r, fmt.Errorf("host: %w", err)
	}
	seen := map[string]bool{}
	for i := n; i < len(words); i++ {
		// "dead standing" and "dead fallen" are two words for one condition.
		if i+1 < len(words) {
			if c, ok := conditionWords[plain(words[i]+" "+words[i+1])]; ok {
				if seen["condition"] {
					return r, fmt.Errorf("%q: a second condition in one row", words[i]+" "+words[i+1])
				}
				r.Condition, seen["condition"] = c, true
				i++
				continue
			}
		}
		what, err := r.takeWord(words[i])
		if err != nil {
			return r, err
		}
		if what != "" && seen[what] {
			return r, fmt.Errorf("%q: a second %s in one row; a semicolon begins another", clipped(words[i]), what)
		}
		seen[what] = true
	}
	if r.Host != NoHost && !seen["count"] {
		return r, fmt.Errorf("%q: no count; write trees looked at / trees with finds, as in 12/1, or 0 for none there", clipped(said))
	}
	return r, nil
}

// takeWord reads one word after the host and names what it told.
func (r *Record) takeWord(w string) (what string, err error) {
	low := strings.ToLower(w)
	if m := countForm.FindStringSubmatch(low); m != nil {
		r.Inspected, _ = strconv.Atoi(m[1])
		r.Found, _ = strconv.Atoi(m[2])
		return "count", nil
	}
	if low == "0" || low == NoHost {
		return "count", nil
	}
	if m := minutesForm.FindStringSubmatch(low); m != nil {
		r.Minutes, _ = strconv.ParseFloat(m[1], 64)
		return "time", nil
	}
	if m := hoursForm.FindStringSubmatch(low); m != nil {
		h, _ := strconv.ParseFloat(m[1], 64)
		extra := 0.0
		if m[2] != "" {
			extra, _ = strconv.ParseFloat(m[2], 64)
		}
		r.Minutes = math.Round(10*(60*h+extra)) / 10
		return "time", nil
	}
	if m := rankForm.FindStringSubmatch(low); m != nil {
		if r.Candidate, _ = strconv.Atoi(m[1]); r.Candidate == 0 {
			return "", fmt.Errorf("%q: candidates are counted from 1", w)
		}
		return "candidate", nil
	}
	if m := accuracyForm.FindStringSubmatch(low); m != nil {
		r.AccuracyM, _ = strconv.ParseFloat(m[1], 64)
		return "accuracy", nil
	}
	if d, err := time.Parse(time.DateOnly, low); err == nil {
		r.Date = d
		return "date", nil
	}
	if c, ok := conditionWords[plain(low)]; ok {
		r.Condition = c
		return "condition", nil
	}
	if c, ok := confirmedWords[low]; ok {
		r.Confirmed = c
		return "confirmed", nil
	}
	if low == "?" {
		return "confirmed", nil
	}
	if _, err := strconv.Atoi(low); err == nil {
		return "", fmt.Errorf("%q: a single number; write trees looked at / trees with finds, as in %s/0", w, low)
	}
	known := make([]string, 0, len(conditionWords)+len(confirmedWords))
	for k := range conditionWords {
		known = append(known, k)
	}
	for k := range confirmedWords {
		known = append(known, k)
	}
	return "", fmt.Errorf("%q is not understood; %s", clipped(w), nearest(w, known, "put remarks after --"))
}

// looksLikeNote tells whether a text was meant as a note: it holds a count, or
// begins with a host word and goes on with something of the convention or with
// a figure. "Elm Street" is a place.
func looksLikeNote(text string, v *Vocabulary) bool {
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == '\n' }) {
		said, _, _ := strings.Cut(" "+Clean(part)+" ", " -- ")
		words := strings.Fields(said)
		host := 0
		for k := 1; k <= min(4, len(words)); k++ {
			if id, ok := v.host(strings.Join(words[:k], " ")); ok {
				host = k
				if k == len(words) && id == NoHost {
					return true
				}
			}
		}
		for i, w := range words {
			if countForm.MatchString(w) {
				return true
			}
			if host == 0 || i < host {
				continue
			}
			if _, known := conditionWords[plain(w)]; known || strings.ContainsAny(w, "0123456789") || plain(w) == NoHost {
				return true
			}
		}
	}
	return false
}
