package habitat

import (
	"context"
	"fmt"

	"rillwood/raster"
)

// readElevation lands the elevation on f, in metres. Numbers that can be no
// height and that no one declared as nodata stop the run: water would run into
// them. Infinite ones are none, and said.
func (in *Inputs) readElevation(ctx context.Context, f raster.Frame, workers int, dst *raster.Plane[float32], progress func(float64)) (how string, err error) {
	s := in.elevation
	s.Strays = &raster.Strays{}
	how, err = raster.ReadSurface(ctx, s, f, in.Factor, workers, dst, progress)
	if err != nil {
		return "", fmt.Errorf("elevation: %w", err)
	}
	if st := s.Strays; st.Cells > 0 {
		cells := fmt.Sprintf("%d cells of %g", st.Cells, st.Value)
		if st.Cells == 1 {
			cells = fmt.Sprintf("a cell of %g", st.Value)
		}
		if s.NoData != nil {
			return "", wrong("elevation.nodata", "%q holds %s, which is no height on earth, besides the nodata %g named here; give its cells without a height one number", st.Path, cells, *s.NoData)
		}
		return "", wrong("elevation.nodata", "%q holds %s, which is no height on earth and not declared as nodata; set nodata: %g", st.Path, cells, st.Value)
	}
	if n := s.Strays.Huge; n > 0 {
		in.warn("elevation: %d cells hold an infinite number, or one beyond any measure, that is not declared as nodata; they are taken for none", n)
	}
	if low, high := s.Strays.Low, s.Strays.High; low < 0 || high > 0 {
		in.warn("elevation: it holds heights of %s m, which are not found on dry land; check elevation.unit and elevation.nodata", beyond(low, high))
	}
	if n, seen := s.Strays.Zeros, s.Strays.Seen; float64(n) > zeroShare*float64(seen) {
		in.warn("elevation: %.1f %% of the cells are exactly 0; if that stands for none, and not for the sea, set elevation.nodata: 0", 100*float64(n)/float64(seen))
	}
	return how, nil
}

// zeroShare is how many cells of exactly 0 are taken for ground without a word.
const zeroShare = 0.005

func beyond(low, high float64) string {
	switch {
	case high == 0:
		return fmt.Sprintf("%.0f", low)
	case low == 0:
		return fmt.Sprintf("%.0f", high)
	}
	return fmt.Sprintf("%.0f and %.0f", low, high)
}

// noHeight names the file without a height inside the map, and what to do.
func (in *Inputs) noHeight() error {
	return wrong("elevation", "%q holds no height inside the map: every cell there is nodata; check elevation.nodata, and that the area lies on it", in.Elevation[0].Path)
}
