package raster

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/airbusgeo/godal"
)

// How a layer's cells land on the frame.
const (
	HowCopied     = "copied cell by cell (same grid)"
	HowSampled    = "sampled, nearest cell (same coordinate system)"
	HowWarped     = "reprojected and resampled, bilinear"
	HowAveraged   = "reprojected and averaged onto larger cells"
	HowNearest    = "reprojected, nearest cell"
	HowMode       = "reprojected, commonest class onto larger cells"
	HowResampled  = "resampled, bilinear"
	HowAveragedIn = "averaged onto larger cells"
)

// group is a set of tiles that share a CRS and can be read as one virtual mosaic.
type group struct {
	infos     []Info
	wkt       string
	overviews bool // may be read from its overviews
}

func describeAll(s Source) ([]Info, error) {
	var infos []Info
	for _, p := range s.Paths {
		in, err := Describe(p, s.CRS)
		if err != nil {
			return nil, err
		}
		if s.NoData != nil {
			in.NoData = s.NoData
		}
		infos = append(infos, in)
	}
	if len(infos) == 0 {
		return nil, fmt.Errorf("no raster file named")
	}
	return infos, nil
}

func groups(infos []Info) []group {
	var gs []group
next:
	for _, in := range infos {
		for i := range gs {
			a := gs[i].infos[0]
			if SameCRS(gs[i].wkt, in.CRS.WKT) && a.Type == in.Type && a.Scale == in.Scale && a.Offset == in.Offset && sameNoData(a.NoData, in.NoData) && a.NorthUp() && in.NorthUp() && sameCells(a.Geo, in.Geo) {
				gs[i].infos = append(gs[i].infos, in)
				continue next
			}
		}
		gs = append(gs, group{infos: []Info{in}, wkt: in.CRS.WKT})
	}
	return gs
}

// sameCells tells whether two transforms have cells of one size; a mosaic of
// several would be read at their mean, by nearest cell.
func sameCells(a, b [6]float64) bool {
	return math.Abs(a[1]-b[1]) <= 1e-6*math.Abs(a[1]) && math.Abs(a[5]-b[5]) <= 1e-6*math.Abs(a[5])
}

func sameNoData(a, b *float64) bool {
	return a == b || (a != nil && b != nil && (*a == *b || math.IsNaN(*a) && math.IsNaN(*b)))
}

// open opens the group as one dataset: the file itself, or a virtual mosaic
// of its tiles. done frees it.
func (g group) open() (ds *godal.Dataset, done func(), err error) {
	if len(g.infos) == 1 {
		ds, err := open(g.infos[0].Path, &messages{})
		if err != nil {
			return nil, nil, err
		}
		return ds, func() { ds.Close(godal.ErrLogger(strict)) }, nil
	}
	var paths []string
	for _, in := range slices.Backward(g.infos) { // the last covers the others
		abs, err := LocalPath(in.Path, false)
		if err != nil {
			return nil, nil, err
		}
		paths = append(paths, abs)
	}
	name := vsimem("mosaic.vrt")
	var sw []string
	if nd := g.infos[0].NoData; nd != nil {
		sw = append(sw, "-srcnodata", fmt.Sprint(*nd), "-vrtnodata", fmt.Sprint(*nd))
	}
	ds, err = godal.BuildVRT(name, paths, sw, godal.ErrLogger(strict))
	if err != nil {
		return nil, nil, fmt.Errorf("mosaic of %q and %d more: %w", g.infos[0].Path, len(paths)-1, err)
	}
	return ds, func() {
		ds.Close(godal.ErrLogger(strict))
		godal.VSIUnlink(name, godal.ErrLogger(strict))
	}, nil
}

// geo is the group's transform, size and whether it lies on the frame's grid.
func (g group) geo(ds *godal.Dataset) (gt [6]float64, w, h int, err error) {
	st := ds.Structure()
	gt, err = ds.GeoTransform(godal.ErrLogger(strict))
	return gt, st.SizeX, st.SizeY, err
}

func (g group) same(f Frame) bool { return SameCRS(g.wkt, f.WKT) }

// aligned tells whether the transform has the frame's cells, and the shift of
// its first cell from the frame's.
func aligned(gt [6]float64, f Frame) (dx, dy int, ok bool) {
	if gt[2] != 0 || gt[4] != 0 || math.Abs(gt[1]-f.Cell) > 1e-9*f.Cell || math.Abs(gt[5]+f.Cell) > 1e-9*f.Cell {
		return 0, 0, false
	}
	fx, fy := (gt[0]-f.X0)/f.Cell, (f.Y0-gt[3])/f.Cell
	dx, dy = int(math.Round(fx)), int(math.Round(fy))
	return dx, dy, math.Abs(fx-float64(dx)) < 1e-6 && math.Abs(fy-float64(dy)) < 1e-6
}

