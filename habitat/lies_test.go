package habitat

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/airbusgeo/godal"

	"rillwood/raster"
)

// lie is an elevation that says something untrue, or something rarely true.
type lie struct {
	w, h   int // 0: 60 × 50
	kind   godal.DataType
	geo    [6]float64 // zero: cells of 10 m, north up
	epsg   int        // 0: UTM 18 N
	nodata *float64
	lift   float64 // added to the ground, which lies at 100 to 130 m
	scale  float64 // the ground, lifted, is multiplied by it; 0: 1
	level  bool
	hole   *float64 // of 12 × 10 cells
}

// write makes the file: a valley that falls to the south.
func (l lie) write(t *testing.T, path string) {
	t.Helper()
	if err := raster.Setup(); err != nil {
		t.Fatal(err)
	}
	if l.w == 0 {
		l.w, l.h = 60, 50
	}
	if l.kind == godal.Unknown {
		l.kind = godal.Float32
	}
	if l.geo == [6]float64{} {
		l.geo = [6]float64{500000, 10, 0, 4700000, 0, -10}
	}
	if l.epsg == 0 {
		l.epsg = 32618
	}
	if l.scale == 0 {
		l.scale = 1
	}
	z := make([]float64, l.w*l.h)
	for i := range z {
		x, y := i%l.w, i/l.w
		z[i] = 100
		if !l.level {
			z[i] += 0.2*float64(l.h-y) + 0.3*math.Abs(float64(x)-float64(l.w)/2)
		}
		z[i] = (z[i] + l.lift) * l.scale
		if l.hole != nil && x >= 40 && x < 52 && y >= 10 && y < 20 {
			z[i] = *l.hole
		}
	}
	ds, err := godal.Create(godal.GTiff, path, 1, l.kind, l.w, l.h)
	if err != nil {
		t.Fatal(err)
	}
	crs, err := raster.ParseCRS(fmt.Sprintf("EPSG:%d", l.epsg))
	if err != nil {
		t.Fatal(err)
	}
	steps := []error{ds.SetGeoTransform(l.geo), ds.SetProjection(crs.WKT)}
	if l.nodata != nil {
		steps = append(steps, ds.SetNoData(*l.nodata))
	}
	steps = append(steps, ds.Write(0, 0, z, l.w, l.h), ds.Close())
	for _, err := range steps {
		if err != nil {
			t.Fatal(err)
		}
	}
}

func degrees(lon, lat float64) [6]float64 { return [6]float64{lon, 1e-4, 0, lat, 0, -1e-4} }

