// Package terrain reads the shape of the ground: slope, where water goes, how
// much of it, and how high each cell stands above the streams. Pure Go on
// planes of cells; no GDAL.
//
// Every kernel works tile by tile and exchanges only what crosses the tiles'
// edges, so that one code serves a small grid and a map larger than memory,
// and gives the same cells whatever the tile size or the number of workers.
// Ties are broken by one declared rule: the first neighbour in the order E,
// SE, S, SW, W, NW, N, NE, and the smaller row-major cell index.
package terrain
