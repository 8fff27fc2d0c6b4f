package access

import (
	"context"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rillwood/vector"
)

func TestPresetsTable(t *testing.T) {
	// The vocabulary of land cover, kept by the package that imports this one.
	groups := []string{"orchard", "crop", "built_low", "built"}
	columns := []string{"landuse", "man_made", "railway", "highway", "aeroway", "military", "leisure", "amenity"}
	word := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	value := regexp.MustCompile(`^[a-z_]+$`)
	seen := map[string]bool{}
	for _, p := range Presets() {
		if !word.MatchString(p.Name) || seen[p.Name] || p.What == "" || p.Reason == "" || !(p.DistanceM >= 0 && p.DistanceM <= 500) || len(p.tags) == 0 {
			t.Errorf("%+v", p)
		}
		seen[p.Name] = true
		for _, g := range p.Groups {
			if !slices.Contains(groups, g) {
				t.Errorf("%s: group %q", p.Name, g)
			}
		}
		for _, tag := range p.tags {
			if !slices.Contains(columns, tag.column) || len(tag.values) == 0 {
				t.Errorf("%s: column %q with %d values", p.Name, tag.column, len(tag.values))
			}
			for _, v := range tag.values {
				if !value.MatchString(v) {
					t.Errorf("%s: value %q", p.Name, v)
				}
			}
		}
		got, err := PresetNamed(strings.ToUpper(p.Name))
		if err != nil || got.Name != p.Name {
			t.Errorf("%s by name: %s, %v", p.Name, got.Name, err)
		}
	}
	if _, err := PresetNamed("rail roads"); err == nil || !strings.Contains(err.Error(), `no preset "rail roads"; there are railways, `) {
		t.Errorf("a preset that is none: %v", err)
	}
}

func TestPresetWhere(t *testing.T) {
	for _, c := range []struct {
		preset  string
		columns []string
		want    string
		wrong   string
	}{
		{"landfill", []string{"fid", "LandUse"}, `"LandUse" IN ('landfill')`, ""},
		{"landfill", []string{"amenity", "landuse"}, `("landuse" IN ('landfill') OR "amenity" IN ('waste_transfer_station'))`, ""},
		{"golf-courses", []string{"landuse", "amenity"}, "", `preset "golf-courses" looks for tags in the columns leisure, and the layer has ["landuse" "amenity"]`},
		{"golf-courses", nil, "", "the layer has no columns"},
	} {
		p, err := PresetNamed(c.preset)
		if err != nil {
			t.Fatal(err)
		}
		got, err := p.Where(c.columns)
		if got != c.want || (err == nil) != (c.wrong == "") || err != nil && !strings.Contains(err.Error(), c.wrong) {
			t.Errorf("%s of %q: %q, %v; want %q, %q", c.preset, c.columns, got, err, c.want, c.wrong)
		}
	}
}

// The filters are asked of GDAL itself, in a database and in a text file: each
// preset finds its own tags and nothing else, also joined with another filter.
func TestPresetsFind(t *testing.T) {
	var columns []string
	var rows []row
	var all [][2]string // column and value of each row
	for _, p := range Presets() {
		for _, tag := range p.tags {
			if !slices.Contains(columns, tag.column) {
				columns = append(columns, tag.column)
			}
			for _, v := range append(tag.values, "no", "garages") {
				all = append(all, [2]string{tag.column, v})
			}
		}
	}
	json := []string{}
	for i, a := range all {
		values := make([]any, len(columns))
		values[slices.Index(columns, a[0])] = a[1]
		rows = append(rows, row{box(float64(i), 0, float64(i+1), 1), values})
		json = append(json, `{"type":"Feature","properties":{"`+a[0]+`":"`+a[1]+`"},"geometry":{"type":"Point","coordinates":[1,1]}}`)
	}
	for _, path := range []string{
		layer(t, "Polygon", strings.Join(columns, " "), rows...),
		text(t, "tags.geojson", `{"type":"FeatureCollection","features":[`+strings.Join(json, ",")+`]}`),
	} {
		for _, p := range Presets() {
			where, err := p.Where(columns)
			if err != nil {
				t.Fatal(err)
			}
			for _, join := range []string{where, `(1 = 1) AND (` + where + `)`, where + ` AND 1 = 1`} {
				l, err := vector.Read(context.Background(), vector.Query{Path: path, Where: join, Fields: columns}, "")
				if err != nil {
					t.Fatalf("%s: %v", p.Name, err)
				}
				var got, want [][2]string
				for _, ft := range l.Features {
					for k, v := range ft.Values {
						if !v.IsNull() {
							got = append(got, [2]string{columns[k], v.String()})
						}
					}
				}
				for _, a := range all {
					if slices.ContainsFunc(p.tags, func(t tag) bool { return t.column == a[0] && slices.Contains(t.values, a[1]) }) {
						want = append(want, a)
					}
				}
				if d := cmp.Diff(want, got); d != "" {
					t.Errorf("%s, %s (-want +got):\n%s", p.Name, join, d)
				}
			}
		}
	}
}
