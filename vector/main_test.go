package vector

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// Taken before anything calls Setup, whose settings are this program's own.
var environment = os.Environ()

// command is one of GDAL's programs, in the environment the tests began with.
func command(name string, args ...string) *exec.Cmd {
	c := exec.Command(name, args...)
	c.Env = environment
	return c
}

func write(t testing.TB, name, text string) string {
	t.Helper()
	p := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return p
}

func mustCRS(t testing.TB, code int) raster.CRS {
	t.Helper()
	c, err := raster.ParseCRS(fmt.Sprintf("EPSG:%d", code))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// gpkg writes layers in EPSG:code to a new GeoPackage.
func gpkg(t testing.TB, code int, layers ...OutLayer) string {
	t.Helper()
	p := filepath.Join(t.TempDir(), "made.gpkg")
	if err := WriteGeoPackage(p, mustCRS(t, code).WKT, layers); err != nil {
		t.Fatal(err)
	}
	return p
}

// rivers is a small layer with NULLs, zeros and empty texts.
func rivers() OutLayer {
	return OutLayer{
		Name: "rivers", Geometry: "MultiLineString",
		Fields: []FieldInfo{{"name", "String"}, {"order", "Integer64"}, {"area_km2", "Real"}},
		Features: []Feature{
			{Geometry: orb.LineString{{500000, 4600000}, {500100, 4600050}}, Values: []Value{TextValue("Rill"), IntValue(0), FloatValue(0)}},
			{Geometry: orb.LineString{{500100, 4600050}, {500300, 4600050}}, Values: []Value{{}, {}, {}}},
			{Geometry: orb.MultiLineString{{{500300, 4600050}, {500400, 4600100}}}, Values: []Value{TextValue(""), IntValue(3), FloatValue(12.5)}},
		},
	}
}

func readFile(t testing.TB, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}
