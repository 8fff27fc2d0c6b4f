package weather

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func parse(t testing.TB, text string, told Units) *Series {
	t.Helper()
	s, err := Parse("w", []byte(text), told)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// same compares values, missing ones alike.
func same(a, b float64) bool { return a == b || a != a && b != b }

// A month line as the GHCN-Daily readme lays it out: value, measurement,
// quality and source flag for each day.
const dlySample = "USC00369999202401TMAX  -11  0   22  0-9999     450 G0-9999   \n" +
	"USC00369999202401TMIN  -50  0  -22  0-9999    -100  0-9999   \n" +
	"USC00369999202401PRCP    0T 0    0P 0   25  0-9999    254 X0\n"

func TestDly(t *testing.T) {
	s := parse(t, dlySample, NotTold)
	nan := math.NaN()
	for e, want := range map[Element][]float64{
		Tmax:   {-1.1, 2.2, nan, nan, nan},
		Tmin:   {-5, -2.2, nan, -10, nan},
		Precip: {0, 0, 2.5, nan, nan},
		Depth:  {nan, nan, nan, nan, nan},
	} {
		for i, v := range want {
			if got := s.Values[e][i]; !same(got, v) {
				t.Errorf("%s of day %d: %g, want %g", e, i+1, got, v)
			}
		}
	}
	if s.First.String() != "2024-01-01" || s.Len() != 31 || s.Station != "USC00369999" {
		t.Errorf("from %s, %d days, station %s", s.First, s.Len(), s.Station)
	}
	want := Tally{Element: Tmax, Known: 2, Missing: 29, Failed: 1}
	if got := s.Account.Elements[Tmax]; got != want {
		t.Errorf("account %+v, want %+v", got, want)
	}
	if p := s.Account.Elements[Precip]; p.Trace != 1 || p.PresumedNil != 1 || p.Failed != 1 || p.Known != 3 {
		t.Errorf("account of rain: %+v", p)
	}
}

// The same days by station, line for line, give the same record.
func TestByStationIsDly(t *testing.T) {
	text := `USC00369999,20240101,TMAX,-11,,,0,
USC00369999,20240101,TMIN,-50,,,0,
USC00369999,20240102,TMAX,22,,,0,0700
USC00369999,20240104,TMAX,50,,G,0,
USC00369999,20240102,TMIN,-22,,,0,
USC00369999,20240104,TMIN,-100,,,0,
USC00369999,20240101,PRCP,0,T,,0,
USC00369999,20240102,PRCP,0,P,,0,
USC00369999,20240103,PRCP,25,,,0,
USC00369999,20240105,PRCP,54,,X,0,
USC00369999,20240103,WT01,1,,,0,
`
	a, b := parse(t, dlySample, NotTold), parse(t, text, NotTold)
	for e := range a.Values {
		for i := range 5 {
			if !same(a.Values[e][i], b.Values[e][i]) {
				t.Errorf("%s of day %d: .dly %g, by station %g", Element(e), i+1, a.Values[e][i], b.Values[e][i])
			}
		}
	}
	headed := parse(t, "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n"+text, NotTold)
	if headed.Len() != b.Len() || b.Len() != 5 {
		t.Errorf("with a heading %d days, without %d, want 5", headed.Len(), b.Len())
	}
}

// One day in every way of writing: 32 and 50 °F are 0 and 10 °C, half an inch
// is 12.7 mm.
func TestTableUnits(t *testing.T) {
	for _, c := range []struct {
		name, text string
		told       Units
		says       string
	}{
		{"us told", "date,TMAX,TMIN,PRCP,SNWD\n2024-01-01,50,32,0.5,2\n", US, "°F, inches (told)"},
		{"metric told", "date,TMAX,TMIN,PRCP,SNWD\n2024-01-01,10,0,12.7,50.8\n", Metric, "°C, mm (told)"},
		{"tenths told", "date,TMAX,TMIN,PRCP,SNWD\n20240101,100,0,127,50.8\n", Tenths, "tenths of °C, tenths of mm, mm (told)"},
		{"named", "date,tmax_c,tmin_c,prcp_mm,snwd_cm\n2024-01-01,10,0,12.7,5.08\n", NotTold, "°C, mm, cm (named by the columns)"},
		{"named us", "date,tmax_f,tmin_f,rain_in,snow_depth_in\n2024-01-01,50,32,0.5,2\n", NotTold, "°F, inches (named by the columns)"},
		{"named and told", "date,tmax_f,tmin_f,PRCP,SNWD\n2024-01-01,50,32,0.5,2\n", US, "°F, inches (named by the columns or told)"},
		{"three columns for the day", "year,month,day,tmax_c,tmin_c,prcp_mm,snwd_mm\n2024,1,1,10,0,12.7,50.8\n", NotTold, "°C, mm (named by the columns)"},
		{"quotes and BOM", "\ufeff\"date\",\"tmax_c\",\"tmin_c\",\"prcp_mm\",\"snwd_mm\"\r\n\"2024-01-01\",\"10\",\"0\",\"12.7\",\"50.8\"\r\n", NotTold, "°C, mm (named by the columns)"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := parse(t, c.text, c.told)
			for e, want := range map[Element]float64{Tmax: 10, Tmin: 0, Precip: 12.7, Depth: 50.8} {
				if got := s.At(e, s.First); math.Abs(got-want) > 1e-12 {
					t.Errorf("%s: %g, want %g", e, got, want)
				}
			}
			if s.Units != c.says {
				t.Errorf("units %q, want %q", s.Units, c.says)
			}
		})
	}
}

