package raster

import (
	"fmt"
	"math"
)

// Frame is the one grid of a run: a projected CRS in metres, square cells,
// row 0 at the north. Every plane of a run has W×H cells on it.
type Frame struct {
	W, H   int     // columns, rows
	X0, Y0 float64 // easting and northing of the outer corner of cell (0,0): the north-west corner, metres
	Cell   float64 // side of a cell, metres
	WKT    string  // CRS as WKT
	EPSG   int     // EPSG code of the CRS, 0 when it has none
	Name   string  // CRS name for people
}

// Cells is the number of cells.
func (f Frame) Cells() int { return f.W * f.H }

// CellHa is the area of one cell in hectares.
func (f Frame) CellHa() float64 { return f.Cell * f.Cell / 1e4 }

// CellKm2 is the area of one cell in square kilometres.
func (f Frame) CellKm2() float64 { return f.Cell * f.Cell / 1e6 }

// Center gives easting and northing (m) of the centre of the cell in column x, row y.
func (f Frame) Center(x, y int) (e, n float64) {
	return f.X0 + (float64(x)+0.5)*f.Cell, f.Y0 - (float64(y)+0.5)*f.Cell
}

// Corner gives easting and northing (m) of the lattice point (x, y), the
// north-west corner of cell (x, y); x may be W and y may be H.
func (f Frame) Corner(x, y float64) (e, n float64) {
	return f.X0 + x*f.Cell, f.Y0 - y*f.Cell
}

// At gives the column and row of the cell that holds the point, and whether
// it is inside the frame.
func (f Frame) At(e, n float64) (x, y int, ok bool) {
	fx, fy := math.Floor((e-f.X0)/f.Cell), math.Floor((f.Y0-n)/f.Cell)
	// Compared before they become whole numbers: what NaN or 1e300 become
	// depends on the machine.
	return int(fx), int(fy), fx >= 0 && fy >= 0 && fx < float64(f.W) && fy < float64(f.H)
}

// Bounds gives west, south, east, north in metres.
func (f Frame) Bounds() (w, s, e, n float64) {
	return f.X0, f.Y0 - float64(f.H)*f.Cell, f.X0 + float64(f.W)*f.Cell, f.Y0
}

// Cut is the frame of the w×h window whose first cell is (x, y).
func (f Frame) Cut(x, y, w, h int) Frame {
	g := f
	g.X0, g.Y0 = f.Corner(float64(x), float64(y))
	g.W, g.H = w, h
	return g
}

func (f Frame) String() string {
	return fmt.Sprintf("%d × %d cells of %g m, %s", f.W, f.H, f.Cell, f.Name)
}
