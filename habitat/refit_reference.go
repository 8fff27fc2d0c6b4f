package habitat

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// Reference is a layer that shows where the bottoms are: alluvium of a geology
// map, a mapped floodplain. Polygons are told by a field's values, or with
// Inside by their shape; a raster by its codes.
type Reference struct {
	Path, Layer, Where, CRS string   // as of any vector or raster layer
	Field                   string   // of polygons
	Values                  []string // of the field, or codes of the raster (single, or ranges such as 11-39), that are bottom
	Known                   []string // values or codes that are mapped ground at all; none: every one
	Inside                  bool     // polygons alone are bottom; the rest of their bounding box is not
	Nodata                  *float64 // of a raster that declares none, or a wrong one
}

// What a cell of the reference is.
const (
	refUnknown = 0
	refOther   = 1
	refBottom  = 2
)

// referenceOn lays the reference on a frame: one of the three marks above for
// each cell. heard says what was found, for a person.
func referenceOn(ctx context.Context, ref Reference, f raster.Frame, workers int) (marks *raster.Plane[uint8], heard []string, err error) {
	if marks, err = raster.NewPlane[uint8](f.W, f.H, nil); err != nil {
		return nil, nil, err
	}
	if isRasterFile(ref.Path, ref.CRS) {
		heard, err = ref.codes(ctx, f, workers, marks)
	} else {
		heard, err = ref.polygons(ctx, f, marks)
	}
	if err != nil {
		return nil, nil, fmt.Errorf("reference layer %q: %w", ref.Path, err)
	}
	return marks, heard, nil
}

func (ref Reference) codes(ctx context.Context, f raster.Frame, workers int, marks *raster.Plane[uint8]) ([]string, error) {
	switch {
	case ref.Field != "":
		return nil, fmt.Errorf("a raster has no field %q; give its codes with --values alone", oneLine(ref.Field))
	case ref.Inside:
		return nil, errors.New("a raster has codes, not shapes; give those of the bottoms with --values in place of --inside")
	case len(ref.Values) == 0:
		return nil, errors.New("which codes are bottom? give them, such as --values 17,26")
	}
	bottom, err := codeList("--values", ref.Values)
	if err != nil {
		return nil, err
	}
	known, err := codeList("--known", ref.Known)
	if err != nil {
		return nil, err
	}
	var index [65536]uint8
	for code := range index {
		switch {
		case bottom[code]:
			index[code] = refBottom
		case len(ref.Known) == 0 || known[code]:
			index[code] = refOther
		}
	}
	how, counts, err := raster.ReadClasses(ctx, raster.Source{Paths: []string{ref.Path}, CRS: ref.CRS, NoData: ref.Nodata}, f, &index, refUnknown, workers, marks, func(float64) {})
	if err != nil {
		return nil, err
	}
	var found, others []string
	for code, n := range counts {
		if n > 0 && index[code] == refBottom {
			found = append(found, strconv.Itoa(code))
		} else if n > 0 && index[code] == refOther {
			others = append(others, strconv.Itoa(code))
		}
	}
	if len(found) == 0 {
		return nil, fmt.Errorf("none of the codes %s is on the map; codes there: %s", someWords(ref.Values), someWords(others))
	}
	return []string{fmt.Sprintf("codes of bottoms %s, of other ground %s (%s)", someWords(found), someWords(others), how)}, nil
}

// codeList reads single codes and ranges.
func codeList(flag string, words []string) (*[65536]bool, error) {
	var in [65536]bool
	for _, w := range words {
		first, last, isRange := strings.Cut(strings.TrimSpace(w), "-")
		if !isRange {
			last = first
		}
		a, err := strconv.Atoi(first)
		b, err2 := strconv.Atoi(last)
		if err != nil || err2 != nil || a < 0 || b > 65534 || a > b {
			return nil, fmt.Errorf("%s: found %q; want codes from 0 to 65534 such as 17, or ranges such as 11-39", flag, oneLine(w))
		}
		for c := a; c <= b; c++ {
			in[c] = true
		}
	}
	return &in, nil
}