// What a table leaves out, and what it says of values by attributes.
func TestTableGaps(t *testing.T) {
	s := parse(t, "STATION,DATE,tmax_c,tmax_attributes,tmin_c,prcp_mm,note\n"+
		"X1,2024-01-03,5,\",,X\",1,T,\n"+
		"X1,2024-01-01,4,\",I,X\",NA,,hello\n"+
		"X1,2024-01-06,1,,3,0,\n", NotTold)
	if s.Account.Gaps != 2 || s.Account.GapDays != 3 || s.Account.Crossed != 1 || s.Len() != 6 {
		t.Errorf("account %+v of %d days", s.Account, s.Len())
	}
	if hi := s.Account.Elements[Tmax]; hi.Failed != 1 || hi.Known != 1 {
		t.Errorf("Tmax: %+v", hi)
	}
	if p := s.Account.Elements[Precip]; p.Trace != 1 || p.Known != 2 {
		t.Errorf("rain: %+v", p)
	}
	if len(s.Account.Ignored) != 1 || s.Account.Ignored[0] != "note" {
		t.Errorf("ignored %q", s.Account.Ignored)
	}
}

func TestRefused(t *testing.T) {
	good := "date,tmax_c,tmin_c\n2024-01-01,10,0\n"
	for _, c := range []struct {
		name, text string
		told       Units
		want       string
	}{
		{"no units", "date,TMAX,TMIN\n2024-01-01,50,32\n", NotTold, `w:1: column TMAX does not name its unit; say --units us`},
		{"other units than named", good, US, "w:1: column tmax_c is in °C by its name, yet --units us was told"},
		{"dly told", dlySample, US, "w: is GHCN-Daily .dly, whose units are fixed"},
		{"empty", " \n\n", NotTold, "w: empty"},
		{"zero bytes", "date\x00", NotTold, "w: holds zero bytes"},
		{"no temperature", "date,prcp_mm\n2024-01-01,1\n", NotTold, "w:1: neither GHCN-Daily nor a table with the columns date, tmin and tmax"},
		{"no date", "day,tmax_c,tmin_c\n1,1,1\n", NotTold, "w:1: no column date, nor year, month and day"},
		{"column twice", "date,tmax_c,tmin_c,high_c\n2024-01-01,1,1,1\n", NotTold, "w:1: column high_c is there twice"},
		{"heading only", "date,tmax_c,tmin_c\n", NotTold, "w: holds no day"},
		{"short row", good + "2024-01-02,1\n", NotTold, "w:3: 2 fields under 3 columns"},
		{"no number", good + "2024-01-02,warm,1\n", NotTold, `w:3: TMAX: expected a number, or nothing or NA where there is none, found "warm"`},
		{"infinite", good + "2024-01-02,inf,1\n", NotTold, `w:3: TMAX: expected a number`},
		{"trace of warmth", good + "2024-01-02,T,1\n", NotTold, `found "T"`},
		{"day twice", good + "2024-01-01,1,1\n", NotTold, "w:3: 2024-01-01 is there already"},
		{"no such day", good + "2023-02-29,1,1\n", NotTold, `w:3: expected a day such as 2025-10-31, found "2023-02-29"`},
		{"day of two readings", good + "3/4/2024,1,1\n", NotTold, `w:3: expected a day such as 2025-10-31`},
		{"year of a slip", good + "20240-01-02,1,1\n", NotTold, "w:3: expected a day"},
		{"dates disagree", "year,month,day,date,tmax_c,tmin_c\n2024,1,2,2024-01-03,1,1\n", NotTold, "w:2: the date 2024-01-03 is not the day of the columns year, month and day, 2024-01-02"},
		{"two stations", "station,date,tmax_c,tmin_c\nA,2024-01-01,1,1\nB,2024-01-02,1,1\n", NotTold, "w:3: station B after A; give the record of one station"},
		{"fahrenheit told as celsius", "date,TMAX,TMIN\n2024-07-01,86,68\n2024-07-02,90,70\n", Metric, "w: line 2: TMIN of 68 °C, and 1 more beyond what was ever measured, if it is in °C as said"},
		{"long line", good + strings.Repeat("x", maxLine+1) + "\n", NotTold, "w:3: a line longer than"},
		{"open quote", good + "\"2024-01-02,1,1\n", NotTold, "w:3: "},
		{"dly of two stations", dlySample + "USC00369998202402TMAX  -11  0\n", NotTold, "w:4: station USC00369998 after USC00369999"},
		{"dly month 13", "USC00369999202413TMAX  -11  0\n", NotTold, `w:1: no month: "202413"`},
		{"dly element twice", dlySample + "USC00369999202401TMAX  -11  0\n", NotTold, "w:4: TMAX of 2024-01-01 is there already"},
		{"dly letters", "USC00369999202401TMAX  -1x  0\n", NotTold, `w:1: TMAX of day 1: expected a whole number in columns 22–26, found "-1x"`},
		{"dly 30 February", "USC00369999202402TMAX" + strings.Repeat("-9999   ", 29) + "   11  0\n", NotTold, "w:1: TMAX has a value on day 30, which 2024-02 does not have"},
		{"dly too long", "USC00369999202402TMAX" + strings.Repeat("-9999   ", 32) + "\n", NotTold, "more than the 269 of a month"},
		{"dly then something", dlySample + "hello\n", NotTold, `w:4: expected station, year, month and element as in GHCN-Daily .dly, found "hello"`},
		{"by station: day", "USC00369999,20240101,TMAX,1,,,0,\nUSC00369999,20240230,TMAX,1,,,0,\n", NotTold, "w:2: there is no day 20240230"},
		{"by station: value", "USC00369999,20240101,TMAX,1.5,,,0,\n", NotTold, `w:1: TMAX: expected a whole number, found "1.5"`},
		{"by station: flag", "USC00369999,20240101,TMAX,15,,XX,0,\n", NotTold, "w:1: expected one character as quality flag"},
		{"by station: twice", "USC00369999,20240101,TMAX,15,,,0,\nUSC00369999,20240101,TMAX,16,,,0,\n", NotTold, "w:2: TMAX of 2024-01-01 is there already"},
		{"damaged gzip", "\x1f\x8b\x08damaged", NotTold, "w: packed by gzip, and damaged"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Parse("w", []byte(c.text), c.told)
			if err == nil {
				t.Fatal("accepted")
			}
			if got := err.Error(); !strings.Contains(got, c.want) || strings.Contains(got, "\n") {
				t.Errorf("error\n got %s\nwant %s", got, c.want)
			}
		})
	}
}

