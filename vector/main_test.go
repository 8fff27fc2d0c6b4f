package vector

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"
)

// shared gives the path of a file of real data kept outside the repository,
// and skips the test when it is not there.
func shared(t testing.TB, parts ...string) string {
	t.Helper()
	root := os.Getenv("RILLWOOD_SHARED")
	if root == "" {
		root = filepath.Join("..", "..", "shared")
	}
	p := filepath.Join(append([]string{root}, parts...)...)
	if _, err := os.Stat(p); err != nil {
		t.Skipf("real data not here: set RILLWOOD_SHARED to the folder that holds %s", filepath.Join(parts...))
	}
	return p
}

func write(t testing.TB, name, text string) string {
	t.Helper()
	p := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return p
}

func mustCRS(t testing.TB, code int) CRS {
	t.Helper()
	c, err := CRSFromEPSG(code)
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
