package habitat

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"rillwood/raster"
	"rillwood/vector"
)

func rasterReport(role string, i raster.Info) LayerReport {
	r := LayerReport{Role: role, Path: i.Path, Driver: i.Driver, CRS: i.CRS.Name, EPSG: i.CRS.EPSG,
		Size: fmt.Sprintf("%d × %d cells, %s, %s", i.W, i.H, i.Type, nodataText(i)), Extent: i.Bounds(), Found: []string{}, Plan: []string{}}
	cx, cy := math.Hypot(i.Geo[1], i.Geo[4]), math.Hypot(i.Geo[2], i.Geo[5])
	unit := i.CRS.UnitName
	if cx == cy {
		r.Cell = fmt.Sprintf("%.6g %s", cx, unit)
	} else {
		r.Cell = fmt.Sprintf("%.6g × %.6g %s", cx, cy, unit)
	}
	return r
}

func vectorReport(role string, i vector.Info) LayerReport {
	r := LayerReport{Role: role, Path: i.Path, Driver: i.Driver, Layer: i.Layer, CRS: i.CRSName, EPSG: i.EPSG,
		Size: fmt.Sprintf("%d features, %s", i.Count, i.Geometry), Extent: i.Extent, Found: []string{}, Plan: []string{}}
	var names []string
	for _, f := range i.Fields {
		names = append(names, f.Name)
	}
	if len(names) > 0 {
		shown := names
		more := ""
		if len(names) > 24 {
			shown, more = names[:24], fmt.Sprintf(" and %d more", len(names)-24)
		}
		r.Found = append(r.Found, "fields "+strings.Join(shown, ", ")+more)
	}
	return r
}

// overlap is the share of the frame inside the bounds of a layer.
func overlap(b [4]float64, wkt string, f raster.Frame) float64 {
	t, err := raster.TransformBounds(b, wkt, f.WKT)
	if err != nil {
		return 0
	}
	w, s, e, n := f.Bounds()
	x, y := min(t[2], e)-max(t[0], w), min(t[3], n)-max(t[1], s)
	if x <= 0 || y <= 0 {
		return 0
	}
	return x * y / ((e - w) * (n - s))
}

func polygonArea(g orb.MultiPolygon) float64 { return math.Abs(planar.Area(g)) }

func sortedCounts(m map[string]int) []string {
	var out []string
	for k, n := range m {
		out = append(out, fmt.Sprintf("%s %d", k, n))
	}
	sort.Strings(out)
	return out
}

// classShares lists the classes found, commonest first.
func classShares(l *Legend, counts map[int]int64) []string {
	type share struct {
		text string
		n    int64
		code int
	}
	var all []share
	var sum int64
	for code, n := range counts {
		sum += n
		name := "not in the legend"
		if slot, ok := l.Slot(code); ok {
			class, _ := l.Class(slot)
			name = class.Name
		}
		all = append(all, share{name, n, code})
	}
	sort.Slice(all, func(a, b int) bool {
		if all[a].n != all[b].n {
			return all[a].n > all[b].n
		}
		return all[a].code < all[b].code
	})
	var out []string
	for _, s := range all {
		out = append(out, fmt.Sprintf("%d %s %.1f %%", s.code, s.text, 100*float64(s.n)/float64(sum)))
	}
	if len(out) == 0 {
		return nil
	}
	return []string{"classes " + strings.Join(out, ", ")}
}
