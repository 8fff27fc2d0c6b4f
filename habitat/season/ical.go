package season

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"rillwood/habitat/weather"
)

// foldAt is the most octets of a line before its CRLF (RFC 5545, 3.1).
const foldAt = 75

// ICal writes the season's windows, those of the forecast and the usual best
// stretches as a calendar of all-day events (RFC 5545). Cautions stand in each
// description. The stamp is the record's last day and names of events hang on
// station, profile and day, so that the same record gives the same bytes and a
// window that grew takes the place of its earlier self.
func (o *Outlook) ICal(cautions []string) []byte {
	c := &calendar{o: o, cautions: cautions}
	c.line("BEGIN", "VCALENDAR")
	c.line("VERSION", "2.0")
	c.line("PRODID", "-//Rillwood//Season outlook//EN")
	c.line("CALSCALE", "GREGORIAN")
	for _, w := range o.Season.Windows {
		kind, status, name := "window", "CONFIRMED", "Good days for "
		told := "By measured weather."
		switch {
		case w.Forecast == w.Days:
			status, name, told = "TENTATIVE", "Good days by forecast for ", "By the forecast."
		case w.Forecast > 0:
			status, told = "TENTATIVE", fmt.Sprintf("The last %s by the forecast.", plural(w.Forecast, "day"))
		}
		c.event(kind, status, name+o.Target, w.First, w.Last,
			fmt.Sprintf("%d of %s good, %.1f to %.1f °C, %s. %s", w.Good, plural(w.Days, "day"), w.LowC, w.HighC, rainWords(w.RainMM), told))
	}
	if !o.Typical.Few {
		for _, s := range o.Typical.Best {
			first, ok1 := o.Rule.dayOf(o.nextYear(), s.First)
			last, ok2 := o.Rule.dayOf(o.nextYear(), s.Last)
			if !ok1 {
				first, _ = o.Rule.dayOf(o.nextYear(), slot{s.First.month, s.First.day - 1})
			}
			if !ok2 {
				last, _ = o.Rule.dayOf(o.nextYear(), slot{s.Last.month, s.Last.day - 1})
			}
			c.event("usual", "TENTATIVE", "Usually the best weeks for "+o.Target, first, last,
				fmt.Sprintf("In %d seasons %.0f of 100 days in these weeks lay in a window.", o.Typical.Seasons, 100*s.Share))
		}
	}
	c.line("END", "VCALENDAR")
	return []byte(c.b.String())
}

// nextYear is the season that usual weeks are shown in: the one shown, or when
// that is over the next.
func (o *Outlook) nextYear() int {
	if o.Season.Over {
		return o.Season.Year + 1
	}
	return o.Season.Year
}

type calendar struct {
	o        *Outlook
	cautions []string
	b        strings.Builder
}

// event writes one all-day event; DTEND is the day after the last.
func (c *calendar) event(kind, status, summary string, first, last weather.Day, told string) {
	o := c.o
	c.line("BEGIN", "VEVENT")
	id := sha256.Sum256([]byte(strings.Join([]string{"1", kind, o.Station.ID, o.Station.Format, o.Station.First.String(), o.Profile, first.String()}, "\n")))
	c.line("UID", hex.EncodeToString(id[:12])+"@season.rillwood.invalid")
	c.line("DTSTAMP", compact(o.Station.Last)+"T000000Z")
	c.line("DTSTART;VALUE=DATE", compact(first))
	c.line("DTEND;VALUE=DATE", compact(last+1))
	c.text("SUMMARY", summary)
	c.text("DESCRIPTION", strings.Join(append([]string{told, o.Assumption}, c.cautions...), "\n"))
	c.line("STATUS", status)
	c.line("TRANSP", "TRANSPARENT")
	c.line("END", "VEVENT")
}

func compact(d weather.Day) string { return strings.ReplaceAll(d.String(), "-", "") }

// text writes a property of value type TEXT (RFC 5545, 3.3.11): what has a
// meaning of its own is escaped, other control characters are left out.
func (c *calendar) text(name, value string) {
	var b strings.Builder
	for _, r := range strings.ToValidUTF8(value, "\uFFFD") {
		switch {
		case r == '\\' || r == ';' || r == ',':
			b.WriteRune('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case !unicode.IsControl(r):
			b.WriteRune(r)
		}
	}
	c.line(name, b.String())
}

// line folds after at most 75 octets, never inside a character; lines that go
// on begin with a blank, which counts.
func (c *calendar) line(name, value string) {
	text := name + ":" + value
	for room := foldAt; len(text) > room; room = foldAt - 1 {
		cut := room
		for !utf8.RuneStart(text[cut]) {
			cut--
		}
		c.b.WriteString(text[:cut] + "\r\n ")
		text = text[cut:]
	}
	c.b.WriteString(text + "\r\n")
}

func rainWords(mm *float64) string {
	if mm == nil {
		return "rain not measured"
	}
	return fmt.Sprintf("%.1f mm of rain", *mm)
}