// What a stranger wrote does not reach a terminal as it is.
func TestMessagesAreSafe(t *testing.T) {
	evil := "\x1b[2J\u202egpj\u200b\r" + strings.Repeat("long ", 100)
	for _, text := range []string{
		evil + ",b\n1,2\n",
		"date,tmax_c,tmin_c\n" + evil + ",1,1\n",
		"date,tmax_c,tmin_c\n2024-01-01," + evil + ",1\n",
		"station,date,tmax_c,tmin_c\nA,2024-01-01,1,1\n" + evil + ",2024-01-02,1,1\n",
	} {
		_, err := Parse("w", []byte(text), NotTold)
		if err == nil {
			t.Fatalf("accepted: %q", text)
		}
		if got := err.Error(); strings.ContainsAny(got, "\x1b\r\n\u202e\u200b") || len(got) > 400 {
			t.Errorf("message %q", got)
		}
	}
}

// A record that can be and yet speaks against its units is not refused: it is
// said.
func TestUnitsDoubted(t *testing.T) {
	table := func(tmax, tmin, rain, snow func(i int) float64) string {
		b := strings.Builder{}
		b.WriteString("date,TMAX,TMIN,PRCP,SNOW\n")
		first, _ := DayOf(2020, 1, 1)
		for i := range 400 {
			fmt.Fprintf(&b, "%s,%.1f,%.1f,%.2f,%.2f\n", first+Day(i), tmax(i), tmin(i), rain(i), snow(i))
		}
		return b.String()
	}
	wave := func(mean, half float64) func(int) float64 {
		return func(i int) float64 { return mean - half*math.Cos(float64(i)*2*math.Pi/365) }
	}
	flat := func(v float64) func(int) float64 { return func(int) float64 { return v } }
	for _, c := range []struct {
		name  string
		text  string
		units Units
		want  string
	}{
		{"all well", table(wave(14, 14), wave(4, 14), flat(8), flat(0)), Metric, ""},
		{"celsius told as fahrenheit", table(wave(14, 14), wave(4, 14), flat(0.3), flat(0)), US, "the warmest of 400 days has -2.2 °C"},
		{"inches told as mm", table(wave(14, 14), wave(4, 14), flat(0.3), flat(0)), Metric, "the wettest of 400 days has 0.3 mm"},
		{"fahrenheit of a cold place told as celsius", table(wave(31, 20), wave(9, 20), flat(8), flat(0)), Metric, "nights lie 22.0 °C below days on average"},
		{"snow a tenth", table(wave(8, 14), wave(0, 14), flat(8), flat(8)), Metric, "SNOW and SNWD seem to stand in other units"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := parse(t, c.text, c.units)
			got := strings.Join(s.Account.Warnings, "\n")
			if c.want == "" && got != "" || !strings.Contains(got, c.want) {
				t.Errorf("warnings %q, want %q", got, c.want)
			}
		})
	}
	s := parse(t, table(wave(8, 14), wave(0, 14), flat(8), flat(8)), Metric)
	if err := s.ScaleSnow(10); err != nil || len(s.Account.Warnings) != 0 || s.Values[Snow][0] != 80 {
		t.Errorf("snow tenfold: %v, %q, %g mm", err, s.Account.Warnings, s.Values[Snow][0])
	}
	if err := s.ScaleSnow(math.NaN()); err == nil {
		t.Error("snow times NaN is accepted")
	}
}

