package field

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const gpxHead = `<?xml version="1.0" encoding="UTF-8"?><gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="x">`

func TestWaypoints(t *testing.T) {
	in, err := ParseGPX("trip.gpx", []byte(gpxHead+`<metadata><name>elm 9/9</name></metadata>
<wpt lat="43.31" lon="-87.02"><ele>200</ele><time>2025-11-23T01:30:00Z</time><name>ford</name><desc><![CDATA[elm dead 12/1 ok
ash 0 20min]]></desc><src>AB</src><extensions><a><name>elm 8/8</name></a></extensions></wpt>
<wpt lat="43.32" lon="-87.03"><time>2025-11-22T18:00:00Z</time><name>none 15min &amp; up</name></wpt>
<wpt lat="43.33" lon="-87.04"><time>2025-11-22T18:00:00Z</time><name>cottonwood down 4/0</name></wpt>
<wpt lat="43.30" lon="-87.00"><name>Elm Street parking</name></wpt>
<trk><name>elm 7/7</name><trkseg><trkpt lat="1" lon="2"/></trkseg></trk></gpx>`), options())
	if err != nil {
		t.Fatal(err)
	}
	if len(in.Problems) != 1 || len(in.Records) != 3 || len(in.Notes) != 2 {
		t.Fatalf("%v\n%+v\n%q", in.Problems, in.Records, in.Notes)
	}
	holds(t, "problem", in.Problems[0].Error(), "waypoint 2: note", `"&"`)
	holds(t, "passed over", in.Notes[0], "1 tracks and routes")
	holds(t, "left aside", in.Notes[1], "1 of 4 waypoints", "Elm Street parking")
	// The sun stands 5.8 h behind UTC there: the evening belongs to the 22nd.
	a, b, c := in.Records[0], in.Records[1], in.Records[2]
	if a.Day() != "2025-11-22" || a.Stop != "ford" || a.Observer != "AB" || a.Inspected != 12 || a.Minutes != 20 || a.Confirmed != "yes" {
		t.Errorf("first: %+v", a)
	}
	if b.Host != "green-ash" || b.Inspected != 0 || b.Minutes != 0 || b.Stop != "ford" || b.Lon != -87.02 {
		t.Errorf("second: %+v", b)
	}
	if c.Host != "eastern-cottonwood" || c.Lat != 43.33 || !strings.HasPrefix(c.Stop, "at-") {
		t.Errorf("third: %+v", c)
	}
}

func TestGPXThatIsRefused(t *testing.T) {
	for name, c := range map[string]struct{ text, says string }{
		"not XML":      {"elm 3/1", "no gpx element"},
		"another kind": {"<kml/>", `"kml"`},
		"a version":    {`<gpx version="2.0"/>`, `"2.0"`},
		"cut off":      {gpxHead + `<wpt lat="1" lon="2"><name>elm`, "unexpected EOF"},
		"entities": {`<!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]><gpx version="1.1"><wpt lat="1" lon="2"><name>&b;</name></wpt></gpx>`,
			"invalid character entity"},
		"too deep": {gpxHead + strings.Repeat("<a>", 50), "40 deep"},
	} {
		_, err := ParseGPX("trip.gpx", []byte(c.text), options())
		if err == nil {
			t.Errorf("%s: no error", name)
			continue
		}
		holds(t, name, err.Error(), c.says)
	}
	in, err := ParseGPX("trip.gpx", []byte(gpxHead+`<wpt lat="north" lon="2"><time>2025-11-22</time><name>elm 3/1</name></wpt></gpx>`), options())
	if err != nil || len(in.Problems) != 1 {
		t.Fatal(in, err)
	}
	holds(t, "problem", in.Problems[0].Error(), "waypoint 1: position")
}

// A store exported as GPX is the same trip when it is read.
func TestGPXOfRecordsIsTheSameTrip(t *testing.T) {
	for _, lon := range []float64{-180, -179.9, -87.02, 0.01, 100, 179.99} {
		rows := []Record{row("a", 12, 1), row("a", 4, 0), row("b <&> é", 0, 0), {Date: day("2026-01-31"), Host: NoHost, Stop: "c"}}
		rows[1].Host, rows[1].Note = "green-ash", `a "remark" & more`
		rows[2].AccuracyM, rows[2].Candidate, rows[2].Observer = 12.5, 7, "AB"
		for i := range rows {
			rows[i].Lon, rows[i].Lat = lon, 43.31
		}
		Identify(rows)
		var b strings.Builder
		if err := writeGPX(&b, rows); err != nil {
			t.Fatal(err)
		}
		in, err := ParseGPX("out.gpx", []byte(b.String()), options())
		if err != nil || len(in.Problems) > 0 {
			t.Fatalf("%v %v\n%s", err, in.Problems, b.String())
		}
		for i := range in.Records {
			in.Records[i].Flags = nil
		}
		if diff := cmp.Diff(rows, in.Records, ignore); diff != "" {
			t.Errorf("at longitude %g:\n%s", lon, diff)
		}
	}
}

func FuzzParseGPX(f *testing.F) {
	f.Add(gpxHead + `<wpt lat="43.31" lon="-87.02"><time>2025-11-23T01:30:00Z</time><name>ford</name><desc>elm dead 12/1 ok; ash 0</desc></wpt></gpx>`)
	f.Add(gpxHead + `<wpt lat="1"><wpt><name>elm 3/1</name></wpt></wpt></gpx>`)
	f.Add(`<!DOCTYPE gpx [<!ENTITY a "b">]><gpx>&a;</gpx>`)
	f.Add(fmt.Sprint(gpxHead, strings.Repeat("<a>", 45)))
	f.Fuzz(func(t *testing.T, text string) {
		in, err := ParseGPX("f.gpx", []byte(text), options())
		if err != nil {
			holds(t, "error", err.Error())
			return
		}
		kept(t, in)
	})
}
