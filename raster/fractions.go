package raster

import (
	"fmt"
	"math"
	"strings"

	"github.com/airbusgeo/godal"
)

// fractionRows is how many rows of a file Fractions looks at.
const fractionRows = 64

// Fractions looks at files of floating-point cells that are to be read as class
// codes: of the cells in up to 64 rows spread over each file, seen hold a number
// and broken one that is not whole, which a code must be. Nodata is left out;
// files of whole-number cells are not opened.
func Fractions(s Source) (broken, seen int64, err error) {
	infos, err := describeAll(s)
	if err != nil {
		return 0, 0, err
	}
	for _, in := range infos {
		if !strings.HasPrefix(in.Type, "Float") {
			continue
		}
		b, n, err := fractions(in)
		if err != nil {
			return 0, 0, err
		}
		broken, seen = broken+b, seen+n
	}
	return broken, seen, nil
}

func fractions(in Info) (broken, seen int64, err error) {
	ds, err := open(in.Path, &messages{})
	if err != nil {
		return 0, 0, err
	}
	defer ds.Close(godal.ErrLogger(strict))
	nd := float32(math.NaN())
	if in.NoData != nil {
		nd = float32(*in.NoData)
	}
	row := make([]float32, in.W)
	rows := min(in.H, fractionRows)
	for k := range rows {
		y := (2*k + 1) * in.H / (2 * rows)
		if err := readCells(ds, 0, y, in.W, 1, row, in.W); err != nil {
			return 0, 0, fmt.Errorf("read %q, row %d: %w", in.Path, y, err)
		}
		for _, v := range row {
			if v == nd || v != v {
				continue
			}
			if seen++; float64(v) != math.Trunc(float64(v)) {
				broken++
			}
		}
	}
	return broken, seen, nil
}