// Each gives a result whose numbers are the ground's, or one line that names
// the file and the remedy; check and map agree on which.
func TestElevationsThatLie(t *testing.T) {
	v := func(x float64) *float64 { return &x }
	nan, inf := math.NaN(), math.Inf(1)
	const valid = 1 - 12.*10/(60*50) // of the cells, with a hole
	for name, c := range map[string]struct {
		lie
		survey string
		says   string // in the one line; "" for a result
		notes  string // among its warnings
		valid  float64
	}{
		"NaN":                             {lie: lie{hole: v(nan)}, valid: valid},
		"infinity":                        {lie: lie{hole: v(inf)}, valid: valid, notes: "120 cells hold an infinite number"},
		"the largest float":               {lie: lie{hole: v(3.4028235e38)}, valid: valid, notes: "120 cells hold an infinite number"},
		"nearly the lowest float":         {lie: lie{hole: v(-3.4028235e38), nodata: v(-3.40282306e38)}, valid: valid},
		"-9999, said":                     {lie: lie{hole: v(-9999), nodata: v(-9999)}, valid: valid},
		"-9999.9, said in double":         {lie: lie{hole: v(-9999.9), nodata: v(-9999.9)}, valid: valid},
		"-9999, not said":                 {lie: lie{hole: v(-9999)}, says: "holds 120 cells of -9999, which is no height on earth and not declared as nodata; set nodata: -9999"},
		"-9999, not said, in degrees":     {lie: lie{hole: v(-9999), geo: degrees(-75, 42), epsg: 4326}, says: "120 cells of -9999"},
		"-9999, told by the survey":       {lie: lie{hole: v(-9999)}, survey: "nodata: -9999, ", valid: valid},
		"another than the survey tells":   {lie: lie{hole: v(-9999)}, survey: "nodata: -32768, ", says: "120 cells of -9999, which is no height on earth, besides the nodata -32768"},
		"-32768 of int16, not said":       {lie: lie{kind: godal.Int16, hole: v(-32768)}, says: "set nodata: -32768"},
		"-32768 of int16, said":           {lie: lie{kind: godal.Int16, hole: v(-32768), nodata: v(-32768)}, valid: valid},
		"65535 of uint16, not said":       {lie: lie{kind: godal.UInt16, hole: v(65535)}, says: "set nodata: 65535"},
		"0 of a byte, said":               {lie: lie{kind: godal.Byte, hole: v(0), nodata: v(0)}, valid: valid},
		"255 of a byte, said":             {lie: lie{kind: godal.Byte, hole: v(255), nodata: v(255)}, valid: valid},
		"255 of a byte, a height":         {lie: lie{kind: godal.Byte, hole: v(255)}, valid: 1},
		"0, a height or a hole":           {lie: lie{hole: v(0)}, valid: 1, notes: "exactly 0"},
		"nothing but none":                {lie: lie{level: true, nodata: v(100)}, says: "holds no height inside the map"},
		"400 m below the sea":             {lie: lie{lift: -530}, valid: 1},
		"6,000 m":                         {lie: lie{lift: 5900}, valid: 1},
		"6,000 m in feet":                 {lie: lie{lift: 5900, scale: 1 / 0.3048}, survey: "unit: ft, ", valid: 1},
		"feet taken for metres":           {lie: lie{lift: 4000, scale: 1 / 0.3048}, valid: 1, notes: "are not found on dry land"},
		"a lake and nothing else":         {lie: lie{level: true}, says: "drains"},
		"one row":                         {lie: lie{w: 200, h: 1}, says: "drains"},
		"one column":                      {lie: lie{w: 1, h: 200}, says: "drains"},
		"one cell":                        {lie: lie{w: 1, h: 1}, says: "drains"},
		"south up":                        {lie: lie{geo: [6]float64{500000, 10, 0, 4700000, 0, 10}}, valid: 1},
		"mirrored":                        {lie: lie{geo: [6]float64{500000, -10, 0, 4700000, 0, -10}}, valid: 1},
		"cells of 10 by 30 m":             {lie: lie{geo: [6]float64{500000, 10, 0, 4700000, 0, -30}}, valid: 0.97},
		"turned by an eighth":             {lie: lie{geo: [6]float64{500000, 10, 10, 4700000, 10, -10}}, valid: 0.5},
		"cells of 1 cm":                   {lie: lie{geo: [6]float64{500000, 0.01, 0, 4700000, 0, -0.01}}, says: "drains"},
		"cells of 10 km":                  {lie: lie{geo: [6]float64{500000, 10000, 0, 4700000, 0, -10000}}, says: "shortlist.max_ha"},
		"no size":                         {lie: lie{geo: [6]float64{500000, 10, 10, 4700000, 10, 10}}, says: "cells of no size"},
		"place of no number":              {lie: lie{geo: [6]float64{nan, 10, 0, 4700000, 0, -10}}, says: "not a number"},
		"across the antimeridian":         {lie: lie{geo: degrees(179.997, 51), epsg: 4326}, valid: 0.9, notes: "180th meridian"},
		"the same, counted from the east": {lie: lie{geo: degrees(-180.003, 51), epsg: 4326}, valid: 0.9, notes: "180th meridian"},
		"across a zone's edge":            {lie: lie{geo: degrees(-78.003, 42), epsg: 4326}, valid: 0.9},
		"south":                           {lie: lie{geo: degrees(-71, -38), epsg: 4326}, valid: 0.9},
		"83 degrees north":                {lie: lie{geo: degrees(-40, 83.5), epsg: 4326}, valid: 0.8},
		"85 degrees north":                {lie: lie{geo: degrees(-40, 85), epsg: 4326}, says: "such as EPSG:3413"},
		"85 degrees north, polar":         {lie: lie{geo: degrees(-40, 85), epsg: 4326}, survey: "unit: m}\nframe: {crs: EPSG:3413, cell: 5, ", valid: 0.53},
		"85 degrees south":                {lie: lie{geo: degrees(-40, -85), epsg: 4326}, says: "such as EPSG:3031"},
		"95 degrees north":                {lie: lie{geo: degrees(-40, 95), epsg: 4326}, says: "not on the globe"},
		"the whole globe":                 {lie: lie{geo: [6]float64{-180, 6, 0, 84, 0, -3.3}, epsg: 4326}, says: "half the way round the earth"},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			c.write(t, filepath.Join(dir, "ground.tif"))
			file := filepath.Join(dir, "survey.yaml")
			survey := c.survey
			if !strings.Contains(survey, "unit") {
				survey += "unit: m, "
			}
			text := "elevation: {path: ground.tif, " + strings.TrimSuffix(survey, ", ") + "}\nstreams: {threshold_km2: 0.02}\n" +
				"shortlist: {threshold: 0.1, min_ha: 0.1, draws: 20}\noutput: {folder: out, layers: [height, uncertainty], preview: false, report: false}\nrun: {cache: none}\n"
			if strings.Contains(c.notes, "180th") { // a page is asked for, and cannot be made
				text = strings.Replace(text, "report: false", "report: true", 1)
			}
			if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
			check := CheckSurvey(t.Context(), file)
			s, err := LoadSurvey(file)
			if err != nil {
				t.Fatal(err)
			}
			r, err := Map(t.Context(), s, nil)
			if c.says != "" {
				if err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), "ground.tif") || strings.Contains(err.Error(), "\n") {
					t.Fatalf("got %v, want one line with %q and the file", err, c.says)
				}
				if check.OK && c.says != "drains" { // which only a run finds out
					t.Error("check found nothing wrong")
				}
				for _, p := range check.Problems {
					if !strings.Contains(p.Text, c.says) {
						t.Errorf("check says %q", p.Text)
					}
				}
				if _, err := os.Stat(s.Output.Folder); err == nil {
					t.Error("a run that failed left a folder")
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if !check.OK {
				t.Errorf("check says %q", check.Problems)
			}
			for who, warnings := range map[string][]string{"map": r.Summary.Warnings, "check": check.Warnings} {
				if all := strings.Join(warnings, "\n"); !strings.Contains(all, c.notes) {
					t.Errorf("%s: %q is not among %q", who, c.notes, all)
				}
			}
			soundNumbers(t, s.Output.Folder, c.valid)
		})
	}
}

