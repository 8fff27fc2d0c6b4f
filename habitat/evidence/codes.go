package evidence

import (
	"strconv"

	"rillwood/raster"
)

// raster reads a raster of codes into one item.
func (r *reader) raster() error {
	field, err := codeField(r.src)
	if err != nil {
		return err
	}
	for _, path := range r.src.Raster.Paths {
		in, err := raster.Describe(path, r.src.Raster.CRS)
		if err != nil {
			return err
		}
		for _, w := range in.Warning {
			r.warn("%q: %s", path, w)
		}
	}
	broken, seen, err := raster.Fractions(*r.src.Raster)
	if err != nil {
		return err
	}
	if broken > 0 {
		r.warn("%d of %s looked at hold numbers that are not whole; codes are, so it may be a measure and no map of classes, and they are rounded", broken, many(seen, "cell"))
	}
	it, rows, err := r.add(field, "")
	if err != nil {
		return err
	}
	m := newMatcher(rows)
	var index [65536]uint8
	for code := range index {
		index[code] = uint8(m.place(strconv.Itoa(code)))
	}
	_, counts, err := raster.ReadClasses(r.ctx, *r.src.Raster, r.frame, &index, 0, r.workers, it.Plane, func(float64) {})
	if err != nil {
		return err
	}
	for code, n := range counts {
		if n > 0 && index[code] == 0 {
			r.unknown.add(field, strconv.Itoa(code), n, "cell")
		}
	}
	return nil
}
