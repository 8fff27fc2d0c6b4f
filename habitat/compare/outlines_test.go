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
	got := python(t, `
import sys, json
from osgeo import osr
from shapely.geometry import shape
from shapely.ops import transform
to = osr.SpatialReference(); to.ImportFromEPSG(32616)
geo = osr.SpatialReference(); geo.ImportFromEPSG(4326)
for s in (to, geo): s.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
move = osr.CoordinateTransformation(geo, to)
sides = {'before': {}, 'after': {}}
features = json.load(open(sys.argv[1]))['features']
for f in features:
    p, g = f['properties'], shape(f['geometry'])
    assert g.is_valid and g.exterior.is_ccw
    g = transform(lambda x, y: tuple(zip(*[move.TransformPoint(a, b)[:2] for a, b in zip(x, y)])), g)
    sides[p['outline']][p['rank_' + p['outline']]] = (p, g)
out = []
for rank, (p, g) in sides['before'].items():
    share = 0
    if p['rank_after']:
        q, h = sides['after'][p['rank_after']]
        assert q['rank_before'] == rank and q['status'] == p['status']
        share = g.intersection(h).area / 1e4
    out.append('%s %d %.2f %.2f' % (p['status'], rank, share, p['shared_ha']))
print('; '.join(sorted(out)), len(features))
`, path)
	if want := "fell 1 0.56 0.56; left 3 0.00 0.00; rose 2 0.64 0.64 6"; strings.TrimSpace(got) != want {
		t.Errorf("got %s, want %s", got, want)
	}
}
