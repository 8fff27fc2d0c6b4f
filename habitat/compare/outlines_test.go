package compare

import (
	"path/filepath"
	"strings"
	"testing"

	"rillwood/internal/judges"
)

// The outlines of both lists are valid, each with its status, and shapely finds
// the shares of ground that pairs were made by.
func TestChangesBeforeJudges(t *testing.T) {
	a := made{run: "a", suit: flat(0.7), patches: []patch{square(0, 0, 0.9), square(20, 5, 0.8), square(40, 20, 0.7)}}
	b := made{run: "b", suit: flat(0.7), patches: []patch{square(22, 7, 0.9), square(3, 2, 0.8), square(10, 28, 0.7)}}
	r := compared(t, a.write(t), b.write(t))
	path := filepath.Join(t.TempDir(), "changes.geojson")
	if err := r.WriteChanges(path); err != nil {
		t.Fatal(err)
	}
	judges.Quiet(t, path)
	got := python(t, "shapely, geopandas", `
import sys, geopandas
g = geopandas.read_file(sys.argv[1])
assert g.geometry.is_valid.all() and g.crs.to_epsg() == 4326
p = g.to_crs(32616)
out = []
for _, x in p[p.outline == 'before'].iterrows():
    y = p[(p.outline == 'after') & (p.rank_before == x.rank_before)]
    share = 0 if y.empty else x.geometry.intersection(y.geometry.iloc[0]).area / 1e4
    out.append('%s %d %.2f %.2f' % (x.status, x.rank_before, share, x.shared_ha))
    assert y.empty or (y.status == x.status).all()
print('; '.join(sorted(out)), len(p))
`, path)
	if want := "fell 1 0.56 0.56; left 3 0.00 0.00; rose 2 0.64 0.64 6"; strings.TrimSpace(got) != want {
		t.Errorf("got %s, want %s", got, want)
	}
}
