package raster

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"sync/atomic"

	"github.com/airbusgeo/godal"
)

// Largest raster taken without being told otherwise: sixteen times a state at
// 10 m. A file may declare any size in a few bytes.
const maxCells = 20e9

// Largest block of cells, bytes; a file may declare any size of these too.
const maxBlock = 256 << 20

// Source says where a layer's rasters are and what to believe about them.
type Source struct {
	Paths  []string // one file or the tiles of a mosaic
	CRS    string   // "EPSG:n" or WKT, when the files declare none or a wrong one
	NoData *float64 // when the files declare none or a wrong one
	// Absurd, when given, counts the cells of the frame whose number ReadSurface
	// drops as none: infinite, or beyond ±40,000.
	Absurd *atomic.Int64
	// Strays, when given, collects the numbers that can be no height.
	Strays *Strays
	// Overviews lets a single file that is averaged onto larger cells be read from
	// overviews of its own, no coarser than the frame: much faster, and for pictures
	// only, since nobody vouches for how a file's overviews were made.
	Overviews bool
}

// Info is what one raster file says of itself.
type Info struct {
	Path    string
	Driver  string
	W, H    int
	Bands   int
	Type    string // cell type, GDAL's name
	NoData  *float64
	Scale   float64 // value = stored × Scale + Offset
	Offset  float64
	CRS     CRS
	Geo     [6]float64 // affine transform: x = Geo[0] + col·Geo[1] + row·Geo[2]
	Unit    string     // band unit, "" when not declared
	Blocks  [2]int
	Warning []string
}

