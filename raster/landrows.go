package raster

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"github.com/airbusgeo/godal"
)

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
	return readCells(src, x0-dx, y0-dy, x1-x0, y1-y0, buf[first:], fw)
}

// readCells reads a window of the first band, rows stride cells apart. Classes
// of a file whose cells may be negative or no number are read as they are:
// GDAL would make class 0 of all below it, a nodata mark of −9999 among them.
func readCells[T Elem](src *godal.Dataset, x, y, w, h int, dst []T, stride int) error {
	band := src.Bands()[0]
	classes, ok := any(dst).([]uint16)
	kind := band.Structure().DataType
	if !ok || kind == godal.Byte || kind == godal.UInt16 || kind == godal.UInt32 {
		return band.Read(x, y, dst, w, h, godal.PixelStride(1), godal.LineStride(stride), godal.ErrLogger(strict))
	}
	row := make([]float64, w)
	for r := range h {
		if err := band.Read(x, y+r, row, w, 1, godal.ErrLogger(strict)); err != nil {
			return err
		}
		for i, v := range row {
			c := uint16(noClass)
			if v = math.Round(v); v >= 0 && v < noClass { // not so for NaN
				c = uint16(v)
			}
			classes[r*stride+i] = c
		}
	}
	return nil
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
		if err := readCells(src, lo, r0, sw, r1-r0+1, win, sw); err != nil {
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
	ovr := "NONE"
	if g.overviews && alg == "average" {
		ovr = "AUTO"
	}
	for i := range warped {
		ds, done, err := g.open()
		if err != nil {
			return err
		}
		defer done()
		name := vsimem("warp.vrt")
		sw := []string{"-of", "VRT", "-s_srs", g.wkt, "-t_srs", f.WKT, "-r", alg,
			"-te", num(west), num(south), num(east), num(north), "-ts", fmt.Sprint(f.W), fmt.Sprint(f.H),
			"-dstnodata", num(float64(l.fill)), "-ovr", ovr}
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