// soundNumbers demands JSON of numbers, suitability within 0 and 1 on the share
// of the frame that has ground, and heights above streams that are heights.
func soundNumbers(t *testing.T, folder string, valid float64) {
	t.Helper()
	for _, name := range []string{"run.json", "shortlist.geojson"} {
		data, err := os.ReadFile(filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		var doc any
		if err := json.Unmarshal(data, &doc); err != nil { // which takes neither NaN nor infinity
			t.Errorf("%s: %v", name, err)
		}
	}
	for name, most := range map[string]float64{"suitability.tif": 1, "layers/height.tif": 1000} {
		ds, err := godal.Open(filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		st, band := ds.Structure(), ds.Bands()[0]
		nd, _ := band.NoData()
		cells := make([]float64, st.SizeX*st.SizeY)
		if err := band.Read(0, 0, cells, st.SizeX, st.SizeY); err != nil {
			t.Fatal(err)
		}
		n := 0
		for _, x := range cells {
			if x == nd {
				continue
			}
			n++
			if b := band.Structure(); b.Scale != 0 {
				x = x*b.Scale + b.Offset
			}
			if !(x >= -most && x <= most) {
				t.Fatalf("%s holds %g", name, x)
			}
		}
		if share := float64(n) / float64(len(cells)); name == "suitability.tif" && math.Abs(share-valid) > 0.1 || valid == 1 && share != 1 && name == "suitability.tif" {
			t.Errorf("%s: %.3f of the cells hold a value, want %.3f", name, share, valid)
		}
		if err := ds.Close(); err != nil {
			t.Fatal(err)
		}
	}
}
