package raster

import (
	"fmt"
	"os"
	"path/filepath"
	"sort"

	"github.com/airbusgeo/godal"
)

// TIFFOptions says how a GeoTIFF is written.
type TIFFOptions struct {
	NoData      *float64
	Description string            // of the band
	Unit        string            // of the band, kept as metadata
	Scale       float64           // value = stored·Scale + Offset; 0 means 1
	Offset      float64           //
	Classes     map[int]string    // names of the classes of a class raster
	Colors      [][4]int16        // colour table of a class raster
	Metadata    map[string]string // of the dataset
	Nearest     bool              // overviews by nearest cell, for classes
	Workers     int               // compression threads
	Raw         bool              // no compression
}

// Sink is a GeoTIFF being written row band by row band.
type Sink[T Elem] struct {
	ds   *godal.Dataset
	band godal.Band
	f    Frame
	path string // where it will be
	tmp  string // where it is until then
}

// CreateTIFF starts a tiled, compressed GeoTIFF on the frame. It is written
// beside the path and moved there by Close; until then, or after Abort, what
// was at the path stays.
func CreateTIFF[T Elem](path string, f Frame, o TIFFOptions) (*Sink[T], error) {
	if err := Setup(); err != nil {
		return nil, err
	}
	tmp, err := beside(path)
	if err != nil {
		return nil, err
	}
	co := []string{"TILED=YES", "BIGTIFF=IF_SAFER"}
	if !o.Raw {
		co = append(co, "COMPRESS=DEFLATE", "ZLEVEL=6", "PREDICTOR="+predictor[T](), fmt.Sprintf("NUM_THREADS=%d", max(1, o.Workers)))
	}
	ds, err := godal.Create(godal.GTiff, tmp, 1, dataType[T](), f.W, f.H, godal.CreationOption(co...), godal.ErrLogger(strict))
	if err != nil {
		os.Remove(tmp)
		return nil, fmt.Errorf("create %q: %w", path, err)
	}
	s := &Sink[T]{ds: ds, band: ds.Bands()[0], f: f, path: path, tmp: tmp}
	if err := dress(ds, f, o); err != nil {
		s.Abort()
		return nil, fmt.Errorf("create %q: %w", path, err)
	}
	return s, nil
}

// beside names a temporary file in the target's folder, which must exist.
func beside(path string) (string, error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".rillwood-*"+filepath.Ext(path))
	if err != nil {
		return "", fmt.Errorf("write %q: %w", path, err)
	}
	f.Close()
	if err := os.Chmod(f.Name(), 0o644); err != nil {
		os.Remove(f.Name())
		return "", fmt.Errorf("write %q: %w", path, err)
	}
	return f.Name(), nil
}

// publish moves a finished temporary file to its place, its bytes safe on disk first.
func publish(tmp, path string) error {
	f, err := os.OpenFile(tmp, os.O_RDWR, 0)
	if err != nil {
		return fmt.Errorf("write %q: %w", path, err)
	}
	err = f.Sync()
	f.Close()
	if err == nil {
		err = os.Rename(tmp, path)
	}
	if err != nil {
		return fmt.Errorf("write %q: %w", path, err)
	}
	return nil
}

func dress(ds *godal.Dataset, f Frame, o TIFFOptions) error {
	if err := ds.SetGeoTransform([6]float64{f.X0, f.Cell, 0, f.Y0, 0, -f.Cell}, godal.ErrLogger(strict)); err != nil {
		return err
	}
	if err := ds.SetProjection(f.WKT, godal.ErrLogger(strict)); err != nil {
		return err
	}
	b := ds.Bands()[0]
	if o.NoData != nil {
		if err := b.SetNoData(*o.NoData, godal.ErrLogger(strict)); err != nil {
			return err
		}
	}
	if o.Scale != 0 {
		if err := b.SetScaleOffset(o.Scale, o.Offset, godal.ErrLogger(strict)); err != nil {
			return err
		}
	}
	meta := map[string]string{}
	for k, v := range o.Metadata {
		meta[k] = v
	}
	for _, k := range sortedKeys(meta) {
		if err := ds.SetMetadata(k, meta[k], godal.ErrLogger(strict)); err != nil {
			return err
		}
	}
	band := map[string]string{}
	if o.Description != "" {
		band["DESCRIPTION"] = o.Description
	}
	if o.Unit != "" {
		band["UNIT"] = o.Unit
	}
	for k, v := range o.Classes {
		band[fmt.Sprintf("CLASS_%03d", k)] = v
	}
	for _, k := range sortedKeys(band) {
		if err := b.SetMetadata(k, band[k], godal.ErrLogger(strict)); err != nil {
			return err
		}
	}
	if len(o.Colors) > 0 {
		if err := b.SetColorTable(godal.ColorTable{PaletteInterp: godal.RGBPalette, Entries: o.Colors}, godal.ErrLogger(strict)); err != nil {
			return err
		}
	}
	return nil
}

func sortedKeys(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

// WriteRows writes rows rows from row y on; cells holds rows×W of them.
func (s *Sink[T]) WriteRows(y, rows int, cells []T) error {
	if len(cells) < rows*s.f.W {
		panic("raster: too few cells for the rows to write")
	}
	if err := s.band.Write(0, y, cells[:rows*s.f.W], s.f.W, rows, godal.ErrLogger(strict)); err != nil {
		return fmt.Errorf("write %q, rows %d to %d: %w", s.path, y, y+rows-1, err)
	}
	return nil
}

// Close finishes the file and moves it to its place.
func (s *Sink[T]) Close() error {
	if err := s.ds.Close(godal.ErrLogger(strict)); err != nil {
		os.Remove(s.tmp)
		return fmt.Errorf("write %q: %w", s.path, err)
	}
	if err := publish(s.tmp, s.path); err != nil {
		os.Remove(s.tmp)
		return err
	}
	return nil
}

// Abort drops what was written.
func (s *Sink[T]) Abort() {
	s.ds.Close(godal.ErrLogger(strict))
	os.Remove(s.tmp)
}

func dataType[T Elem]() godal.DataType {
	var z T
	switch any(z).(type) {
	case uint8:
		return godal.Byte
	case uint16:
		return godal.UInt16
	case int16:
		return godal.Int16
	case uint32:
		return godal.UInt32
	case int32:
		return godal.Int32
	case float32:
		return godal.Float32
	case float64:
		return godal.Float64
	}
	panic(fmt.Sprintf("raster: no GeoTIFF cell type for %T", z))
}

func predictor[T Elem]() string {
	var z T
	switch any(z).(type) {
	case float32, float64:
		return "3"
	case uint8:
		return "1"
	}
	return "2"
}
