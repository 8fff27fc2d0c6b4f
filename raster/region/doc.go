// Package region measures and outlines sets of cells: exact distance to the
// nearest seed, connected patches kept as runs of cells, their outlines as
// shared arcs, and statistics of a plane over them. It is pure Go; coordinates
// are columns and rows of a raster.Plane, or corners of its cell lattice.
//
// Nothing here allocates memory in proportion to the box around a patch: a
// ribbon along a whole river system costs what its cells cost.
package region
