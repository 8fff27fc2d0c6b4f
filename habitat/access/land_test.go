package access

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"rillwood/raster"
)

func TestMostCautiousWins(t *testing.T) {
	f := frame(t, 6, 1)
	// Each next box covers one cell less; all are in one layer, worst first.
	path := layer(t, "Polygon", "Unit_Nm Pub_Access",
		row{box(0, 0, 10, 10), []any{"Keep", "XA"}},
		row{box(0, 0, 20, 10), []any{"Blank", "UK"}},
		row{box(0, 0, 30, 10), []any{"Estate", "private"}},
		row{box(0, 0, 40, 10), []any{"Reserve", "RA"}},
		row{box(0, 0, 50, 10), []any{"Park", "OA"}})
	l, warnings := read(t, f, Source{Query: from(path)})
	if warnings != nil {
		t.Errorf("warnings: %q", warnings)
	}
	if got, want := drawn(t, l.Status), "4.321."; got != want {
		t.Errorf("plane %s, want %s", got, want)
	}
	for x, want := range []struct {
		s    Status
		name string
	}{{Closed, "Keep"}, {Unknown, "Blank"}, {Private, "Estate"}, {Permit, "Reserve"}, {Open, "Park"}, {Unknown, ""}} {
		e, n := f.Center(x, 0)
		if s, name := l.At(orb.Point{e, n}); s != want.s || name != want.name {
			t.Errorf("column %d: %v, %q; want %v, %q", x, s, name, want.s, want.name)
		}
	}
	// The same in another layer, the order of layers turned about.
	lower := layer(t, "Polygon", "access", row{box(0, 0, 60, 10), []any{"yes"}})
	for _, sources := range [][]Source{{{Query: from(path)}, {Query: from(lower)}}, {{Query: from(lower)}, {Query: from(path)}}} {
		l, _ := read(t, f, sources...)
		if got, want := drawn(t, l.Status), "4.3211"; got != want {
			t.Errorf("two layers: plane %s, want %s", got, want)
		}
	}
}

// On a shared outline the more cautious of neighbours counts.
func TestAtOnOutline(t *testing.T) {
	f := frame(t, 4, 1)
	path := layer(t, "Polygon", "access", row{box(0, 0, 20, 10), []any{"yes"}}, row{box(20, 0, 40, 10), []any{"no"}})
	l, _ := read(t, f, Source{Query: from(path)})
	for _, c := range []struct {
		e, n float64
		want Status
	}{{20, 5, Closed}, {20, 0, Closed}, {20, 10, Closed}, {0, 5, Open}, {0, 10, Open}, {40, 0, Closed}, {19.999, 5, Open}, {40.001, 5, Unknown}, {math.NaN(), 5, Unknown}} {
		if s, _ := l.At(orb.Point{500000 + c.e, 4600000 + c.n}); s != c.want {
			t.Errorf("at %g, %g: %v, want %v", c.e, c.n, s, c.want)
		}
	}
}

func TestUnknownIsNeverOpen(t *testing.T) {
	f := frame(t, 6, 1)
	path := layer(t, "Polygon", "name Pub_Access",
		row{box(0, 0, 10, 10), []any{"a", "OPEN?"}},
		row{box(10, 0, 20, 10), []any{"b", nil}},
		row{box(20, 0, 30, 10), []any{"c", ""}},
		row{box(30, 0, 40, 10), []any{"d", "OPEN?"}},
		row{box(40, 0, 50, 10), []any{"e", " oa"}})
	l, warnings := read(t, f, Source{Query: from(path)})
	if got, want := drawn(t, l.Status), "....1."; got != want {
		t.Errorf("plane %s, want %s", got, want)
	}
	// One line, however many polygons: NULL and empty text are the same.
	if len(warnings) != 1 || !strings.Contains(warnings[0], `column "Pub_Access": 4 polygons with a value that is not in the table (no value: 2, "OPEN?": 2); taken as not known`) {
		t.Errorf("warnings: %q", warnings)
	}
	// A table of the user's own is laid over the built-in ones.
	l, warnings = read(t, f, Source{Query: from(path), Values: Values{"open?": Open}})
	if got, want := drawn(t, l.Status), "1..11."; got != want || len(warnings) != 1 {
		t.Errorf("own table: plane %s, want %s; %q", got, want, warnings)
	}
}

