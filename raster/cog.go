package raster

import (
	"bufio"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
)

// Cloud Optimized GeoTIFF (OGC 21-026): 512×512 tiles, deflate, halved
// overviews down to one tile, all directories first, then the overviews'
// tiles, the smallest first, then the full map's.
//
// Rillwood writes these itself, since every run writes many and each
// takes the general writer three copies of the whole map: here rows are asked
// for, cut, packed and halved a tile row at a time, on all workers, and memory
// follows the width of the map. The words of the file (coordinate system,
// metadata) still come from GDAL, by way of a file of one cell.

const cogTile = 512

// cogGhost tells GDAL how the file is laid out (COG driver's structural metadata).
const cogGhost = "GDAL_STRUCTURAL_METADATA_SIZE=000140 bytes\n" +
	"LAYOUT=IFDS_BEFORE_DATA\nBLOCK_ORDER=ROW_MAJOR\nBLOCK_LEADER=SIZE_AS_UINT4\nBLOCK_TRAILER=LAST_4_BYTES_REPEATED\nKNOWN_INCOMPATIBLE_EDITION=NO\n "

// CanCOG is what a Cloud Optimized GeoTIFF of ours may hold.
type CanCOG interface{ ~uint8 | ~uint16 | ~float32 }

// WriteCOG writes a quantity as a Cloud Optimized GeoTIFF: rows(y, n, dst)
// fills n rows from row y of the frame on, and is called on up to o.Workers
// goroutines at once. Overviews are averages of the cells that have data, or
// with o.Nearest the north-west cell of four. Bytes depend on the cells and
// options alone. The file appears at path when it is whole; packed tiles wait
// beside it until then.
func WriteCOG[T CanCOG](ctx context.Context, path string, f Frame, o TIFFOptions, rows func(y, n int, dst []T) error) error {
	if err := Setup(); err != nil {
		return err
	}
	tags, err := wordsOf[T](f, o)
	if err != nil {
		return fmt.Errorf("write %q: %w", path, err)
	}
	data, err := os.CreateTemp(filepath.Dir(path), ".rillwood-tiles-*")
	if err != nil {
		return fmt.Errorf("write %q: %w", path, err)
	}
	defer os.Remove(data.Name())
	defer data.Close()
	p := newPyramid[T](f.W, f.H, o, data)
	if err := p.build(ctx, max(1, o.Workers), rows); err != nil {
		if errors.Is(err, context.Canceled) {
			return err
		}
		return fmt.Errorf("write %q: %w", path, err)
	}
	tmp, err := beside(path)
	if err != nil {
		return err
	}
	defer os.Remove(tmp)
	if err := p.assemble(tmp, tags); err != nil {
		return fmt.Errorf("write %q: %w", path, err)
	}
	return publish(tmp, path)
}

// classicLimit is where the classic form of the format ends: its places in the
// file are numbers of 32 bits (TIFF 6.0, Adobe 1992). Larger files are BigTIFF.
var classicLimit int64 = math.MaxUint32

// assemble writes the file: header, directories, overviews, full map.
func (p *pyramid[T]) assemble(path string, words []tiffTag) error {
	l := tiffLayout{}
	dirs, starts, end := p.layOut(l, words)
	if end > classicLimit {
		l.big = true
		dirs, starts, _ = p.layOut(l, words)
	}
	return p.writeFile(path, l, dirs, starts)
}

// layOut gives every directory and tile its place in one form of the format,
// and the length of the file.
func (p *pyramid[T]) layOut(l tiffLayout, words []tiffTag) (dirs [][]tiffTag, starts []int64, end int64) {
	pos := l.headerSize() + int64(len(cogGhost))
	pos += pos & 1
	// Directories know where tiles are only when all directories are measured.
	dirs = make([][]tiffTag, len(p.levels))
	starts = make([]int64, len(p.levels)+1)
	starts[0] = pos
	for k, lv := range p.levels {
		dirs[k] = p.directory(k, lv, words)
		starts[k+1] = starts[k] + l.directorySize(dirs[k])
	}
	at := starts[len(p.levels)]
	for k := len(p.levels) - 1; k >= 0; k-- {
		lv := p.levels[k]
		for i, n := range lv.counts {
			lv.offsets[i] = uint64(at) + 4
			at += int64(n) + 8
		}
		setOffsets(dirs[k], lv.offsets, l.big)
	}
	return dirs, starts, at
}

func (p *pyramid[T]) writeFile(path string, l tiffLayout, dirs [][]tiffTag, starts []int64) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_TRUNC, 0o644)
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 1<<20)
	l.header(w, starts[0])
	io.WriteString(w, cogGhost)
	if (l.headerSize()+int64(len(cogGhost)))&1 == 1 {
		w.WriteByte(0)
	}
	for k := range dirs {
		next := int64(0)
		if k+1 < len(dirs) {
			next = starts[k+1]
		}
		l.directory(w, dirs[k], starts[k], next)
	}
	for k := len(p.levels) - 1; k > 0; k-- {
		w.Write(p.levels[k].data.Bytes())
	}
	if _, err = p.file.Seek(0, io.SeekStart); err == nil {
		_, err = io.Copy(w, p.file)
	}
	if err == nil {
		err = w.Flush()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	return err
}

// directory lists the tags of one level in ascending order.
func (p *pyramid[T]) directory(k int, lv *level[T], words []tiffTag) []tiffTag {
	format, subfile := uint16(1), uint32(0)
	if p.float {
		format = 3
	}
	if k > 0 {
		subfile = 1
	}
	photometric := uint16(1)
	for _, t := range words {
		if t.id == tagColorMap {
			photometric = 3
		}
	}
	tags := []tiffTag{
		longTag(254, subfile), longTag(256, uint32(lv.w)), longTag(257, uint32(lv.h)), shortTag(258, uint16(8*p.size)),
		shortTag(259, 8), shortTag(262, photometric), shortTag(277, 1), shortTag(284, 1), shortTag(317, p.predictor),
		shortTag(322, cogTile), shortTag(323, cogTile), offsetsTag(len(lv.counts)), longTag(325, lv.counts...), shortTag(339, format),
	}
	for _, t := range words {
		if k == 0 || t.id == tagColorMap || t.id == tagNoData {
			tags = append(tags, t)
		}
	}
	return sortTags(tags)
}

// packed is one finished tile with its size before and its last bytes again
// behind it, as the layout says.
func packed(b []byte) []byte {
	out := make([]byte, 0, len(b)+8)
	out = binary.LittleEndian.AppendUint32(out, uint32(len(b)))
	out = append(out, b...)
	return append(out, b[len(b)-4:]...)
}
