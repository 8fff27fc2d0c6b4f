package season

import (
	"bytes"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"

	"rillwood/habitat/weather"
)

// icalEvent is one event as a strict reader of RFC 5545 sees it.
type icalEvent map[string]string

var (
	contentLine = regexp.MustCompile(`^([A-Z-]+)((?:;[A-Z-]+=[^":;,]+)*):(.*)$`)
	dateOnly    = regexp.MustCompile(`^\d{8}$`)
	dateTime    = regexp.MustCompile(`^\d{8}T\d{6}Z$`)
)

// readICal demands what RFC 5545 does of the lines (3.1), the calendar (3.6)
// and an event (3.6.1): CRLF, 75 octets, folding between characters, one value
// of what may come once, everything nested, no bare ; or , in text (3.3.11).
func readICal(t testing.TB, data []byte) []icalEvent {
	t.Helper()
	if !utf8.Valid(data) || !bytes.HasSuffix(data, []byte("\r\n")) {
		t.Fatal("not UTF-8, or the last line does not end")
	}
	var lines []string
	for i, raw := range strings.Split(strings.TrimSuffix(string(data), "\r\n"), "\r\n") {
		if len(raw) > 75 || !utf8.ValidString(raw) || strings.ContainsAny(raw, "\r\n") {
			t.Fatalf("line %d: %d octets: %q", i+1, len(raw), raw)
		}
		if rest, folded := strings.CutPrefix(raw, " "); folded {
			lines[len(lines)-1] += rest
		} else {
			lines = append(lines, raw)
		}
	}
	var events []icalEvent
	var open []string
	calendar := icalEvent{}
	for _, line := range lines {
		m := contentLine.FindStringSubmatch(line)
		if m == nil {
			t.Fatalf("no content line: %q", line)
		}
		name, value := m[1], m[3]
		switch name {
		case "BEGIN":
			open = append(open, value)
			if value == "VEVENT" {
				events = append(events, icalEvent{})
			}
			continue
		case "END":
			if len(open) == 0 || open[len(open)-1] != value {
				t.Fatalf("END:%s inside %v", value, open)
			}
			open = open[:len(open)-1]
			continue
		}
		into := calendar
		if open[len(open)-1] == "VEVENT" {
			into = events[len(events)-1]
		}
		if _, twice := into[name]; twice {
			t.Fatalf("%s twice", name)
		}
		if name == "SUMMARY" || name == "DESCRIPTION" {
			value = unescape(t, value)
		}
		into[name] = value
		into[name+" parameters"] = m[2]
	}
	if len(open) > 0 || calendar["VERSION"] != "2.0" || calendar["PRODID"] == "" || calendar["CALSCALE"] != "GREGORIAN" {
		t.Fatalf("calendar %v, left open %v", calendar, open)
	}
	seen := map[string]bool{}
	for _, e := range events {
		if e["UID"] == "" || seen[e["UID"]] || !dateTime.MatchString(e["DTSTAMP"]) || e["SUMMARY"] == "" {
			t.Fatalf("event %v", e)
		}
		seen[e["UID"]] = true
		for _, n := range []string{"DTSTART", "DTEND"} {
			if e[n+" parameters"] != ";VALUE=DATE" || !dateOnly.MatchString(e[n]) {
				t.Fatalf("%s%s:%s", n, e[n+" parameters"], e[n])
			}
		}
		if e["DTEND"] <= e["DTSTART"] {
			t.Fatalf("from %s to %s", e["DTSTART"], e["DTEND"])
		}
		if s := e["STATUS"]; s != "CONFIRMED" && s != "TENTATIVE" {
			t.Fatalf("status %q", s)
		}
	}
	return events
}

