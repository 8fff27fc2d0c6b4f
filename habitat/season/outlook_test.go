package season

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"image/color"
	"image/png"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rillwood/fixtures"
	"rillwood/habitat/weather"
	"rillwood/internal/terminal"
)

// invented is the invented county's station.
func invented(testing.TB) []byte { return fixtures.Weather(1) }

func inventedSeries(t testing.TB) *weather.Series {
	t.Helper()
	s, err := weather.Parse("weather.csv", invented(t), weather.NotTold)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func answer(t testing.TB, q Question) *Outlook {
	t.Helper()
	if q.Rule == nil {
		q.Rule = &winter
	}
	q.Target, q.Profile, q.Caution = "velvet foot, in winter", "mine", "A map says where to look."
	o, err := Answer(q)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// The season so far is that of the record as it was: nothing that came later
// tells, and what it says of a past day is what the whole record says.
func TestSoFar(t *testing.T) {
	s := inventedSeries(t)
	whole := answer(t, Question{Series: s, Year: new(int(2010))})
	cut := answer(t, Question{Series: s.Until(mustDay(t, "2011-01-15"))})
	if cut.Season.Label != "2010–11" || cut.Season.Over || !whole.Season.Over {
		t.Fatalf("season %s, over %v; whole over %v", cut.Season.Label, cut.Season.Over, whole.Season.Over)
	}
	n := 0
	for i, w := range cut.Season.Windows {
		if w.Open {
			continue
		}
		n++
		if d := cmp.Diff(whole.Season.Windows[i], w); d != "" {
			t.Errorf("window %d, later and then:\n%s", i, d)
		}
	}
	if n == 0 || len(whole.Season.Windows) <= n {
		t.Errorf("%d windows so far, %d in the whole season", n, len(whole.Season.Windows))
	}
	if cut.Season.Counts.Days != 31+30+31+15 {
		t.Errorf("%d days so far", cut.Season.Counts.Days)
	}
	if got := len(cut.Seasons); got != 16 || cut.Typical.Seasons != 15 {
		t.Errorf("%d seasons, %d complete before", got, cut.Typical.Seasons)
	}
}

// A forecast is judged like a record that goes on: the coming days are those
// that the later record has.
func TestForecastIsTheRecordGoingOn(t *testing.T) {
	s := inventedSeries(t)
	last := mustDay(t, "2011-02-10")
	o := answer(t, Question{Series: s.Until(last), Forecast: s.Until(last + 12)})
	later := Judge(s.Until(last+12), &winter)
	if len(o.Coming) != 12 {
		t.Fatalf("%d coming days", len(o.Coming))
	}
	for _, d := range o.Coming {
		if want := later.Good[d.Day-s.First]; d.Good != want {
			t.Errorf("%s is %s, want %s", d.Day, d.Good, want)
		}
		if (d.Good == No) != (len(d.Failing) > 0) {
			t.Errorf("%s is %s and fails %v", d.Day, d.Good, d.Failing)
		}
	}
	forecast := 0
	for _, w := range o.Season.Windows {
		forecast += w.Forecast
	}
	measured := answer(t, Question{Series: s.Until(last)})
	if forecast == 0 || o.Season.WindowDays != measured.Season.WindowDays || o.Typical.WindowDays != measured.Typical.WindowDays {
		t.Errorf("%d forecast days in windows; measured window days %d, without the forecast %d", forecast, o.Season.WindowDays, measured.Season.WindowDays)
	}
	if _, err := Answer(Question{Series: s, Rule: &winter, Forecast: s}); err == nil || !strings.Contains(err.Error(), "a forecast needs days after that") {
		t.Errorf("a forecast of the past: %v", err)
	}
}

// How the season stands beside others on the same day, counted anew: each other
// season's record is cut at that day.
func TestBesideOthers(t *testing.T) {
	s := inventedSeries(t)
	ties := 0
	for _, until := range []string{"2010-10-25", "2010-11-10", "2010-12-20", "2011-01-15", "2011-02-20"} {
		o := answer(t, Question{Series: s.Until(mustDay(t, until))})
		days := o.Season.Until - o.Season.First + 1
		in := inSpans(o.measured.Windows, o.measured.Series.Len())
		inside := func(year int) (n int) {
			first, _ := winter.bounds(year)
			for i, yes := range in {
				if d := o.measured.Series.First + weather.Day(i); yes && d >= first && d < first+days {
					n++
				}
			}
			return n
		}
		mine, fewer := inside(2010), 0
		for year := 1995; year < 2010; year++ {
			switch n := inside(year); {
			case n < mine:
				fewer++
			case n == mine:
				ties++
			}
		}
		if v := o.Season; v.Others != 15 || v.OthersLess != fewer || v.ToDate.Low > v.ToDate.Median || v.ToDate.Median > v.ToDate.High {
			t.Errorf("to %s: %d of %d had fewer than %d, want %d of 15; range %+v", until, v.OthersLess, v.Others, mine, fewer, v.ToDate)
		}
	}
	if ties == 0 {
		t.Error("no season had as many: whether that counts as fewer is not tested")
	}
}

func TestYearOutside(t *testing.T) {
	year := 1890
	_, err := Answer(Question{Series: inventedSeries(t), Rule: &winter, Year: &year})
	if err == nil || !strings.Contains(err.Error(), "seasons begin in 1995 to 2025") {
		t.Errorf("error %v", err)
	}
}

// Text keeps to 80 columns and JSON has no number that JSON cannot hold.
func TestTextAndJSON(t *testing.T) {
	s := inventedSeries(t)
	for name, q := range map[string]Question{
		"whole":     {Series: s},
		"forecast":  {Series: s.Until(mustDay(t, "2011-02-10")), Forecast: s.Until(mustDay(t, "2011-02-20"))},
		"one day":   {Series: record(t, "2024-01-01", "0 5")},
		"in spring": {Series: s, Rule: &spring},
		"south":     {Series: s, South: true},
		"no rain":   {Series: record(t, "2024-01-01", "0 5 - -", "0 5 - -")},
	} {
		t.Run(name, func(t *testing.T) {
			o := answer(t, q)
			text := o.Text()
			for line := range strings.Lines(text) {
				if w := terminal.Width(strings.TrimSuffix(line, "\n")); w > 80 {
					t.Errorf("%d columns: %s", w, line)
				}
			}
			for _, want := range []string{"assumption with no published source", "A map says where to look."} {
				if !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
					t.Errorf("the text does not say %q", want)
				}
			}
			data, err := json.Marshal(o)
			if err != nil || !json.Valid(data) {
				t.Fatal(err)
			}
			again := answer(t, q)
			if again.Text() != text {
				t.Error("asked twice, told differently")
			}
			for _, row := range strings.Split(strings.TrimSpace(string(o.Daily())), "\n") {
				if got, want := strings.Count(row, ","), 8+len(o.joined.Asked)+min(1, len(o.joined.Sum)); got != want {
					t.Errorf("%d commas, want %d: %s", got, want, row)
				}
			}
		})
	}
}

func TestStrip(t *testing.T) {
	s := inventedSeries(t)
	o := answer(t, Question{Series: s.Until(mustDay(t, "2011-02-10")), Forecast: s.Until(mustDay(t, "2011-02-20"))})
	o.Target = `a & b <script>` + "\x1b"
	first, err := o.Strip("png")
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(first))
	if err != nil {
		t.Fatal(err)
	}
	count := map[color.NRGBA]int{}
	b := img.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			count[color.NRGBAModel.Convert(img.At(x, y)).(color.NRGBA)]++
		}
	}
	for name, c := range map[string]color.NRGBA{"windows": windowColour, "forecast": forecastColour, "other days": otherColour} {
		if count[c] < 100 {
			t.Errorf("%s: %d dots of their colour", name, count[c])
		}
	}
	svg, err := o.Strip("svg")
	if err != nil {
		t.Fatal(err)
	}
	d := xml.NewDecoder(bytes.NewReader(svg))
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("the SVG is no XML: %v", err)
		}
		if e, ok := tok.(xml.StartElement); ok && e.Name.Local == "script" {
			t.Error("the target's name became an element")
		}
	}
	if !bytes.Contains(svg, []byte("<title>Good days for a &amp; b &lt;script&gt;")) {
		t.Error("no title in the SVG")
	}
	for format, was := range map[string][]byte{"png": first, "svg": svg} {
		if again, err := o.Strip(format); err != nil || !bytes.Equal(was, again) {
			t.Errorf("%s drawn twice is not the same: %v", format, err)
		}
	}
	if _, err := o.Strip("pdf"); err == nil {
		t.Error("a PDF was drawn")
	}
}

// Where each colour of the strip stands is what the judgement says.
func TestStripRuns(t *testing.T) {
	o := answer(t, Question{Series: record(t, "2024-02-27", "-1 5 9", "-1 5 9", "-1 5 9", "-1 20 9", "- - 9", "-1 5 9", "-1 5 0"),
		Forecast: record(t, "2024-03-05", "-1 5 0", "9 25 0")})
	s := &strip{o: o, slots: winter.slots()}
	first := winter.place(mustDay(t, "2024-02-27"))
	want := []colourRun{
		{0, first + 1, unknownColour},
		{first + 1, first + 3, windowColour},     // 28 and 29 February
		{first + 3, first + 4, otherColour},      // 1 March, too warm
		{first + 4, first + 6, unknownColour},    // 2 and 3 March: a value and the day after
		{first + 6, first + 7, windowColour},     // 4 March
		{first + 7, first + 8, forecastColour},   // 5 March
		{first + 8, first + 9, otherColour},      // 6 March
		{first + 9, len(s.slots), unknownColour}, // not reached
	}
	got := s.runs(2023, o.joined)
	if len(got) != len(want) {
		t.Fatalf("got %v", got)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("run %d: %v, want %v", i, got[i], want[i])
		}
	}
}