func TestReadColumns(t *testing.T) {
	f := frame(t, 3, 1)
	whole := func(values ...any) []row {
		var rows []row
		for i, v := range values {
			rows = append(rows, row{box(float64(10*i), 0, float64(10*i+10), 10), []any{"n", v}})
		}
		return rows
	}
	for _, c := range []struct {
		name    string
		columns string
		values  []any
		source  Source
		want    string
		warning string
	}{
		{"found whatever the case", "NAME ACCESS", []any{"yes", "no", "private"}, Source{}, "143", ""},
		{"named", "name owner", []any{"club", "state", "state"}, Source{Field: "Owner", Values: Values{"club": Private, "State": Permit}}, "322", ""},
		{"closed stays closed beside a table that does not name it", "name Pub_Access", []any{"XA", "no", "oa"}, Source{Values: Values{"RA": Open}}, "441", ""},
		{"a value that the table names wins", "name Pub_Access", []any{"Ra", "OA", "UK"}, Source{Values: Values{"ra ": Open, "oa": Closed}}, "14.", ""},
		{"whole numbers", "name code#", []any{1, 2, 3}, Source{Field: "code", Values: Values{"1": Open, "2": Closed}}, "14.", `1 polygon with a value that is not in the table ("3": 1)`},
		{"one status for all", "name owner", []any{"x", "y", nil}, Source{Status: Private, HasStatus: true}, "333", ""},
		{"unknown for all", "name owner", []any{"x", "y", "z"}, Source{HasStatus: true}, "...", ""},
		{"column and status: the more cautious", "name access", []any{"yes", "no", nil}, Source{Status: Permit, HasStatus: true}, "242", "the more cautious counts"},
		{"column and private: unknown says less", "name access", []any{"unknown", "no", "yes"}, Source{Status: Private, HasStatus: true}, "343", "the more cautious counts"},
		{"column and open", "name access", []any{"unknown", "yes", nil}, Source{Status: Open, HasStatus: true}, ".11", "the more cautious counts"},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.source.Query = from(layer(t, "Polygon", c.columns, whole(c.values...)...))
			l, warnings := read(t, f, c.source)
			if got := drawn(t, l.Status); got != c.want {
				t.Errorf("plane %s, want %s", got, c.want)
			}
			if c.warning == "" && warnings != nil || c.warning != "" && (len(warnings) != 1 || !strings.Contains(warnings[0], c.warning)) {
				t.Errorf("warnings: %q, want %q", warnings, c.warning)
			}
		})
	}
}