func unescape(t testing.TB, v string) string {
	t.Helper()
	var b strings.Builder
	for i := 0; i < len(v); i++ {
		switch c := v[i]; {
		case c == '\\':
			i++
			if i == len(v) || !strings.ContainsRune(`\;,nN`, rune(v[i])) {
				t.Fatalf("escape at the end, or of nothing: %q", v)
			}
			if v[i] == 'n' || v[i] == 'N' {
				b.WriteByte('\n')
			} else {
				b.WriteByte(v[i])
			}
		case c == ';' || c == ',' || c < ' ':
			t.Fatalf("bare %q in %q", c, v)
		default:
			b.WriteByte(c)
		}
	}
	return b.String()
}

func TestICal(t *testing.T) {
	s := inventedSeries(t)
	o := answer(t, Question{Series: s.Until(mustDay(t, "2011-02-10")), Forecast: s.Until(mustDay(t, "2011-02-20"))})
	cautions := []string{"A deadly twin: it grows, on the same log; \\ never eat", "Dead trees fall"}
	data := o.ICal(cautions)
	events := readICal(t, data)
	if len(events) != len(o.Season.Windows)+len(o.Typical.Best) || len(o.Typical.Best) == 0 {
		t.Fatalf("%d events of %d windows and %d usual stretches", len(events), len(o.Season.Windows), len(o.Typical.Best))
	}
	tentative := 0
	for i, w := range o.Season.Windows {
		e := events[i]
		end, err := time.Parse("20060102", e["DTEND"])
		if err != nil || weather.DayAt(end) != w.Last+1 || e["DTSTART"] != compact(w.First) {
			t.Errorf("window %s to %s: %s to %s", w.First, w.Last, e["DTSTART"], e["DTEND"])
		}
		if (w.Forecast > 0) != (e["STATUS"] == "TENTATIVE") {
			t.Errorf("%d forecast days, %s", w.Forecast, e["STATUS"])
		}
		if w.Forecast > 0 {
			tentative++
		}
		for _, c := range append(cautions, Assumption) {
			if !strings.Contains(e["DESCRIPTION"], c) {
				t.Errorf("the description lacks %q: %q", c, e["DESCRIPTION"])
			}
		}
		if e["SUMMARY"] != "Good days for velvet foot, in winter" && w.Forecast < w.Days {
			t.Errorf("summary %q", e["SUMMARY"])
		}
		if e["DTSTAMP"] != "20110210T000000Z" {
			t.Errorf("stamp %s", e["DTSTAMP"])
		}
	}
	if tentative == 0 {
		t.Error("no window by the forecast: the case tests nothing")
	}
	if !bytes.Equal(data, o.ICal(cautions)) {
		t.Error("written twice, other bytes")
	}
	// The same window a day later keeps its name.
	grown := answer(t, Question{Series: s.Until(mustDay(t, "2011-02-11"))})
	if again := readICal(t, grown.ICal(nil)); again[0]["UID"] != events[0]["UID"] {
		t.Error("a day later the first window has another name")
	}
}

// Whatever text goes in comes out, less control characters.
func TestICalTextRoundTrip(t *testing.T) {
	o := answer(t, Question{Series: record(t, "2024-01-01", "-1 5 9", "-1 5 9", "-1 5 9")})
	if len(o.Season.Windows) != 1 {
		t.Fatalf("%d windows", len(o.Season.Windows))
	}
	rapid.Check(t, func(rt *rapid.T) {
		text := rapid.StringOfN(rapid.RuneFrom([]rune("aé€😀;,:\\\"\n\r\t\x00 n")), 0, 300, -1).Draw(rt, "text")
		o.Target = text
		e := readICal(t, o.ICal([]string{text}))[0]
		want := strings.Map(func(r rune) rune {
			if r < ' ' && r != '\n' {
				return -1
			}
			return r
		}, text)
		if e["SUMMARY"] != "Good days for "+want || !strings.HasSuffix(e["DESCRIPTION"], "\n"+want) {
			rt.Fatalf("in %q, out %q", want, e["SUMMARY"])
		}
	})
}
