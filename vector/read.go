package vector

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/paulmach/orb"
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
	Kind   Kind        // the shapes wanted; Any takes all as they come
	Swap   bool        // the layer's coordinates are y before x and are turned round
}

// Feature is one feature. Geometry is 2D (heights and measures are dropped in
// silence) and straight-edged (curves become lines), without empty parts at the
// top; it is nil only for rows of a table.
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
	// Outside tells that Query.Bounds was given and no feature has its box there:
	// the layer lies elsewhere. It is false where only Where left nothing.
	Outside bool
}

// batchSize is how many features are handed over from C at a time.
const batchSize = 2048

// Read reads the features of a layer and transforms them to targetWKT ("" to
// keep them as they are). Features without geometry and with coordinates that
// are not numbers are left out and counted in a warning. Bounds keeps the
// features whose bounding box meets them. A read error is an error, never a
// short result.
//
// With a Kind, features of other kinds are left out with a warning; when none
// is of the kind, that is an error. Of collections the parts of the kind are
// taken, with a warning. Polygons are judged in the target CRS: valid ones stay
// as they are, the others are mended with a warning that counts them, and what
// encloses no ground, or crosses itself thousands of times, is left out with
// another. Lines lose parts of one point.
//
// Coordinates that look swapped, latitude before longitude, are refused: when
// they can be no degrees as they stand but can when swapped; when they lie
// outside the area the CRS is made for, and within it when swapped; or when
// they meet Bounds only when swapped (of a projected CRS that is a warning).
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
	if err := r.judge(); err != nil {
		return Layer{}, fmt.Errorf("%q: layer %q: %w", q.Path, s.layer.name, err)
	}
	return Layer{Info: s.info, Features: r.out, Warnings: append(s.warnings, r.findings()...), Outside: r.outside}, nil
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
	degrees   bool     // the CRS is geographic
	hint      string   // that coordinates may be swapped
	null      tally
	notFinite tally
	other     tally // not of the wanted kind
	mixed     tally // of which only a part is
	mended    tally
	lost      tally // with nothing left of their shape
	tangled   tally // beyond mending
	kinds     found // of the features with a shape
	met       int   // features within the bounds
	points    int   // of the features kept, about
	outside   bool
}

func (r *reader) prepare(targetWKT string) error {
	var err error
	if r.fields, err = fieldIndexes(r.info.Fields, r.query.Fields); err != nil {
		return err
	}
	if r.info.Count == 0 {
		return fmt.Errorf("%w in it", ErrEmpty)
	}
	if want := r.query.Kind; want > Points {
		return fmt.Errorf("%v is no kind of shape to ask for", want)
	} else if want != Any && !r.layer.spatial {
		return fmt.Errorf("it is a table without shapes; %v are wanted, name another layer", want)
	}
	if targetWKT != "" && r.layer.spatial {
		if r.info.WKT == "" {
			return fmt.Errorf("%w known for it; name the one it is in, as in \"EPSG:26918\"", ErrNoCRS)
		}
		if r.move, err = NewTransformer(r.info.WKT, targetWKT); err != nil {
			return err
		}
	}
	if err := r.checkAxes(); err != nil {
		return err
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
		return refused(r.query.Where, err, r.info.Fields)
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
	b = [4]float64{b[0] - dx, b[1] - dy, b[2] + dx, b[3] + dy}
	if r.query.Swap {
		b = turned(b)
	}
	return &b, nil
}

func (r *reader) run(ctx context.Context) error {
	r.layer.rewind()
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		batch, end, warnings, err := r.layer.read(r.fields, batchSize)
		r.note(warnings)
		if err != nil && r.seen == 0 && r.query.Where != "" && strings.HasPrefix(err.Error(), "failed to prepare SQL") {
			// A GeoPackage judges the filter only now.
			return refused(r.query.Where, err, r.info.Fields)
		}
		if err != nil {
			return fmt.Errorf("read error after %d features: %w", r.seen, err)
		}
		if err := r.expect(ctx, batch); err != nil {
			return err
		}
		if err := r.take(ctx, batch); err != nil {
			return err
		}
		if err := r.within(ctx); err != nil {
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
