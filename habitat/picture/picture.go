// Package picture draws the one picture of a run: shaded relief with the
// suitability laid over it, streams, the area, the ranked patches, and the
// furniture a map needs (legend, scale bar, north arrow, cautions).
//
// It is pure Go and knows nothing of files, projections or GDAL: the caller
// hands over a decimated grid and lines in the grid's own cell coordinates.
// The same scene always gives the same bytes.
package picture

import (
	"fmt"
	"image"
	"image/png"
	"io"
)

// Safety is the line printed at the foot of every picture.
const Safety = "Shows where to look, never what is safe to eat."

// Scene is all that goes on the picture. Grids are row-major with row 0 at
// the north; line and ring coordinates are in picture cells, x to the right
// and y down, with the outer corner of cell (0,0) at the origin.
type Scene struct {
	Title, Subtitle string

	W, H int     // columns and rows of the picture grid, both at least 1
	Cell float64 // side of a picture cell, metres

	Elevation   []float32 // W*H, metres; NaN where there is none
	Suitability []float32 // W*H, 0 to 1; NaN outside the area and where there is none

	Streams  []Line
	Outlines []Outline      // patches; those with the best 25 ranks get their number
	Area     [][][2]float64 // boundary rings of the area, may be empty

	Notes []string // cautions and data credits, one paragraph each
	CRS   string   // name of the CRS, for people; may be empty
}

// Line is one mapped stream.
type Line struct {
	Points [][2]float64
	Order  int    // stream order (Strahler), below 1 when not known
	Name   string // may be empty
}

// Outline is one patch to scout.
type Outline struct {
	Rings [][][2]float64 // closed or not; holes are told by the even-odd rule
	Rank  int            // 1 is best; below 1 means no number
}

const (
	longSide  = 1000     // pixels the longer side of the map has at least
	shortSide = 8        // pixels the shorter side should have, where longMax allows
	longMax   = 3200     // pixels up to which a thin map is enlarged to reach shortSide
	maxPixels = 24 << 20 // pixels of map above which the caller has to decimate further
)

// Draw makes the picture. It fails only when the scene contradicts itself;
// grids without data, empty lists and wild coordinates are drawn as far as
// they go.
func Draw(s Scene) (*image.NRGBA, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	p := plan(&s)
	p.img = image.NewNRGBA(image.Rect(0, 0, p.w, p.h))
	p.fill(p.img.Rect, paper)
	drawHead(p)
	drawMap(p)
	drawLegend(p)
	drawFoot(p)
	return p.img, nil
}

// Encode writes the picture as PNG. Equal pictures give equal bytes: no
// clock, no text chunks.
func Encode(w io.Writer, img *image.NRGBA) error {
	e := png.Encoder{CompressionLevel: png.DefaultCompression}
	if err := e.Encode(w, img); err != nil {
		return fmt.Errorf("write the picture as png: %w", err)
	}
	return nil
}

func (s *Scene) check() error {
	if s.W < 1 || s.H < 1 {
		return fmt.Errorf("picture of %d × %d cells: give at least one row and one column", s.W, s.H)
	}
	if s.W > maxPixels/s.H {
		return fmt.Errorf("picture of %d × %d cells is too large: decimate it to %d cells a side or fewer", s.W, s.H, 1600)
	}
	if !(s.Cell >= 1e-6 && s.Cell <= 1e9) {
		return fmt.Errorf("picture cell of %g m: give its side in metres, 1e-6 to 1e9", s.Cell)
	}
	n := s.W * s.H
	if len(s.Elevation) != n {
		return fmt.Errorf("picture elevation has %d cells, the picture %d × %d = %d", len(s.Elevation), s.W, s.H, n)
	}
	if len(s.Suitability) != n {
		return fmt.Errorf("picture suitability has %d cells, the picture %d × %d = %d", len(s.Suitability), s.W, s.H, n)
	}
	return nil
}

// zoom is the whole number of pixels a side of a picture cell gets.
func zoom(w, h int) int {
	long, short := max(w, h), min(w, h)
	k := (longSide + long - 1) / long
	if thin := (shortSide + short - 1) / short; thin > k {
		k = max(k, min(thin, longMax/long))
	}
	return max(k, 1)
}
