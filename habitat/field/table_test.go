package field

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

const head = "date,stop,lon,lat,host,condition,inspected,found,confirmed\n"

func TestTemplateIsReadAndNotTaken(t *testing.T) {
	text := string(Template())
	in := mustParse(t, text, options())
	if in.Examples != len(examples) || len(in.Records) != 0 {
		t.Errorf("%d examples, %d records", in.Examples, len(in.Records))
	}
	in = mustParse(t, strings.ReplaceAll(text, exampleStop, "s"), options())
	if len(in.Records) != len(examples) || len(in.Notes) != 0 {
		t.Fatalf("%d records, %q", len(in.Records), in.Notes)
	}
	want := Record{Date: day("2025-11-22"), Lon: -87.02125, Lat: 43.3184, AccuracyM: 8, Host: "american-elm", Condition: DeadStanding,
		Inspected: 12, Found: 1, Minutes: 25, Observer: "AB", Confirmed: "yes", Note: "below the second bend", Stop: "s1"}
	if diff := cmp.Diff(want, in.Records[0], ignore, cmpopts.IgnoreFields(Record{}, "ID")); diff != "" {
		t.Error(diff)
	}
	if len(columnHelp) != len(Columns) {
		t.Errorf("%d columns, %d explained", len(Columns), len(columnHelp))
	}
}

