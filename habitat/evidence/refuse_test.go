package evidence

import (
	"context"
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rillwood/raster"
	"rillwood/vector"
)

func TestReadRefuses(t *testing.T) {
	f := utm(t, 2, 1)
	q := layer(t, f, "Polygon", []string{"NAME", "KIND"}, shape{box(0, 0, 1, 1), []any{"a", "b"}})
	soils, inside := builtin(t, "soils"), builtin(t, "inside")
	codes := codesTIFF(t, f, []uint8{1, 2}, nil)
	for _, c := range []struct {
		name string
		src  Source
		want string
	}{
		{"no table", Source{Query: q}, "no table"},
		{"a table that is none", Source{Query: q, Table: &Table{Name: "x", Rows: []Row{{Field: "f", Value: "v", Shift: 11}}}}, `table "x", row 1: shift: found 11`},
		{"neither kind", Source{Table: inside}, "either polygons or a raster"},
		{"both kinds", Source{Table: inside, Query: q, Raster: codes}, "either polygons or a raster"},
		{"what to do with unknown values", Source{Query: q, Table: inside, Unknown: "guess"}, `unknown: found "guess"; want neutral or stop`},
		{"a field the table lacks", Source{Query: q, Table: soils, Fields: map[string]string{"zone": "KIND"}}, `no field "zone"; it has "flooding", "drainage", "subgroup"`},
		{"a column the layer lacks", Source{Query: q, Table: soils, Fields: map[string]string{"flooding": "FREQ"}}, `no column "FREQ" for field "flooding"; it has "NAME", "KIND"`},
		{"no usual column", Source{Query: q, Table: soils}, `none of the columns that the table "soils" reads ("flodfreqcd", "flodfreqdcd"`},
		{"no usual column: those it has", Source{Query: q, Table: soils}, `it has "NAME", "KIND"; name the right one under fields`},
		{"no file", Source{Query: vector.Query{Path: "none.gpkg"}, Table: inside}, `"none.gpkg"`},
		{"no raster", Source{Raster: &raster.Source{Paths: []string{"none.tif"}}, Table: inside}, `"none.tif"`},
		{"codes of which field", Source{Raster: codes, Table: soils}, "not clear which field"},
		{"codes of two fields", Source{Raster: codes, Table: soils, Fields: map[string]string{"flooding": "", "drainage": ""}}, "2 named"},
		{"unknown codes", Source{Raster: codes, Table: inside, Unknown: UnknownStop}, `inside "2" (1 cell) not in the table "inside"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.src.Name = "layer one"
			items, _, err := Read(t.Context(), c.src, f, nil, 1)
			if err == nil || !strings.HasPrefix(err.Error(), `evidence "layer one": `) || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("error %v, want one line with %s", err, c.want)
			}
			if items != nil {
				t.Errorf("items %v beside an error", items)
			}
		})
	}
}

// After a refusal nothing is left in the scratch folder.
func TestRefusalLeavesNoFiles(t *testing.T) {
	f := utm(t, 2, 1)
	scratch, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer scratch.Close()
	src := Source{Name: "z", Query: layer(t, f, "Polygon", []string{"FLD_ZONE"}, shape{box(0, 0, 1, 1), []any{"odd"}}), Table: builtin(t, "flood-zones"), Unknown: UnknownStop}
	if _, _, err := Read(t.Context(), src, f, scratch, 1); err == nil {
		t.Fatal("accepted")
	}
	if left := scratch.Files(); left > 0 {
		t.Errorf("%d planes left in files", left)
	}
}

// A run that is called off ends with its error, and leaves no files either.
func TestCalledOff(t *testing.T) {
	f := utm(t, 2, 1)
	scratch, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer scratch.Close()
	src := Source{Name: "mine", Query: layer(t, f, "Polygon", nil, shape{box(0, 0, 1, 1), nil}), Table: builtin(t, "inside")}
	items, _ := read(t, src, f)
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, _, err := Read(ctx, src, f, scratch, 2); !errors.Is(err, context.Canceled) {
		t.Errorf("Read: error %v", err)
	}
	if _, _, err := CombinePlanes(ctx, items, DefaultRule(), f, scratch, 2); !errors.Is(err, context.Canceled) {
		t.Errorf("CombinePlanes: error %v", err)
	}
	if left := scratch.Files(); left > 0 {
		t.Errorf("%d planes left in files", left)
	}
}

// codesTIFF writes a raster of codes on the frame.
func codesTIFF[T raster.Elem](t testing.TB, f raster.Frame, cells []T, nodata *float64) *raster.Source {
	t.Helper()
	path := filepath.Join(t.TempDir(), "codes.tif")
	s, err := raster.CreateTIFF[T](path, f, raster.TIFFOptions{NoData: nodata, Raw: true})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.WriteRows(0, f.H, cells); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return &raster.Source{Paths: []string{path}}
}

func TestRasterOfCodes(t *testing.T) {
	f := utm(t, 4, 2)
	none := 0.0
	table := mustTable(t, header+"\ndrainage,Poorly drained,0.5,,\nflooding,1,2,frequent,\nflooding,2,1,rare,\nflooding,4000,-1,none,\n")
	src := Source{Name: "flooding", Raster: codesTIFF(t, f, []uint16{1, 2, 0, 4000, 7, 1, 7, 9}, &none), Table: table}
	items, warnings := read(t, src, f)
	if len(items) != 1 || items[0].Field != "flooding" {
		t.Fatalf("items %+v", items)
	}
	if got, want := cellsOf(t, items[0].Plane), []uint8{1, 2, 0, 3, 0, 1, 0, 0}; !slices.Equal(got, want) {
		t.Errorf("places %v, want %v", got, want)
	}
	if want := []string{`evidence "flooding": values flooding "7" (2 cells), flooding "9" (1 cell) not in the table "own.csv"; taken as neutral`}; !slices.Equal(warnings, want) {
		t.Errorf("warnings %q, want %q", warnings, want)
	}
	away := f
	away.X0 += 1e4
	items, warnings = read(t, src, away)
	if !slices.Equal(cellsOf(t, items[0].Plane), make([]uint8, 8)) || len(warnings) != 1 || !strings.Contains(warnings[0], "taken as neutral") {
		t.Errorf("outside the map: %v, warnings %q", cellsOf(t, items[0].Plane), warnings)
	}
	twice := mustTable(t, header+"\ndrainage,1,0.5,,\nflooding,1,2,,\n")
	src = Source{Name: "codes", Raster: codesTIFF(t, f, []uint8{1, 1, 1, 1, 1, 1, 1, 1}, nil), Table: twice, Fields: map[string]string{"drainage": ""}}
	if items, _ := read(t, src, f); items[0].Field != "drainage" || items[0].Classes[0].Cells != 8 {
		t.Errorf("field named: %+v", items)
	}
	inside := Source{Name: "mine", Raster: codesTIFF(t, f, []uint8{0, 1, 0, 1, 1, 1, 0, 0}, nil), Table: builtin(t, "inside")}
	items, warnings = read(t, inside, f)
	if c := counts(items[0]); c["1"] != 4 || c["0"] != 4 || len(warnings) > 0 {
		t.Errorf("raster of 0 and 1: %v, warnings %q", c, warnings)
	}
}