func TestReadRefuses(t *testing.T) {
	f := frame(t, 3, 3)
	parks := layer(t, "Polygon", "name owner", row{box(0, 0, 10, 10), []any{"a", "b"}})
	lines := layer(t, "LineString", "name", row{shift(orb.LineString{{0, 0}, {10, 10}}), []any{"a"}})
	points := layer(t, "Point", "access", row{shift(orb.Point{5, 5}), []any{"yes"}})
	table := layer(t, "", "access", row{nil, []any{"yes"}})
	for _, c := range []struct {
		name   string
		source Source
		want   []string
	}{
		{"neither column nor status", Source{Query: from(parks)}, []string{"made.gpkg", `layer "made"`, `"name", "owner"`, "pub_access", "one status"}},
		{"no such column", Source{Query: from(parks), Field: "acess"}, []string{`no field "acess"`, `"owner"`}},
		{"no such name column", Source{Query: from(parks), HasStatus: true, NameField: "nome"}, []string{`no field "nome"`}},
		{"lines, and no column either", Source{Query: from(lines)}, []string{"made.gpkg", "1 line", "polygons are wanted"}},
		{"points", Source{Query: from(points)}, []string{"1 point", "polygons are wanted"}},
		{"a table", Source{Query: from(table)}, []string{"made.gpkg"}},
		{"a status that is none", Source{Query: from(parks), Status: 77, HasStatus: true}, []string{"status 77", "use one of unknown, open"}},
		{"a table at odds with itself", Source{Query: from(parks), Field: "owner", Values: Values{"b": Open, "B": Closed}}, []string{`"B" and "b" are the same`}},
		{"no file", Source{Query: from("none.gpkg"), HasStatus: true}, []string{"none.gpkg"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, warnings, err := Read(context.Background(), []Source{{Query: from(parks), HasStatus: true}, c.source}, f, nil, 2)
			if err == nil || l != nil || warnings != nil {
				t.Fatalf("%v, %q, %v", l, warnings, err)
			}
			if !strings.HasPrefix(err.Error(), "access: ") || strings.Contains(err.Error(), "\n") {
				t.Errorf("%v", err)
			}
			for _, w := range c.want {
				if !strings.Contains(err.Error(), w) {
					t.Errorf("%v; want %q", err, w)
				}
			}
		})
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := Read(ctx, []Source{{Query: from(parks), HasStatus: true}}, f, nil, 1); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// Layers that say nothing of the map leave it unknown, with a word about it.
func TestReadOfNothing(t *testing.T) {
	f := frame(t, 3, 2)
	for _, c := range []struct {
		name, want string
		path       string
	}{
		{"empty", "no features in it", text(t, "none.geojson", `{"type":"FeatureCollection","features":[]}`)},
		{"elsewhere", "outside the bounds", layer(t, "Polygon", "access", row{box(90000, 0, 90010, 10), []any{"yes"}})},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, warnings := read(t, f, Source{Query: from(c.path)})
			if got := drawn(t, l.Status); got != ".../..." || len(l.Units) != 0 {
				t.Errorf("plane %s, %d units", got, len(l.Units))
			}
			if len(warnings) != 1 || !strings.Contains(warnings[0], c.want) {
				t.Errorf("warnings %q, want %q", warnings, c.want)
			}
		})
	}
	// Latitude before longitude: the same park, its two numbers changed over.
	swapped := text(t, "swapped.geojson", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"access":"yes"},
		"geometry":{"type":"Polygon","coordinates":[[[41.55,-93],[41.55,-92.99],[41.56,-92.99],[41.56,-93],[41.55,-93]]]}}]}`)
	if _, _, err := Read(context.Background(), []Source{{Query: from(swapped)}}, f, nil, 1); err == nil || !strings.Contains(err.Error(), "swapped") {
		t.Errorf("swapped axes: %v", err)
	}
	l, warnings := read(t, f)
	if s, name := l.At(orb.Point{500005, 4600005}); s != Unknown || name != "" || warnings != nil {
		t.Errorf("no source at all: %v, %q, %q", s, name, warnings)
	}
	(*Land)(nil).Close()
}

// The same bytes whatever the workers and wherever the planes live.
func TestReadIsDeterministic(t *testing.T) {
	f := frame(t, 40, 30)
	var sources []Source
	for _, s := range []uint64{1, 2, 3} {
		var rows []row
		for _, u := range someUnits(newRand(s), 12, 400, 300) {
			rows = append(rows, row{u.Geometry, []any{u.Name, u.Status.String()}})
		}
		sources = append(sources, Source{Query: from(layer(t, "MultiPolygon", "name access", rows...)),
			Values: Values{"unknown": Unknown, "open": Open, "permit": Permit, "private": Private, "closed": Closed}})
	}
	scratch, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer scratch.Close()
	want, _ := read(t, f, sources...)
	for _, workers := range []int{1, 3} {
		got, _, err := Read(context.Background(), sources, f, scratch, workers)
		if err != nil {
			t.Fatal(err)
		}
		if drawn(t, got.Status) != drawn(t, want.Status) {
			t.Errorf("%d workers: another plane", workers)
		}
		if !slices.EqualFunc(got.Units, want.Units, func(a, b Unit) bool { return cmp.Equal(a, b) }) {
			t.Errorf("%d workers: other units", workers)
		}
		got.Close()
	}
}