// One trip in many forms gives the same ids.
func TestTablesOfManyForms(t *testing.T) {
	want := mustParse(t, head+"2025-11-22,a,-87.02,43.31,american-elm,dead-standing,12,1,yes\n", options()).Records
	mapped := options()
	mapped.Map = map[string]string{"date": "Tag", "inspected": "geprueft"}
	mdy := options()
	mdy.DateOrder = "mdy"
	utm := options()
	utm.CRS = "EPSG:32616"
	told := options()
	told.Day = day("2025-11-22")
	for name, c := range map[string]struct {
		text string
		o    Options
	}{
		"other order, capitals, more columns": {"Found,INSPECTED,Host,Condition,Lat,Lon,Stop,Date,confirmed,weather\n1,12,Ulmus americana,snag,43.31,-87.02,a,2025/11/22,ok,fair\n", options()},
		"semicolons, byte order mark, CRLF":   {"\ufeff" + strings.ReplaceAll(head, ",", ";") + "2025-11-22;a;-87.02;43.31;elm;dead;12;1;y\r\n;;;;;;;;\r\n", options()},
		"tabs, floats":                        {strings.ReplaceAll(head, ",", "\t") + "2025-11-22T16:00:00-06:00\ta\t-87.02\t43.31\telm\tdead\t12.0\t1.0\ty\n", options()},
		"names of their own":                  {strings.NewReplacer("date", "Tag", "inspected", "geprueft").Replace(head) + "2025-11-22,a,-87.02,43.31,elm,dead,12,1,yes\n", mapped},
		"American days":                       {head + "11/22/2025,a,-87.02,43.31,elm,dead,12,1,yes\n", mdy},
		"UTC, an evening in the west":         {head + "2025-11-23T01:30:00Z,a,-87.02,43.31,elm,dead,12,1,yes\n", options()},
		"day told for the file":               {head + ",a,-87.02,43.31,elm,dead,12,1,yes\n", told},
		"remarks of a spreadsheet":            {"\"# a, b\"\n# c,,,\n,,\n" + head + "2025-11-22,a,-87.02,43.31,elm,dead,12,1,yes\n", options()},
		// pyproj 3.4.1 (PROJ 9.1.1): EPSG:4326 → EPSG:32616.
		"metres": {"day,stop,X,Y,host,condition,inspected,found,confirmed\n2025-11-22,a,498378.0522,4795240.8990,elm,dead,12,1,yes\n", utm},
	} {
		t.Run(name, func(t *testing.T) {
			got := mustParse(t, c.text, c.o).Records
			if diff := cmp.Diff(want, got, ignore); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestRowsThatAreRefused(t *testing.T) {
	for name, c := range map[string]struct{ row, where, says string }{
		"more finds than trees": {"2025-11-22,a,-87.02,43.31,elm,dead,3,5,", "line 2: found", "5 of 3"},
		"negative":              {"2025-11-22,a,-87.02,43.31,elm,dead,-3,0,", "inspected", "less than nought"},
		"no whole number":       {"2025-11-22,a,-87.02,43.31,elm,dead,3.5,0,", "inspected", "whole number"},
		"words":                 {"2025-11-22,a,-87.02,43.31,elm,dead,many,0,", "inspected", "want a number"},
		"not told how many":     {"2025-11-22,a,-87.02,43.31,elm,dead,,0,", "inspected", "empty"},
		"future":                {"2026-03-03,a,-87.02,43.31,elm,dead,3,0,", "date", "future"},
		"long ago":              {"1899-12-30,a,-87.02,43.31,elm,dead,3,0,", "date", "before 1900"},
		"day or month":          {"3/4/2025,a,-87.02,43.31,elm,dead,3,0,", "date", "--dates"},
		"no such day":           {"2025-02-30,a,-87.02,43.31,elm,dead,3,0,", "date", "not a day"},
		"no day":                {",a,-87.02,43.31,elm,dead,3,0,", "date", "--date"},
		"swapped":               {"2025-11-22,a,43.31,-97.02,elm,dead,3,0,", "lat", "swapped"},
		"metres":                {"2025-11-22,a,498379,4795332,elm,dead,3,0,", "lon", "--crs"},
		"nowhere":               {"2025-11-22,a,0,0,elm,dead,3,0,", "lon", "know no place"},
		"half a place":          {"2025-11-22,a,-87.02,,elm,dead,3,0,", "lon", "one of lon and lat"},
		"no place":              {"2025-11-22,a,,,elm,dead,3,0,", "lon", "no position"},
		"decimal comma":         {`2025-11-22,a,"-87,02",43.31,elm,dead,3,0,`, "lon", "behind a point"},
		"infinite":              {"2025-11-22,a,inf,43.31,elm,dead,3,0,", "lon", "number"},
		"unknown host":          {"2025-11-22,a,-87.02,43.31,americn elm,dead,3,0,", "host", `did you mean "american elm"?`},
		"unknown condition":     {"2025-11-22,a,-87.02,43.31,elm,mouldy,3,0,", "condition", "known are alive"},
		"unknown answer":        {"2025-11-22,a,-87.02,43.31,elm,dead,3,0,perhaps", "confirmed", "known are"},
		"trees of no host":      {"2025-11-22,a,-87.02,43.31,none,,3,0,", "host", "no host named"},
		"nothing said":          {"2025-11-22,a,-87.02,43.31,,,0,0,", "host", "empty"},
		"a comma too many":      {"2025-11-22,a,-87.02,43.31,elm,dead,3,0,,x", "line 2", "more fields"},
		"the same twice":        {"2025-11-22,a,-87.02,43.31,elm,dead,3,0,\n2025-11-22,a,-87.02,43.31,elm,dead,3,0,", "line 3", "the same as line 2"},
	} {
		t.Run(name, func(t *testing.T) {
			in, err := ParseCSV("trip.csv", []byte(head+c.row+"\n2025-11-22,other,-87.02,43.31,elm,dead,7,0,\n"), options())
			if err != nil {
				t.Fatal(err)
			}
			if len(in.Problems) != 1 || in.Refused != 1 {
				t.Fatalf("%d problems: %v", len(in.Problems), in.Problems)
			}
			holds(t, "problem", in.Problems[0].Error(), `"trip.csv"`, c.where, c.says)
		})
	}
}

func TestFilesThatAreRefused(t *testing.T) {
	with := func(m map[string]string) Options {
		o := options()
		o.Map = m
		return o
	}
	for name, c := range map[string]struct {
		text string
		o    Options
		says string
	}{
		"empty":             {"", options(), "no header"},
		"remarks only":      {"# a\n#b", options(), "no header"},
		"UTF-16":            {"\xff\xfed\x00", options(), "UTF-8"},
		"Latin-1":           {head + "2025-11-22,\xe9,-87.02,43.31,elm,dead,3,0,\n", options(), "UTF-8"},
		"open quote":        {head + "2025-11-22,\"a,-87.02\n", options(), "line 2"},
		"no host":           {"date,lon,lat,inspected,found\n", options(), "--map host=COLUMN"},
		"no count":          {"date,lon,lat,host,found\n", options(), "--map inspected=COLUMN"},
		"no place":          {"date,host,inspected,found\n", options(), "--map lon=COLUMN"},
		"one name twice":    {"date,host,Host,inspected,found\n", options(), "two columns"},
		"unknown of ours":   {head, with(map[string]string{"lom": "x"}), `did you mean "lon"?`},
		"unknown of theirs": {head, with(map[string]string{"lon": "x"}), `no column "x"`},
	} {
		_, err := ParseCSV("trip.csv", []byte(c.text), c.o)
		if err == nil {
			t.Errorf("%s: no error", name)
			continue
		}
		holds(t, name, err.Error(), c.says)
	}
}

func TestFlags(t *testing.T) {
	text := "date,stop,lon,lat,accuracy_m,host,inspected,found,confirmed\n" +
		"2025-11-22,a,-87.02,43.31,101,elm,3,0,\n" +
		"2025-11-22,a,-87.02,43.31,100,ash,3,1,\n" +
		"2025-11-22,b,-87.02,43.31,,ash,3,1,no\n" +
		"2025-11-22,b,-87.02,43.31,,ash,1,0,\n" +
		"2025-11-22,b,-87.02,43.31,,ash,1,0,\n" +
		"2025-11-22,c,-87.02,43.31,,ash,3,1,yes\n" +
		"2025-11-22,d,-87.02,43.31,,ash,3,0,\n" +
		"2025-11-22,d,-87.03,43.31,,elm,3,0,\n"
	in := mustParse(t, text, options())
	var got []string
	for _, r := range in.Records {
		got = append(got, strings.Join(r.Flags, "; "))
	}
	want := []string{FlagAccuracy, FlagUnconfirmed, FlagNotThis, "", FlagRepeated, "", FlagSpread, FlagSpread}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// A plot's corner in place of its trees' positions.
func TestAllOnOneSpot(t *testing.T) {
	table := func(n int, stop func(int) string, lon func(int) float64) *Import {
		var b strings.Builder
		b.WriteString("date,stop,lon,lat,host,inspected,found\n")
		for i := range n {
			fmt.Fprintf(&b, "2025-11-22,%s,%.7f,43.31,elm,1,0\n", stop(i), lon(i))
		}
		in, err := ParseCSV("trip.csv", []byte(b.String()), options())
		if err != nil {
			t.Fatal(err)
		}
		return in
	}
	own := func(i int) string { return fmt.Sprint("s", i) }
	one := func(int) string { return "s" }
	spot := func(int) float64 { return -87.02 }
	close := func(i int) float64 { return -87.02 + float64(i%200)*1e-6 } // 16 m
	if in := table(10, own, spot); in.Refused != 10 {
		t.Errorf("10 stops at one spot: %d refused", in.Refused)
	} else {
		holds(t, "problem", in.Problems[0].Error(), "10 rows of 10 stops", "exactly -87.02, 43.31")
	}
	if in := table(9, own, spot); in.Refused != 0 {
		t.Errorf("9 stops at one spot: %v", in.Problems)
	}
	if in := table(60, one, spot); in.Refused != 0 {
		t.Errorf("60 trees of one stop: %v", in.Problems)
	}
	if in := table(1000, one, spot); in.Refused != 1000 {
		t.Errorf("1000 rows at one spot: %d refused", in.Refused)
	}
	if in := table(20, own, close); in.Refused != 0 || in.Records[0].Flags[0] != FlagTight {
		t.Errorf("20 stops within 16 m: %v %v", in.Problems, in.Records[0].Flags)
	}
	if in := table(1200, own, close); in.Refused != 1200 {
		t.Errorf("1200 stops within 16 m: %d refused", in.Refused)
	}
}

func FuzzParseCSV(f *testing.F) {
	f.Add(string(Template()))
	f.Add(head + "2025-11-22,a,-87.02,43.31,elm,dead,12,1,yes\n")
	f.Add("name,desc,lon,lat,time\nx,elm dead 12/1 -- a,-87,43,2025-11-22T01:00:00Z\n")
	f.Add("date;host;inspected;found;x;y\n\"a\"\"\n")
	f.Fuzz(func(t *testing.T, text string) {
		in, err := ParseCSV("f.csv", []byte(text), options())
		if err != nil {
			holds(t, "error", err.Error())
			return
		}
		kept(t, in)
	})
}

// kept holds what was taken against the rules, and through the store's own form.
func kept(t testing.TB, in *Import) {
	ids := map[string]bool{}
	for _, r := range in.Records {
		if r.Found > r.Inspected || r.Inspected < 0 || r.Found < 0 || !onGlobe(r.Lon, r.Lat) || r.Date.Before(firstDay) || r.Host == "" || r.Stop == "" || ids[r.ID] {
			t.Fatalf("taken: %+v", r)
		}
		ids[r.ID] = true
		line := encodeLine(r)
		if strings.Count(line, "\n") != 1 {
			t.Fatalf("not one line: %q", line)
		}
		b, err := newLineReader().decode(strings.TrimSuffix(line, "\r\n"))
		if err != nil || !b.same(r) || b.ID != r.ID {
			t.Fatalf("%+v came back as %+v, %v", r, b, err)
		}
	}
	for _, p := range in.Problems {
		holds(t, "problem", p.Error())
	}
}
