package vector

import (
	"fmt"
	"strings"
)

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

// judge refuses a layer without the wanted kind of shape, and settles whether
// it lies outside the bounds.
func (r *reader) judge() error {
	want := r.query.Kind
	if want != Any && r.other.n > 0 && r.other.n == r.kinds.total() {
		return fmt.Errorf("it holds %v where %v are wanted; name another layer", r.kinds, want)
	}
	if r.query.Bounds == nil || !r.layer.spatial || r.met > 0 {
		return nil
	}
	if promised := declaredKind(r.info.Geometry); want != Any && promised != Any && promised != want && r.kinds.total() == 0 {
		return fmt.Errorf("it holds %v where %v are wanted; name another layer", promised, want)
	}
	away, swapped := r.away()
	r.outside = away || r.query.Where == ""
	if !swapped {
		return nil
	}
	hint := fmt.Sprintf("it lies away from the bounds and would meet them with x and y changed over: its coordinates look swapped; %s", r.remedy())
	if r.degrees {
		return fmt.Errorf("%s", hint)
	}
	r.hint = hint
	return nil
}

// others are the kinds found without the wanted one; collections stay only when
// they gave nothing.
func (r *reader) others() found {
	f := r.kinds
	f[r.query.Kind] = 0
	f[collections] -= r.mixed.n
	return f
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
	if want := r.query.Kind; r.other.n > 0 {
		say("%v left out: %v where %v are wanted", &r.other, r.others(), want)
	}
	if r.mixed.n > 0 {
		say("%v with shapes of several kinds, of which the %v are taken", &r.mixed, r.query.Kind)
	}
	if r.mended.n > 0 {
		say("%v with a broken or crossing outline mended", &r.mended)
	}
	if r.lost.n > 0 {
		say("%v left out: nothing is left of the shape when it is mended", &r.lost)
	}
	if r.tangled.n > 0 {
		say("%v left out: the outline crosses itself too often to be mended", &r.tangled)
	}
	if r.query.Kind == Polygons && !judgesShapes() {
		say("this GDAL is built without GEOS: outlines that cross themselves are not found")
	}
	if r.hint != "" {
		say("%s", r.hint)
	}
	filtered := r.query.Where != "" || r.query.Bounds != nil
	if !filtered && r.seen != r.info.Count {
		say("it declares %d features, %d were found", r.info.Count, r.seen)
	}
	if len(r.out) == 0 {
		switch {
		case r.outside:
			say("it lies wholly outside the bounds")
		case r.query.Where != "" && r.seen == 0:
			say("no feature answers to %q", r.query.Where)
		case filtered:
			say("no feature within the bounds")
		}
	}
	return out
}
