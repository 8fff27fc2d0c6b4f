package daylight

import (
	"math"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"
)

// minutes between two clock readings.
func apart(got time.Time, hhmm string) float64 {
	want := 60*(10*int(hhmm[0]-'0')+int(hhmm[1]-'0')) + 10*int(hhmm[2]-'0') + int(hhmm[3]-'0')
	h, m, s := got.Clock()
	return math.Abs(float64(60*h+m) + float64(s)/60 - float64(want))
}

// The almanac: a whole year's table of the U.S. Naval Observatory, Astronomical
// Applications Department: Fredonia, Arizona, 2023.
func TestDayAgainstAnAlmanacYear(t *testing.T) {
	data, err := os.ReadFile("testdata/fredonia-2023.txt")
	if err != nil {
		t.Fatal(err)
	}
	zone := time.FixedZone("", -7*3600)
	days, worst := 0, 0.0
	for _, line := range strings.Split(string(data), "\n") {
		if len(line) < 10 || line[0] < '0' || line[0] > '3' {
			continue
		}
		number := 10*int(line[0]-'0') + int(line[1]-'0')
		for month := range 12 {
			at := 4 + 11*month
			if len(line) < at+9 || strings.TrimSpace(line[at:at+9]) == "" {
				continue
			}
			d, err := On(2023, month+1, number, 36.95, -112.52, zone)
			if err != nil {
				t.Fatal(err)
			}
			for _, e := range []struct {
				what, want string
				got        time.Time
			}{{"sunrise", line[at : at+4], d.Rise}, {"sunset", line[at+5 : at+9], d.Set}} {
				diff := apart(e.got, e.want)
				worst = max(worst, diff)
				if diff > 2 {
					t.Errorf("2023-%02d-%02d %s: got %s, almanac %s", month+1, number, e.what, e.got.Format("15:04:05"), e.want)
				}
			}
			days++
		}
	}
	if days != 365 {
		t.Fatalf("the table gave %d days, want 365", days)
	}
	t.Logf("365 days, largest difference %.2f min (the table gives whole minutes)", worst)
	if worst > 1 {
		t.Errorf("largest difference %.2f min; the formulas are better than that", worst)
	}
}

func TestDayTwilightAndOtherPlaces(t *testing.T) {
	for _, c := range []struct {
		name           string
		y, m, d        int
		lat, lon       float64
		offset         int
		rise, set      string
		dawn, dusk     string
		source         string
		light          Light
		twilightBarred bool
	}{
		{name: "Boston in June", y: 2024, m: 6, d: 21, lat: 42.32, lon: -71.09, offset: -5, dawn: "0333", dusk: "1959", source: "U.S. Naval Observatory, Civil Twilight for 2024"},
		{name: "Toronto, first of April", y: 2001, m: 4, d: 1, lat: 43.6667, lon: -79.4167, offset: -4, rise: "0659", set: "1945", source: "U.S. Naval Observatory, table for 2001"},
		{name: "Toronto, end of April", y: 2001, m: 4, d: 30, lat: 43.6667, lon: -79.4167, offset: -4, rise: "0611", set: "2019", source: "U.S. Naval Observatory, table for 2001"},
		{name: "midnight sun", y: 2023, m: 6, d: 21, lat: 70, lon: 25, offset: 2, light: AllDay, twilightBarred: true, source: "geometry: latitude above 90° less declination"},
		{name: "polar night with twilight", y: 2023, m: 12, d: 21, lat: 70, lon: 25, offset: 1, light: None, source: "geometry: the noon sun stands at −3.4°"},
		{name: "polar night without", y: 2023, m: 12, d: 21, lat: 80, lon: 25, offset: 1, light: None, twilightBarred: true, source: "geometry: the noon sun stands at −13.4°"},
		{name: "the south has its summer in December", y: 2023, m: 12, d: 21, lat: -75, lon: 25, offset: 1, light: AllDay, twilightBarred: true, source: "geometry"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, err := On(c.y, c.m, c.d, c.lat, c.lon, time.FixedZone("", c.offset*3600))
			if err != nil {
				t.Fatal(err)
			}
			if d.Light != c.light {
				t.Fatalf("light is %v, want %v (%s)", d.Light, c.light, c.source)
			}
			if d.Twilight == c.twilightBarred {
				t.Errorf("twilight is %v", d.Twilight)
			}
			for _, e := range []struct {
				what, want string
				got        time.Time
			}{{"rise", c.rise, d.Rise}, {"set", c.set, d.Set}, {"dawn", c.dawn, d.Dawn}, {"dusk", c.dusk, d.Dusk}} {
				if e.want != "" && apart(e.got, e.want) > 1 {
					t.Errorf("%s at %s, %s has %s", e.what, e.got.Format("15:04:05"), c.source, e.want)
				}
			}
		})
	}
}

