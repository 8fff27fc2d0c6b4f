package habitat

import (
	"regexp"
	"slices"
	"strings"
	"time"

	"rillwood/habitat/field"
)

const (
	// seenDigits of a record's id are kept: among the most records that are
	// listed, one more is taken for one of them with a chance of 1 in 200,000.
	seenDigits = 8
	// mostSeen bounds the list, so that a profile stays small enough to be read
	// back. Beyond it the day of the last record is all there is to go by.
	mostSeen = 20000
)

// LastDay is the day of the last record the posterior has learned from; zero
// without one.
func (p *Posterior) LastDay() time.Time {
	if p == nil {
		return time.Time{}
	}
	day, _ := time.Parse(time.DateOnly, p.Until) // the profile was checked
	return day
}

// holds gives a test for records that the posterior has learned from. A profile
// that lists them knows each, so that a notebook typed in late, or ground that
// lay outside the map before, is learned in its turn; where there is no list,
// and for records without an id, those up to the last day are in it.
func (p *Posterior) holds() func(field.Record) bool {
	last := p.LastDay()
	if last.IsZero() {
		return func(field.Record) bool { return false }
	}
	list := strings.Fields(p.Seen)
	seen := make(map[string]bool, len(list))
	for _, id := range list {
		seen[id] = true
	}
	return func(r field.Record) bool {
		if len(list) > 0 && len(r.ID) >= seenDigits {
			return seen[r.ID[:seenDigits]]
		}
		return !r.Date.After(last)
	}
}

// mark adds records to those the posterior has learned from. ids may be none:
// then only the day is known.
func (p *Posterior) mark(before *Posterior, d *fieldData) {
	p.Records = d.used
	last := d.last
	listed := true
	var ids []string
	if before != nil {
		p.Records += before.Records
		if day := before.LastDay(); day.After(last) {
			last = day
		}
		ids = strings.Fields(before.Seen)
		listed = before.Until == "" || len(ids) > 0
	}
	p.Until = last.Format(time.DateOnly)
	for _, id := range d.ids {
		listed = listed && len(id) >= seenDigits
		ids = append(ids, id[:min(len(id), seenDigits)])
	}
	slices.Sort(ids)
	ids = slices.Compact(ids)
	if listed && len(ids) <= mostSeen {
		p.Seen = strings.Join(ids, " ")
	}
}

var seenForm = regexp.MustCompile(`^([0-9a-f]{8}( [0-9a-f]{8})*)?$`)

func checkSeen(path, text string) error {
	if !seenForm.MatchString(text) {
		return wrong(path, "expected ids of records, %d digits each with a space between", seenDigits)
	}
	return nil
}