// A few values beyond all weather among many are slips: dropped and told.
func TestSlipsAreDropped(t *testing.T) {
	var b strings.Builder
	b.WriteString("date,tmax_c,tmin_c\n")
	first, _ := DayOf(2020, 1, 1)
	for i := range 200 {
		v := 10
		if i == 50 {
			v = 999
		}
		fmt.Fprintf(&b, "%s,%d,1\n", first+Day(i), v)
	}
	s := parse(t, b.String(), NotTold)
	if hi := s.Account.Elements[Tmax]; hi.Implausible != 1 || hi.Known != 199 || len(s.Account.Warnings) != 1 {
		t.Errorf("account %+v, warnings %q", hi, s.Account.Warnings)
	}
}

func TestReadFile(t *testing.T) {
	dir := t.TempDir()
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	z.Write([]byte(dlySample))
	z.Close()
	path := filepath.Join(dir, "station.dly.gz")
	if err := os.WriteFile(path, packed.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	if s, err := Read(path, NotTold); err != nil || s.Len() != 31 {
		t.Errorf("packed: %v", err)
	}
	if _, err := Read(filepath.Join(dir, "none"), NotTold); err == nil || !strings.Contains(err.Error(), "none: no such file") {
		t.Errorf("no file: %v", err)
	}
	if _, err := Read(dir, NotTold); err == nil || !strings.Contains(err.Error(), "not a plain file") {
		t.Errorf("folder: %v", err)
	}
}

// Days count as the calendar does, and read back as they are written.
func TestDays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Day(rapid.IntRange(-98_000, 84_000).Draw(t, "day"))
		again, err := ParseDay(d.String())
		y, m, dom := d.Date()
		of, ok := DayOf(y, m, dom)
		if err != nil || again != d || !ok || of != d || DayAt(d.Time()) != d {
			t.Fatalf("%d is %s, read again %d (%v), of its date %d", d, d, again, err, of)
		}
		if y1, m1, d1 := d.Time().AddDate(0, 0, 1).Date(); (d + 1).String() != fmt.Sprintf("%04d-%02d-%02d", y1, m1, d1) {
			t.Fatalf("after %s comes %s", d, d+1)
		}
	})
}

