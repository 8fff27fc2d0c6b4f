package vector

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/internal/shareddata"
)

// Streams of a real geodatabase: 3D measured multi line strings in NAD83.
func TestReadGeodatabase(t *testing.T) {
	for _, name := range []string{"NHDPlus_HR_1.gdb", "NHDPlus_HR_2.gdb"} {
		path := shareddata.Path(t, "realdata", "02-neversink-ny", name)
		l, err := Read(context.Background(), Query{Path: path, Fields: []string{"fcode", "GNIS_Name"}}, mustCRS(t, 5070).WKT)
		if err != nil {
			t.Fatal(err)
		}
		if l.EPSG != 4269 || l.Layer != "NHDFlowline" || l.Geometry != "3D Measured Multi Line String" {
			t.Errorf("%s: EPSG %d, layer %q, geometry %q", name, l.EPSG, l.Layer, l.Geometry)
		}
		if want := ogrinfoCount(t, path, "NHDFlowline", ""); len(l.Features) != want {
			t.Errorf("%s: %d features, ogrinfo counts %d", name, len(l.Features), want)
		}
		where := "FCode IN (46006, 55800) AND GNIS_Name IS NOT NULL"
		sub, err := Read(context.Background(), Query{Path: path, Where: where}, "")
		if err != nil {
			t.Fatal(err)
		}
		want := ogrinfoCount(t, path, "NHDFlowline", where)
		byHand := 0
		for _, f := range l.Features {
			if c := f.Values[0].String(); (c == "46006" || c == "55800") && !f.Values[1].IsNull() {
				byHand++
			}
		}
		if len(sub.Features) != want || byHand != want || want == 0 {
			t.Errorf("%s: %d features by filter, %d by hand, ogrinfo counts %d", name, len(sub.Features), byHand, want)
		}
		box := l.Features[0].Geometry.Bound()
		for _, f := range l.Features {
			if _, ok := f.Geometry.(orb.MultiLineString); !ok {
				t.Fatalf("%s: FID %d is a %T", name, f.FID, f.Geometry)
			}
			box = box.Union(f.Geometry.Bound())
		}
		// The area's elevation model spans 1742955–1773905 E, 2258285–2292285 N.
		if box.Min[0] < 1.73e6 || box.Max[0] > 1.79e6 || box.Min[1] < 2.24e6 || box.Max[1] > 2.31e6 {
			t.Errorf("%s: box %v is not where the Neversink is", name, box)
		}
		table, err := Read(context.Background(), Query{Path: path, Layer: "NHDPlusFlowlineVAA", Fields: []string{"TotDASqKm"}}, mustCRS(t, 5070).WKT)
		if err != nil {
			t.Fatal(err)
		}
		if len(table.Features) != ogrinfoCount(t, path, "NHDPlusFlowlineVAA", "") || table.Features[0].Geometry != nil {
			t.Errorf("%s: table of %d rows, first geometry %v", name, len(table.Features), table.Features[0].Geometry)
		}
	}
}

func ogrinfoCount(t *testing.T, path, layer, where string) int {
	t.Helper()
	tool, err := exec.LookPath("ogrinfo")
	if err != nil {
		t.Skip("ogrinfo is not installed")
	}
	args := []string{"-ro", "-so", path, layer}
	if where != "" {
		args = append(args, "-where", where)
	}
	out, err := command(tool, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("ogrinfo: %v\n%s", err, out)
	}
	m := regexp.MustCompile(`Feature Count: (\d+)`).FindSubmatch(out)
	if m == nil {
		t.Fatalf("no count in %s", out)
	}
	n := 0
	fmt.Sscan(string(m[1]), &n)
	return n
}

// Files made to break readers: each gives features or one line of error.
func TestReadHostileFiles(t *testing.T) {
	target := mustCRS(t, 32618).WKT
	for _, dir := range []string{"vector", "geojson-bad"} {
		files, err := os.ReadDir(shareddata.Path(t, "realdata", "robustness", dir))
		if err != nil {
			t.Fatal(err)
		}
		if len(files) == 0 {
			t.Fatalf("no file in %s", dir)
		}
		for _, f := range files {
			for i, kind := range []Kind{Any, Any, Polygons, Lines, Points} {
				to := []string{"", target}[i%2]
				path := filepath.Join(shareddata.Path(t, "realdata", "robustness", dir), f.Name())
				l, err := Read(context.Background(), Query{Path: path, Kind: kind}, to)
				switch {
				case err != nil:
					oneCleanLine(t, err.Error())
					if len(err.Error()) < 20 {
						t.Errorf("%s: error does not say much: %q", f.Name(), err)
					}
				case err == nil && len(l.Features) == 0 && len(l.Warnings) == 0:
					t.Errorf("%s: nothing read and nothing said", f.Name())
				}
				for _, w := range l.Warnings {
					oneCleanLine(t, w)
				}
				for _, x := range l.Features {
					if kind != Any && x.Geometry != nil && (kindOf(x.Geometry) != kind || kind == Polygons && judgesShapes() && !geosValid(t, x.Geometry)) {
						t.Errorf("%s: FID %d asked for as %v is %v", f.Name(), x.FID, kind, x.Geometry)
					}
				}
				if testing.Verbose() {
					t.Logf("%s as %v: %d features, %v, %v", f.Name(), kind, len(l.Features), l.Warnings, err)
				}
			}
		}
	}
}