// Bounds gives west, south, east, north in the raster's own CRS.
func (i Info) Bounds() [4]float64 {
	b := [4]float64{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, c := range [4][2]float64{{0, 0}, {float64(i.W), 0}, {0, float64(i.H)}, {float64(i.W), float64(i.H)}} {
		x := i.Geo[0] + c[0]*i.Geo[1] + c[1]*i.Geo[2]
		y := i.Geo[3] + c[0]*i.Geo[4] + c[1]*i.Geo[5]
		b[0], b[1], b[2], b[3] = min(b[0], x), min(b[1], y), max(b[2], x), max(b[3], y)
	}
	return b
}

// NorthUp tells whether rows run west–east and row 0 is the north.
func (i Info) NorthUp() bool {
	return i.Geo[2] == 0 && i.Geo[4] == 0 && i.Geo[1] > 0 && i.Geo[5] < 0
}

// Expand turns what a user may name (files, folders, globs) into the sorted
// list of raster files. A folder gives its files with a raster's ending.
func Expand(names []string) ([]string, error) {
	var out []string
	for _, n := range names {
		if st, err := os.Stat(n); err == nil && st.IsDir() {
			entries, err := os.ReadDir(n)
			if err != nil {
				return nil, fmt.Errorf("%q: %w", n, err)
			}
			found := 0
			for _, e := range entries {
				switch strings.ToLower(filepath.Ext(e.Name())) {
				case ".tif", ".tiff", ".img", ".asc", ".hgt", ".dem", ".bil", ".flt":
					out = append(out, filepath.Join(n, e.Name()))
					found++
				}
			}
			if found == 0 {
				return nil, fmt.Errorf("folder %q holds no raster file (.tif, .img, .asc, .hgt, .dem, .bil, .flt)", n)
			}
			continue
		}
		if _, err := os.Stat(n); err != nil && strings.ContainsAny(n, "*?[") {
			m, err := filepath.Glob(n)
			if err != nil {
				return nil, fmt.Errorf("pattern %q: %w", n, err)
			}
			if len(m) == 0 {
				return nil, fmt.Errorf("pattern %q matches no file", n)
			}
			out = append(out, m...)
			continue
		}
		out = append(out, n)
	}
	sort.Strings(out)
	dedup := out[:0]
	for i, p := range out {
		if i == 0 || p != out[i-1] {
			dedup = append(dedup, p)
		}
	}
	return dedup, nil
}

// open opens one file of a source for reading.
func open(path string, m *messages) (*godal.Dataset, error) {
	if err := Setup(); err != nil {
		return nil, err
	}
	abs, err := LocalPath(path, false)
	if err != nil {
		return nil, err
	}
	if err := PlainCompanions(abs); err != nil {
		return nil, fmt.Errorf("%q: %w", path, err)
	}
	ds, err := godal.Open(abs, godal.RasterOnly(), godal.Drivers(inputDrivers...), godal.ErrLogger(m.handle))
	if err != nil {
		return nil, fmt.Errorf("%q: not a raster that can be read here: %s", path, shorten(err.Error(), abs))
	}
	return ds, nil
}

// shorten makes one line of what GDAL says: of a chain of messages the first,
// which names the cause, with the file's own name for its path.
func shorten(msg, path string) string {
	msg, _, _ = strings.Cut(msg, "\n")
	msg = strings.ReplaceAll(msg, "`"+path+"'", "it")
	return strings.ReplaceAll(msg, path, filepath.Base(path))
}

// Describe opens one raster and tells what it says of itself. It fails when
// the file cannot serve as a layer: no CRS (unless crs overrides), no
// position, complex cells, no bands, or a size beyond the limit.
func Describe(path, crs string) (Info, error) {
	m := &messages{}
	ds, err := open(path, m)
	if err != nil {
		return Info{}, err
	}
	defer ds.Close(godal.ErrLogger(strict))
	return describe(ds, path, crs, m)
}

func describe(ds *godal.Dataset, path, crs string, m *messages) (Info, error) {
	st := ds.Structure()
	in := Info{Path: path, Driver: ds.Driver().ShortName(), W: st.SizeX, H: st.SizeY, Bands: st.NBands, Type: st.DataType.String(), Blocks: [2]int{st.BlockSizeX, st.BlockSizeY}}
	if in.Bands < 1 {
		return in, fmt.Errorf("%q has no band", path)
	}
	if float64(in.W)*float64(in.H) > maxCells {
		return in, fmt.Errorf("%q declares %d × %d cells, more than the %g that are taken; cut it to the ground of the survey", path, in.W, in.H, float64(maxCells))
	}
	// Of what is stored in blocks a whole block comes into memory for each cell.
	if block := float64(st.BlockSizeX) * float64(st.BlockSizeY) * cellBytes(st.DataType); block > maxBlock {
		return in, fmt.Errorf("%q stores its cells in blocks of %d × %d (%.0f MB), more than the %d MB that are taken at once; rewrite it in tiles of 512 × 512 cells", path, st.BlockSizeX, st.BlockSizeY, block/(1<<20), maxBlock>>20)
	}
	switch st.DataType {
	case godal.CInt16, godal.CInt32, godal.CFloat32, godal.CFloat64:
		return in, fmt.Errorf("%q holds complex numbers (%s): a layer of real numbers is wanted", path, in.Type)
	}
	band := ds.Bands()[0]
	if nd, ok := band.NoData(); ok {
		in.NoData = &nd
	}
	in.Scale, in.Offset = 1, 0
	if b := band.Structure(); b.Scale != 0 && !math.IsNaN(b.Scale) && !math.IsInf(b.Scale, 0) && !math.IsNaN(b.Offset) && !math.IsInf(b.Offset, 0) {
		in.Scale, in.Offset = b.Scale, b.Offset
	}
	wkt := ds.Projection()
	if crs != "" {
		c, err := ParseCRS(crs)
		if err != nil {
			return in, fmt.Errorf("%q: %w", path, err)
		}
		in.CRS = c
	} else if wkt != "" {
		c, err := DescribeCRS(wkt)
		if err != nil {
			return in, fmt.Errorf("%q: %w", path, err)
		}
		in.CRS = c
	} else {
		return in, fmt.Errorf("%q declares no coordinate system: add crs: EPSG:number to this layer in the survey file", path)
	}
	g, err := ds.GeoTransform(godal.ErrLogger(strict))
	if err != nil || g == [6]float64{0, 1, 0, 0, 0, 1} {
		return in, fmt.Errorf("%q has no position on the ground (no geotransform): georeference it first", path)
	}
	for _, v := range g {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return in, fmt.Errorf("%q has a position that is not a number", path)
		}
	}
	if g[1]*g[5]-g[2]*g[4] == 0 {
		return in, fmt.Errorf("%q has cells of no size", path)
	}
	in.Geo = g
	in.Unit = unitOf(ds)
	if in.Bands > 1 {
		in.Warning = append(in.Warning, fmt.Sprintf("%d bands, the first is used", in.Bands))
	}
	in.Warning = append(in.Warning, m.warnings...)
	return in, nil
}

// cellBytes is what a cell takes; of a type this GDAL does not know, the most.
func cellBytes(t godal.DataType) float64 {
	switch t {
	case godal.Byte, godal.Int16, godal.UInt16, godal.Int32, godal.UInt32, godal.Float32, godal.Float64, godal.CInt16, godal.CInt32, godal.CFloat32, godal.CFloat64:
		return float64(t.Size()) // which panics for any other
	}
	return 16
}

// unitOf finds the first band's unit. The binding has no call for it; a
// virtual copy's XML carries it.
func unitOf(ds *godal.Dataset) string {
	name := vsimem("unit.vrt")
	defer godal.VSIUnlink(name, godal.ErrLogger(strict))
	v, err := ds.Translate(name, []string{"-of", "VRT", "-b", "1"}, godal.ErrLogger(strict))
	if err != nil {
		return ""
	}
	v.Close(godal.ErrLogger(strict))
	f, err := godal.VSIOpen(name, godal.ErrLogger(strict))
	if err != nil {
		return ""
	}
	defer f.Close()
	buf := make([]byte, 1<<16)
	n, _ := f.Read(buf)
	_, rest, ok := strings.Cut(string(buf[:n]), "<UnitType>")
	if !ok {
		return ""
	}
	unit, _, _ := strings.Cut(rest, "</UnitType>")
	return strings.TrimSpace(unit)
}
