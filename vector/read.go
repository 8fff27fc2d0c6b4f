package vector

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"
)

// ErrEmpty is wrapped by Read's error for a layer that holds no feature at all.
var ErrEmpty = errors.New("no features")

// ErrNoCRS is wrapped by Read's error for a layer whose CRS is not known where
// one is needed.
var ErrNoCRS = errors.New("no crs")

// Query says what to read.
//
// Where is judged by the file's own driver: a GeoPackage takes SQLite's
// expressions, the others OGR SQL. They differ in that OGR SQL finds texts
// whatever their case with =. Field names may stand in double quotes, texts
// stand in single ones.
type Query struct {
	Path   string
	Layer  string      // "" for the only layer, or the only one with geometry
	Where  string      // attribute filter, as after WHERE in SQL; "" for all
	Fields []string    // wanted fields, any case; nil for none
	CRS    string      // "EPSG:n" or WKT that replaces the layer's own CRS; "" to trust that
	Bounds *[4]float64 // west, south, east, north in the target CRS; nil for all
}

// Feature is one feature. Geometry is 2D and straight-edged, without empty
// parts at the top; it is nil only for rows of a table.
type Feature struct {
	FID      int64
	Geometry orb.Geometry
	Values   []Value // in the order of Query.Fields
}

// Layer is what Read gives: the layer's own description (Extent and CRS as in
// the file, CRS as overridden), its features in the file's order, and what to tell the user.
type Layer struct {
	Info
	Features []Feature
	Warnings []string
}

// batchSize is how many features are handed over from C at a time.
const batchSize = 2048

// Read reads the features of a layer and transforms them to targetWKT ("" to
// keep them as they are). Features without geometry and with coordinates that
// are not numbers are left out and counted in a warning. Bounds keeps the
// features whose bounding box meets them. A read error is an error, never a
// short result.
func Read(ctx context.Context, q Query, targetWKT string) (Layer, error) {
	s, err := openSource(q.Path, q.Layer, q.CRS)
	if err != nil {
		return Layer{}, err
	}
	defer s.ds.close()
	r := reader{source: s, query: q}
	if err := r.prepare(targetWKT); err != nil {
		return Layer{}, fmt.Errorf("%q: layer %q: %w", q.Path, s.layer.name, err)
	}
	if err := r.run(ctx); err != nil {
		return Layer{}, fmt.Errorf("%q: layer %q: %w", q.Path, s.layer.name, err)
	}
	return Layer{Info: s.info, Features: r.out, Warnings: append(s.warnings, r.findings()...)}, nil
}

type reader struct {
	*source
	query     Query
	fields    []int
	move      *Transformer // nil to keep
	out       []Feature
	seen      int
	warnings  map[string]bool
	ordered   []string // GDAL's warnings, first seen first
	null      tally
	notFinite tally
}

// tally counts features and remembers the first few.
type tally struct {
	n    int
	fids []string
}

func (t *tally) add(fid int64) {
	t.n++
	if len(t.fids) < 5 {
		t.fids = append(t.fids, fmt.Sprint(fid))
	}
}

func (t *tally) String() string {
	s := "features"
	if t.n == 1 {
		s = "feature"
	}
	more := ""
	if t.n > len(t.fids) {
		more = ", …"
	}
	return fmt.Sprintf("%d %s (FID %s%s)", t.n, s, strings.Join(t.fids, ", "), more)
}

func (r *reader) prepare(targetWKT string) error {
	var err error
	if r.fields, err = fieldIndexes(r.info.Fields, r.query.Fields); err != nil {
		return err
	}
	if r.info.Count == 0 {
		return fmt.Errorf("%w in it", ErrEmpty)
	}
	if targetWKT != "" && r.layer.spatial {
		if r.info.WKT == "" {
			return fmt.Errorf("%w known for it; name the one it is in, as in \"EPSG:26918\"", ErrNoCRS)
		}
		if r.move, err = NewTransformer(r.info.WKT, targetWKT); err != nil {
			return err
		}
	}
	if err := checkWhere(r.query.Where, r.layer, r.info.Fields); err != nil {
		return err
	}
	var box *[4]float64
	if b := r.query.Bounds; b != nil && r.layer.spatial {
		if !(b[0] <= b[2] && b[1] <= b[3]) {
			return fmt.Errorf("bounds %g: want west, south, east, north", *b)
		}
		if box, err = r.sourceBounds(*b, targetWKT); err != nil {
			return err
		}
	}
	if err := r.layer.filter(r.query.Where, box); err != nil {
		return fmt.Errorf("filter %q: %w", r.query.Where, err)
	}
	return nil
}

// sourceBounds gives the query's bounds in the layer's CRS, a little larger so
// that the curve of a side between two of its points is inside; keep judges
// exactly. Where the bounds cannot be transformed all features are read.
func (r *reader) sourceBounds(b [4]float64, targetWKT string) (*[4]float64, error) {
	if r.move != nil {
		back, err := NewTransformer(targetWKT, r.info.WKT)
		if err != nil {
			return nil, err
		}
		if b, err = back.Bounds(b); err != nil {
			return nil, nil
		}
	}
	dx, dy := (b[2]-b[0])/100, (b[3]-b[1])/100
	return &[4]float64{b[0] - dx, b[1] - dy, b[2] + dx, b[3] + dy}, nil
}