// ReadSurface lands a continuous layer (elevation) on the frame: NaN where
// there is none, values times factor (unit to metres). Cells keep their values
// when the grids agree, else they are resampled bilinearly, or averaged when
// the frame's cells are more than one and a half times as wide. Where tiles
// overlap, the first in order wins. It tells how it was done. With s.Strays, it
// stops where they would be mixed into other cells, before anything lands.
func ReadSurface(ctx context.Context, s Source, f Frame, factor float64, workers int, dst *Plane[float32], progress func(done float64)) (how string, err error) {
	infos, err := describeAll(s)
	if err != nil {
		return "", err
	}
	fill := float32(math.NaN())
	var old [][]float32
	gs := groups(infos)
	for gi, g := range gs {
		g.overviews = s.Overviews && len(g.infos) == 1
		// Of one file copied cell by cell the strays are met on the way.
		looked := s.Strays == nil || len(g.infos) > 1 || Landing(g.infos[0], f, true) != HowCopied
		if looked && s.Strays != nil {
			for _, in := range g.infos {
				if err := s.Strays.look(ctx, in, f, factor); err != nil {
					return "", err
				}
			}
			if s.Strays.Cells > 0 {
				return "", nil // what would land is no ground; the caller sees the strays
			}
		}
		l := landing[float32]{
			fill: fill, workers: workers, smooth: true,
			put: func(w, y, rows int, v []float32) error {
				n, strays := cleanSurface(v, g.infos[0], factor)
				if s.Absurd != nil {
					s.Absurd.Add(n)
				}
				if !looked {
					s.Strays.found(g.infos[0].Path, strays)
				}
				if gi > 0 {
					old := old[w][:len(v)]
					if err := dst.Read(0, y, f.W, rows, old); err != nil {
						return err
					}
					for i, o := range old {
						if o == o {
							v[i] = o
						}
					}
				} else if dst.Mem() != nil {
					return nil // v is the plane's own memory
				}
				return dst.Write(0, y, f.W, rows, v)
			},
			progress: func(d float64) { progress((float64(gi) + d) / float64(len(gs))) },
		}
		if gi == 0 {
			l.into = dst.Mem()
		} else if old == nil {
			old = buffers[float32](workers, landBand*f.W)
		}
		if how, err = land(ctx, g, f, l); err != nil {
			return "", err
		}
	}
	return how, nil
}

// cleanSurface turns stored numbers into values (the file's scale and offset,
// then factor), and nodata, infinities and absurd values into NaN. It gives how
// many were dropped, without those that were none in the file, and the strays.
func cleanSurface(v []float32, in Info, factor float64) (absurd int64, strays strayCells) {
	nan := float32(math.NaN())
	nd := nan
	if in.NoData != nil {
		nd = float32(*in.NoData)
	}
	scale, offset, f := float32(in.Scale), float32(in.Offset), float32(factor)
	plain := in.Scale == 1 && in.Offset == 0
	low, high, zeros := dryLow/f, dryHigh/f, int64(0)
	for i, x := range v {
		if x == nd {
			v[i] = nan
			continue
		}
		stored := x
		if x == 0 {
			zeros++
		}
		if !plain {
			x = x*scale + offset
		}
		if !(x > low && x < high) && x == x {
			strays.take(stored, x, f)
		}
		// No ground on earth lies below −12,000 or above 9,000 m, nor beyond
		// 40,000 ft: such a value is a nodata mark that the file does not declare.
		if !(x > -40000 && x < 40000) {
			if x == x {
				absurd++
			}
			v[i] = nan
			continue
		}
		v[i] = x * f
	}
	strays.zeros, strays.seen = zeros, int64(len(v))
	return absurd, strays
}

// ReadClasses lands a class layer (land cover) on the frame: nearest cell, or
// the commonest class when the frame's cells are more than one and a half
// times as wide. index turns a code (0 … 65535) into what the plane holds;
// nodata becomes none. It tells how it was done and how many cells of the
// frame each code was found on.
func ReadClasses(ctx context.Context, s Source, f Frame, index *[65536]uint8, none uint8, workers int, dst *Plane[uint8], progress func(done float64)) (how string, counts []int64, err error) {
	infos, err := describeAll(s)
	if err != nil {
		return "", nil, err
	}
	workers = max(1, workers)
	count := buffers[int64](workers, 65536)
	old := buffers[uint8](workers, landBand*f.W)
	gs := groups(infos)
	for gi, g := range gs {
		nd := noClass
		if v := g.infos[0].NoData; v != nil && *v >= 0 && *v < noClass && *v == math.Trunc(*v) {
			nd = int(*v)
		}
		how, err = land(ctx, g, f, landing[uint16]{
			fill: noClass, workers: workers,
			put: func(w, y, rows int, v []uint16) error {
				old, count := old[w][:len(v)], count[w]
				if gi > 0 {
					if err := dst.Read(0, y, f.W, rows, old); err != nil {
						return err
					}
				}
				for i, code := range v {
					switch {
					case gi > 0 && old[i] != none:
					case code == noClass || int(code) == nd:
						old[i] = none
					default:
						old[i] = index[code]
						count[code]++
					}
				}
				return dst.Write(0, y, f.W, rows, old)
			},
			progress: func(d float64) { progress((float64(gi) + d) / float64(len(gs))) },
		})
		if err != nil {
			return "", nil, err
		}
	}
	counts = count[0]
	for _, c := range count[1:] {
		for i, n := range c {
			counts[i] += n
		}
	}
	return how, counts, nil
}