// Meeus, example 25.a: 1992 October 13.0 TD, lower accuracy: declination
// −7.78507°; example 28.b gives the equation of time there, 13 m 42.6 s.
func TestSunAgainstTheWorkedExample(t *testing.T) {
	dec, eq := sun(-0.072183436)
	if got := dec / degree; math.Abs(got+7.78507) > 1e-4 {
		t.Errorf("declination %.5f°, want -7.78507°", got)
	}
	if got := eq / degree * 240; math.Abs(got-822.6) > 1 {
		t.Errorf("equation of time %.1f s, want 822.6 s", got)
	}
}

func TestDayRefusesWhatIsNone(t *testing.T) {
	for _, c := range []struct {
		y, m, d  int
		lat, lon float64
	}{{2023, 2, 29, 0, 0}, {2023, 13, 1, 0, 0}, {2023, 1, 1, 91, 0}, {2023, 1, 1, math.NaN(), 0}, {2023, 1, 1, 0, 181}, {1, 1, 1, 0, 0}} {
		if _, err := On(c.y, c.m, c.d, c.lat, c.lon, time.UTC); err == nil {
			t.Errorf("%+v is taken", c)
		}
	}
}

// PyEphem (VSOP87) as a second judge, at many latitudes and zones.
func TestDayAgainstEphem(t *testing.T) {
	script := `
import ephem, math, sys
for line in sys.stdin:
    y, m, d, lat, lon, noon = line.split()
    o = ephem.Observer(); o.lat, o.lon = lat, lon; o.pressure = 0
    o.date = ephem.Date(float(noon)/86400 + 25567.5)
    s = ephem.Sun()
    out = []
    for h, centre in (('-0:50', True), ('-6', True)):
        o.horizon = h
        try:
            out.append('%.1f' % ((o.previous_rising(s, use_center=centre) - 25567.5) * 86400))
            out.append('%.1f' % ((o.next_setting(s, use_center=centre) - 25567.5) * 86400))
        except ephem.CircumpolarError: out += ['-', '-']
    print(' '.join(out))
`
	type place struct{ lat, lon float64 }
	var in strings.Builder
	var days []Day
	for _, p := range []place{{0, 0}, {30, 120}, {43.35, -87.02}, {-45, 170}, {60, 25}, {64, -147}, {-33, -70}} {
		for month := 1; month <= 12; month++ {
			zone := time.FixedZone("", int(p.lon/15)*3600)
			d, err := On(2026, month, 9, p.lat, p.lon, zone)
			if err != nil {
				t.Fatal(err)
			}
			days = append(days, d)
			in.WriteString(strings.Join([]string{"2026", "1", "9", num(p.lat), num(p.lon), num(float64(d.Noon.Unix()))}, " ") + "\n")
		}
	}
	cmd := exec.Command("/usr/bin/python3", "-c", script)
	cmd.Stdin = strings.NewReader(in.String())
	out, err := cmd.Output()
	if err != nil {
		t.Skip("python3-ephem is not installed, so this judge is not asked")
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(lines) != len(days) {
		t.Fatalf("%d answers for %d days", len(lines), len(days))
	}
	worst := 0.0
	for i, l := range lines {
		d := days[i]
		for k, got := range []time.Time{d.Rise, d.Set, d.Dawn, d.Dusk} {
			f := strings.Fields(l)[k]
			if f == "-" || got.IsZero() {
				continue
			}
			diff := math.Abs(float64(got.Unix())-parse(t, f)) / 60
			worst = max(worst, diff)
			if diff > 1 {
				t.Errorf("latitude %g, %s: %d is %s, off by %.1f min", d.Latitude, d.Noon.Format(time.DateOnly), k, got, diff)
			}
		}
	}
	t.Logf("largest difference %.2f min", worst)
}

func num(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func parse(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
