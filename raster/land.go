package raster

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strings"

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
	infos []Info
	wkt   string
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
			if SameCRS(gs[i].wkt, in.CRS.WKT) && a.Type == in.Type && a.Scale == in.Scale && a.Offset == in.Offset && sameNoData(a.NoData, in.NoData) && a.NorthUp() && in.NorthUp() {
				gs[i].infos = append(gs[i].infos, in)
				continue next
			}
		}
		gs = append(gs, group{infos: []Info{in}, wkt: in.CRS.WKT})
	}
	return gs
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
	for _, in := range g.infos {
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
// overlap, the first in order wins. It tells how it was done.
func ReadSurface(ctx context.Context, s Source, f Frame, factor float64, workers int, dst *Plane[float32], progress func(done float64)) (how string, err error) {
	infos, err := describeAll(s)
	if err != nil {
		return "", err
	}
	fill := float32(math.NaN())
	var old [][]float32
	gs := groups(infos)
	for gi, g := range gs {
		l := landing[float32]{
			fill: fill, workers: workers, smooth: true,
			put: func(w, y, rows int, v []float32) error {
				cleanSurface(v, g.infos[0], factor)
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
// then factor), and nodata, infinities and absurd values into NaN.
func cleanSurface(v []float32, in Info, factor float64) {
	nan := float32(math.NaN())
	nd := nan
	if in.NoData != nil {
		nd = float32(*in.NoData)
	}
	scale, offset, f := float32(in.Scale), float32(in.Offset), float32(factor)
	plain := in.Scale == 1 && in.Offset == 0
	for i, x := range v {
		if x == nd {
			v[i] = nan
			continue
		}
		if !plain {
			x = x*scale + offset
		}
		// No ground on earth lies below −12,000 or above 9,000 m, nor beyond
		// 40,000 ft: such a value is a nodata mark that the file does not declare.
		if !(x > -40000 && x < 40000) {
			v[i] = nan
			continue
		}
		v[i] = x * f
	}
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

// noClass marks cells without a class while a class layer lands.
const noClass = 65535

func buffers[T any](n, size int) [][]T {
	out := make([][]T, max(1, n))
	for i := range out {
		out[i] = make([]T, size)
	}
	return out
}

// landing is how one kind of layer lands.
type landing[T Elem] struct {
	fill     T
	workers  int
	smooth   bool // resample bilinearly or average; else nearest or mode
	put      func(worker, y, rows int, cells []T) error
	into     []T // the whole frame's cells, to read straight into; nil = buffers
	progress func(float64)
}

const landBand = 256 // rows handed out at once

func land[T Elem](ctx context.Context, g group, f Frame, l landing[T]) (string, error) {
	ds, done, err := g.open()
	if err != nil {
		return "", err
	}
	gt, w, h, err := g.geo(ds)
	done()
	if err != nil {
		return "", fmt.Errorf("%q: %w", g.infos[0].Path, err)
	}
	how := g.landing(gt, f, l.smooth)
	switch how {
	case HowCopied:
		dx, dy, _ := aligned(gt, f)
		return how, landRows(ctx, g, f, l, func(src *godal.Dataset, y, n int, buf []T) error {
			return readShifted(src, w, h, dx, dy, f.W, y, n, buf, l.fill)
		})
	case HowSampled:
		return how, landRows(ctx, g, f, l, nearestRows(gt, w, h, f, l.fill))
	}
	alg := map[string]string{HowAveraged: "average", HowAveragedIn: "average", HowWarped: "bilinear", HowResampled: "bilinear", HowNearest: "near", HowMode: "mode"}[how]
	return how, landWarped(ctx, g, f, l, alg)
}

// landing decides how the group lands on the frame.
func (g group) landing(gt [6]float64, f Frame, smooth bool) string {
	same := g.same(f)
	if _, _, ok := aligned(gt, f); same && ok {
		return HowCopied
	}
	coarser := false
	if same && gt[2] == 0 && gt[4] == 0 {
		coarser = f.Cell > 1.5*max(math.Abs(gt[1]), math.Abs(gt[5]))
	} else if b, err := TransformBounds(g.infos[0].Bounds(), g.wkt, f.WKT); err == nil {
		own := math.Sqrt((b[2] - b[0]) * (b[3] - b[1]) / float64(g.infos[0].W) / float64(g.infos[0].H))
		coarser = f.Cell > 1.5*own
	}
	switch {
	case same && !smooth && !coarser && gt[2] == 0 && gt[4] == 0 && gt[1] > 0 && gt[5] < 0:
		return HowSampled
	case smooth && coarser && same:
		return HowAveragedIn
	case smooth && coarser:
		return HowAveraged
	case smooth && same:
		return HowResampled
	case smooth:
		return HowWarped
	case coarser:
		return HowMode
	}
	return HowNearest
}

// Landing says how a raster will land on a frame: one of the How texts.
func Landing(in Info, f Frame, smooth bool) string {
	return group{infos: []Info{in}, wkt: in.CRS.WKT}.landing(in.Geo, f, smooth)
}

// landRows runs read over row bands, each worker with its own handle, and
// puts the cells where the plane is still empty.
func landRows[T Elem](ctx context.Context, g group, f Frame, l landing[T], read func(src *godal.Dataset, y, n int, buf []T) error) error {
	n := (f.H + landBand - 1) / landBand
	workers := max(1, min(l.workers, n))
	srcs := make([]*godal.Dataset, workers)
	for i := range srcs {
		ds, done, err := g.open()
		if err != nil {
			return err
		}
		defer done()
		srcs[i] = ds
	}
	return eachBand(ctx, g, f, l, workers, func(worker, y, rows int, buf []T) error { return read(srcs[worker], y, rows, buf) })
}

func eachBand[T Elem](ctx context.Context, g group, f Frame, l landing[T], workers int, read func(worker, y, rows int, buf []T) error) error {
	n := (f.H + landBand - 1) / landBand
	bufs := make([][]T, workers)
	return Parallel(ctx, workers, n, func(w, i int) error {
		y := i * landBand
		rows := min(landBand, f.H-y)
		var buf []T
		if l.into != nil {
			buf = l.into[y*f.W : (y+rows)*f.W]
		} else {
			if bufs[w] == nil {
				bufs[w] = make([]T, landBand*f.W)
			}
			buf = bufs[w][:rows*f.W]
		}
		if err := read(w, y, rows, buf); err != nil {
			bad := g.blame(err.Error())
			return fmt.Errorf("read %q for rows %d to %d of the frame (a file that is cut short or damaged? fetch it again): %s", filepath.Base(bad), y, y+rows-1, shorten(err.Error(), bad))
		}
		l.progress(float64(i+1) / float64(n))
		return l.put(w, y, rows, buf)
	})
}

// blame finds the tile that GDAL's message speaks of: the first when it names none.
func (g group) blame(msg string) string {
	for _, in := range g.infos {
		if strings.Contains(msg, string(filepath.Separator)+filepath.Base(in.Path)+",") {
			return in.Path
		}
	}
	return g.infos[0].Path
}

// readShifted reads frame rows y … y+n of a raster whose first cell is the
// frame's cell (dx, dy).
func readShifted[T Elem](src *godal.Dataset, w, h, dx, dy, fw, y, n int, buf []T, fill T) error {
	x0, x1 := max(0, dx), min(fw, dx+w)
	y0, y1 := max(y, dy), min(y+n, dy+h)
	if x0 > 0 || x1 < fw || y0 > y || y1 < y+n {
		for i := range buf {
			buf[i] = fill
		}
	}
	if x0 >= x1 || y0 >= y1 {
		return nil
	}
	first := (y0-y)*fw + x0
	return src.Bands()[0].Read(x0-dx, y0-dy, buf[first:], x1-x0, y1-y0,
		godal.PixelStride(1), godal.LineStride(fw), godal.ErrLogger(strict))
}

// nearestRows samples a north-up raster of the same CRS by index arithmetic:
// far cheaper than the general warper, and exact.
func nearestRows[T Elem](gt [6]float64, w, h int, f Frame, fill T) func(*godal.Dataset, int, int, []T) error {
	cols := make([]int, f.W)
	lo, hi := w, -1
	for x := range cols {
		e, _ := f.Center(x, 0)
		c := int(math.Floor((e - gt[0]) / gt[1]))
		if c < 0 || c >= w {
			c = -1
		} else {
			lo, hi = min(lo, c), max(hi, c)
		}
		cols[x] = c
	}
	row := func(y int) int {
		_, n := f.Center(0, y)
		return int(math.Floor((n - gt[3]) / gt[5]))
	}
	return func(src *godal.Dataset, y, n int, buf []T) error {
		r0, r1 := max(0, row(y)), min(h-1, row(y+n-1))
		if r0 > r1 || lo > hi {
			for i := range buf {
				buf[i] = fill
			}
			return nil
		}
		sw := hi - lo + 1
		win := make([]T, sw*(r1-r0+1))
		if err := src.Bands()[0].Read(lo, r0, win, sw, r1-r0+1, godal.ErrLogger(strict)); err != nil {
			return err
		}
		for i := range n {
			out := buf[i*f.W : (i+1)*f.W]
			r := row(y + i)
			if r < r0 || r > r1 {
				for x := range out {
					out[x] = fill
				}
				continue
			}
			line := win[(r-r0)*sw : (r-r0+1)*sw]
			for x, c := range cols {
				if c < 0 {
					out[x] = fill
				} else {
					out[x] = line[c-lo]
				}
			}
		}
		return nil
	}
}

// landWarped reads the frame's rows from a virtual warped copy, so that memory
// stays bounded and a cancelled run stops within a band.
func landWarped[T Elem](ctx context.Context, g group, f Frame, l landing[T], alg string) error {
	n := (f.H + landBand - 1) / landBand
	workers := max(1, min(l.workers, n))
	warped := make([]*godal.Dataset, workers)
	west, south, east, north := f.Bounds()
	for i := range warped {
		ds, done, err := g.open()
		if err != nil {
			return err
		}
		defer done()
		name := vsimem("warp.vrt")
		sw := []string{"-of", "VRT", "-s_srs", g.wkt, "-t_srs", f.WKT, "-r", alg,
			"-te", num(west), num(south), num(east), num(north), "-ts", fmt.Sprint(f.W), fmt.Sprint(f.H),
			"-dstnodata", num(float64(l.fill)), "-ovr", "NONE"}
		if nd := g.infos[0].NoData; nd != nil {
			sw = append(sw, "-srcnodata", num(*nd))
		}
		if l.smooth {
			sw = append(sw, "-ot", "Float32")
		} else {
			sw = append(sw, "-ot", "UInt16")
		}
		v, err := ds.Warp(name, sw, godal.ErrLogger(strict))
		if err != nil {
			return fmt.Errorf("%q: cannot be reprojected: %s", g.infos[0].Path, shorten(err.Error(), g.infos[0].Path))
		}
		defer func() {
			v.Close(godal.ErrLogger(strict))
			godal.VSIUnlink(name, godal.ErrLogger(strict))
		}()
		warped[i] = v
	}
	return eachBand(ctx, g, f, l, workers, func(worker, y, rows int, buf []T) error {
		return warped[worker].Bands()[0].Read(0, y, buf, f.W, rows, godal.ErrLogger(strict))
	})
}

func num(v float64) string {
	if math.IsNaN(v) {
		return "nan"
	}
	return fmt.Sprintf("%.17g", v)
}