// A record cut and joined again is the record.
func TestUntilAndJoin(t *testing.T) {
	s := parse(t, "date,tmax_c,tmin_c\n2024-01-01,1,0\n2024-01-02,2,0\n2024-01-03,3,0\n2024-01-05,5,0\n", NotTold)
	for d := s.First; d <= s.Last(); d++ {
		cut := s.Until(d)
		if cut.Last() != d {
			t.Fatalf("until %s ends on %s", d, cut.Last())
		}
		joined := cut.Join(s)
		for k := s.First; k <= s.Last(); k++ {
			if !same(joined.At(Tmax, k), s.At(Tmax, k)) {
				t.Errorf("cut at %s, joined: %s has %g, want %g", d, k, joined.At(Tmax, k), s.At(Tmax, k))
			}
		}
	}
	if s.Until(s.First-1) != nil || s.Until(s.Last()+9) != s {
		t.Error("cut outside the record")
	}
}

// fuzz holds whatever a parser makes of any text to what it promises.
func fuzz(f *testing.F, seeds ...string) {
	for _, s := range seeds {
		for _, u := range []byte{0, 1, 2, 3} {
			f.Add([]byte(s), u)
		}
	}
	f.Fuzz(func(t *testing.T, data []byte, u byte) {
		told := []Units{NotTold, Metric, US, Tenths}[u%4]
		s, err := Parse("w", data, told)
		if err != nil {
			if strings.ContainsAny(err.Error(), "\n\x1b") || !strings.HasPrefix(err.Error(), "w:") {
				t.Fatalf("message %q", err)
			}
			return
		}
		for e, vs := range s.Values {
			if len(vs) != s.Len() {
				t.Fatalf("%s has %d days of %d", Element(e), len(vs), s.Len())
			}
			known := 0
			for _, v := range vs {
				if v == v {
					known++
					if v < limits[e].low || v > limits[e].high {
						t.Fatalf("%s of %g", Element(e), v)
					}
				}
			}
			if a := s.Account.Elements[e]; a.Known != known || a.Known+a.Missing != s.Len() {
				t.Fatalf("%s: account %+v, %d known of %d", Element(e), a, known, s.Len())
			}
		}
		for i := range s.Values[Tmin] {
			if s.Values[Tmin][i] > s.Values[Tmax][i] {
				t.Fatalf("minimum above maximum on %s", s.First+Day(i))
			}
		}
	})
}

func FuzzDly(f *testing.F) {
	fuzz(f, dlySample, "USC00369999202401TMAX  -11  0", "USC00369999202402TMAX"+strings.Repeat("-9999   ", 31))
}

func FuzzByStation(f *testing.F) {
	fuzz(f, "USC00369999,20240101,TMAX,-11,,,0,\nUSC00369999,20240101,TMIN,-50,T,,0,0700\n", "ID,DATE,ELEMENT,DATA_VALUE\nUSC00369999,20240101,PRCP,5\n", "USC00369999,20240101,TMAX,9999,,X,0,")
}

func FuzzTable(f *testing.F) {
	fuzz(f, "date,TMAX,TMIN,PRCP,SNOW,SNWD\n2024-01-01,50,32,T,NA,\n", "year,month,day,date,tmax_c,tmin_f,tmax_attributes\n2024,1,2,20240102,1,-40,\",I,7\"\n", "\ufeff\"date\",tmin_f,tmax_f\r\n2024-02-29,1,2\r\n")
}