func (r *reader) run(ctx context.Context) error {
	r.layer.rewind()
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		batch, end, warnings, err := r.layer.read(r.fields, batchSize)
		r.note(warnings)
		if err != nil {
			return fmt.Errorf("read error after %d features: %w", r.seen, err)
		}
		if err := r.take(batch); err != nil {
			return err
		}
		if end {
			return nil
		}
	}
}

func (r *reader) note(warnings []string) {
	for _, w := range warnings {
		if !r.warnings[w] {
			if r.warnings == nil {
				r.warnings = map[string]bool{}
			}
			r.warnings[w] = true
			r.ordered = append(r.ordered, w)
		}
	}
}

// take decodes, transforms and keeps one batch.
func (r *reader) take(batch []rawFeature) error {
	first := len(r.out)
	var pts []orb.Point
	for _, raw := range batch {
		r.seen++
		f := Feature{FID: raw.fid, Values: raw.values}
		if r.layer.spatial {
			if raw.wkb == nil {
				r.null.add(raw.fid)
				continue
			}
			g, err := wkb.Unmarshal(raw.wkb)
			if errors.Is(err, wkb.ErrUnsupportedGeometry) {
				return fmt.Errorf("FID %d: a kind of geometry that is not read (a solid or a net of triangles)", raw.fid)
			}
			if err != nil {
				return fmt.Errorf("FID %d: geometry not understood: %w", raw.fid, err)
			}
			if isEmpty(g) {
				r.null.add(raw.fid)
				continue
			}
			n := len(pts)
			pts = pointsOf(g, pts)
			if !finite(pts[n:]) {
				r.notFinite.add(raw.fid)
				pts = pts[:n]
				continue
			}
			f.Geometry = g
		}
		r.out = append(r.out, f)
	}
	if r.move != nil {
		if err := r.move.Points(pts); err != nil {
			return r.nameFeature(err, r.out[first:])
		}
		for i := first; i < len(r.out); i++ {
			r.out[i].Geometry, pts = withPoints(r.out[i].Geometry, pts)
		}
	}
	r.keep(first)
	return nil
}

// nameFeature finds the feature whose point could not be transformed.
func (r *reader) nameFeature(err error, features []Feature) error {
	var at *PointError
	if !errors.As(err, &at) {
		return err
	}
	n := 0
	for _, f := range features {
		if n += len(pointsOf(f.Geometry, nil)); n > at.Index {
			hint := ""
			if p := at.Point; r.info.EPSG == 4326 && (math.Abs(p[0]) > 360 || math.Abs(p[1]) > 90) {
				hint = "; these are not degrees: name the crs the file is in"
			}
			return fmt.Errorf("FID %d: point (%g, %g) cannot be transformed from %q: %w%s", f.FID, at.Point[0], at.Point[1], r.info.CRSName, at.Err, hint)
		}
	}
	return err
}

// keep drops the features from first on whose box is wholly outside the bounds.
func (r *reader) keep(first int) {
	b := r.query.Bounds
	if b == nil || !r.layer.spatial {
		return
	}
	box := orb.Bound{Min: orb.Point{b[0], b[1]}, Max: orb.Point{b[2], b[3]}}
	kept := r.out[:first]
	for _, f := range r.out[first:] {
		if f.Geometry.Bound().Intersects(box) {
			kept = append(kept, f)
		}
	}
	r.out = kept
}

// findings are the warnings about the layer as a whole.
func (r *reader) findings() []string {
	var out []string
	say := func(format string, a ...any) {
		out = append(out, fmt.Sprintf("%q: layer %q: ", r.query.Path, r.layer.name)+fmt.Sprintf(format, a...))
	}
	for _, w := range r.ordered {
		say("%s", w)
	}
	if r.null.n > 0 {
		say("%v without geometry left out", &r.null)
	}
	if r.notFinite.n > 0 {
		say("%v with coordinates that are not numbers left out", &r.notFinite)
	}
	filtered := r.query.Where != "" || r.query.Bounds != nil
	if !filtered && r.seen != r.info.Count {
		say("it declares %d features, %d were found", r.info.Count, r.seen)
	}
	if len(r.out) == 0 {
		switch {
		case r.query.Where != "" && r.seen == 0:
			say("no feature answers to %q", r.query.Where)
		case filtered:
			say("no feature within the bounds")
		}
	}
	return out
}

// checkWhere refuses a filter that names a field the layer lacks in double
// quotes: SQLite would take the unknown name for a text and find nothing.
func checkWhere(where string, l ogrLayer, fields []FieldInfo) error {
	if where == "" {
		return nil
	}
	if strings.ContainsRune(where, 0) {
		return fmt.Errorf("filter %q: not text", where)
	}
	for rest := where; rest != ""; {
		i := strings.IndexAny(rest, `"'`)
		if i < 0 {
			break
		}
		quote := rest[i]
		word, after, closed := strings.Cut(rest[i+1:], string(quote))
		if !closed {
			return fmt.Errorf("filter %q: a %c is not closed", where, quote)
		}
		rest = after
		if quote == '\'' || strings.EqualFold(word, l.keyColumn()) || strings.EqualFold(word, l.shapeColumn()) || strings.EqualFold(word, "FID") {
			continue
		}
		if _, err := fieldIndexes(fields, []string{word}); err != nil {
			return fmt.Errorf("filter %q: %w", where, err)
		}
	}
	return nil
}