func (ref Reference) polygons(ctx context.Context, f raster.Frame, marks *raster.Plane[uint8]) ([]string, error) {
	switch {
	case ref.Inside && (ref.Field != "" || len(ref.Values)+len(ref.Known) > 0):
		return nil, errors.New("--inside takes every polygon for a bottom; leave out --field, --values and --known, or --inside")
	case !ref.Inside && (ref.Field == "" || len(ref.Values) == 0):
		return nil, errors.New("which polygons are bottom? give a field and its values, such as --field UNIT --values Qal, or --inside when all are")
	}
	w, s, e, n := f.Bounds()
	q := vector.Query{Path: ref.Path, Layer: ref.Layer, Where: ref.Where, CRS: ref.CRS, Bounds: &[4]float64{w, s, e, n}, Kind: vector.Polygons}
	if ref.Field != "" {
		q.Fields = []string{ref.Field}
	}
	layer, err := vector.Read(ctx, q, f.WKT)
	if errors.Is(err, vector.ErrEmpty) || err == nil && len(layer.Features) == 0 {
		return nil, errors.New("no polygon lies on the map; give a layer that covers the run's area")
	} else if err != nil {
		return nil, err
	}
	heard := layer.Warnings
	var shapes [3][]orb.Geometry // by mark
	names := [3]map[string]bool{refOther: {}, refBottom: {}}
	for _, ft := range layer.Features {
		mark := refBottom
		if !ref.Inside {
			v := strings.TrimSpace(ft.Values[0].String())
			switch {
			case slices.Contains(ref.Values, v):
			case v == "" || len(ref.Known) > 0 && !slices.Contains(ref.Known, v):
				continue
			default:
				mark = refOther
			}
			names[mark][v] = true
		}
		shapes[mark] = append(shapes[mark], ft.Geometry)
	}
	if len(shapes[refBottom]) == 0 {
		return nil, fmt.Errorf("field %q has none of the values %s on the map; values there: %s", oneLine(ref.Field), someWords(ref.Values), someWords(sortedNames(names[refOther])))
	}
	if ref.Inside {
		if err := fillBox(layer.Info, f, marks); err != nil {
			return nil, err
		}
	} else {
		heard = append(heard, fmt.Sprintf("bottoms %s; other ground %s", someWords(sortedNames(names[refBottom])), someWords(sortedNames(names[refOther]))))
	}
	for _, mark := range []int{refOther, refBottom} { // where they overlap, bottom it is
		if _, err := vector.FillPolygons(f, shapes[mark], uint8(mark), marks); err != nil {
			return nil, err
		}
	}
	return heard, nil
}

// fillBox marks the ground inside a layer's bounding box as other: beyond it
// no one may have looked.
func fillBox(info vector.Info, f raster.Frame, marks *raster.Plane[uint8]) error {
	b, err := raster.TransformBounds(info.Extent, info.WKT, f.WKT)
	if err != nil {
		return err
	}
	box := orb.Bound{Min: orb.Point{b[0], b[1]}, Max: orb.Point{b[2], b[3]}}
	_, err = vector.FillPolygons(f, []orb.Geometry{box.ToPolygon()}, refOther, marks)
	return err
}

func sortedNames(set map[string]bool) []string {
	out := make([]string, 0, len(set))
	for name := range set {
		out = append(out, name)
	}
	slices.Sort(out)
	return out
}

// someWords writes at most a dozen words.
func someWords(words []string) string {
	if len(words) == 0 {
		return "none"
	}
	var out []string
	for i, w := range words {
		if i == 12 && len(words) > 13 {
			return strings.Join(out, ", ") + fmt.Sprintf(" and %d more", len(words)-i)
		}
		out = append(out, oneLine(w))
	}
	return strings.Join(out, ", ")
}

// lattice picks at most most of the cells whose mark is known: every step-th
// column and row, the same for the same map.
func lattice(marks *raster.Plane[uint8], most int) (cells []int, bottom []bool, step int, err error) {
	w, h := marks.Size()
	row := make([]uint8, w)
	known := 0
	for y := range h {
		line, err := marks.Row(0, y, w, row)
		if err != nil {
			return nil, nil, 0, err
		}
		for _, m := range line {
			if m != refUnknown {
				known++
			}
		}
	}
	for step = max(1, int(math.Sqrt(float64(known)/float64(most)))); ; step++ {
		cells, bottom = cells[:0], bottom[:0]
		for y := step / 2; y < h; y += step {
			line, err := marks.Row(0, y, w, row)
			if err != nil {
				return nil, nil, 0, err
			}
			for x := step / 2; x < w; x += step {
				if line[x] != refUnknown {
					cells, bottom = append(cells, y*w+x), append(bottom, line[x] == refBottom)
				}
			}
		}
		if len(cells) <= most {
			return cells, bottom, step, nil
		}
	}
}
