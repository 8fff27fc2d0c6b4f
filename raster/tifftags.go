package raster

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/airbusgeo/godal"
)

// The little of TIFF (Adobe 1992, BigTIFF 2007) that writing needs.

const (
	tagColorMap = 320
	tagNoData   = 42113
)

// tiffTag is one entry of a directory, its values in little-endian bytes.
type tiffTag struct {
	id, kind uint16
	count    int
	data     []byte
}

func shortTag(id uint16, v ...uint16) tiffTag {
	t := tiffTag{id: id, kind: 3, count: len(v)}
	for _, x := range v {
		t.data = binary.LittleEndian.AppendUint16(t.data, x)
	}
	return t
}

func longTag(id uint16, v ...uint32) tiffTag {
	t := tiffTag{id: id, kind: 4, count: len(v)}
	for _, x := range v {
		t.data = binary.LittleEndian.AppendUint32(t.data, x)
	}
	return t
}

// offsetsTag keeps room for the tiles' places.
func offsetsTag(n int) tiffTag { return tiffTag{id: 324, count: n} }

func setOffsets(tags []tiffTag, offsets []uint64, big bool) {
	for i := range tags {
		t := &tags[i]
		if t.id != 324 {
			continue
		}
		t.data = t.data[:0]
		for _, o := range offsets {
			if big {
				t.kind = 16
				t.data = binary.LittleEndian.AppendUint64(t.data, o)
			} else {
				t.kind = 4
				t.data = binary.LittleEndian.AppendUint32(t.data, uint32(o))
			}
		}
	}
}

func sortTags(tags []tiffTag) []tiffTag {
	slices.SortFunc(tags, func(a, b tiffTag) int { return int(a.id) - int(b.id) })
	return tags
}

// tiffLayout is the classic or the big form of the format.
type tiffLayout struct{ big bool }

func (l tiffLayout) headerSize() int64 {
	if l.big {
		return 16
	}
	return 8
}

// inline is how many bytes of values fit into an entry.
func (l tiffLayout) inline() int {
	if l.big {
		return 8
	}
	return 4
}

func (l tiffLayout) dataSize(t tiffTag) int64 {
	n := len(t.data)
	if t.id == 324 { // the offsets are not known yet
		n = t.count * 4
		if l.big {
			n = t.count * 8
		}
	}
	if n <= l.inline() {
		return 0
	}
	return int64(n + n&1)
}

// directorySize counts the entries and the values that do not fit into them.
func (l tiffLayout) directorySize(tags []tiffTag) int64 {
	n := int64(2 + 12*len(tags) + 4)
	if l.big {
		n = int64(8 + 20*len(tags) + 8)
	}
	for _, t := range tags {
		n += l.dataSize(t)
	}
	return n + n&1
}

func (l tiffLayout) header(w *bufio.Writer, first int64) {
	var b []byte
	if l.big {
		b = append(b, 'I', 'I', 43, 0, 8, 0, 0, 0)
		b = binary.LittleEndian.AppendUint64(b, uint64(first))
	} else {
		b = append(b, 'I', 'I', 42, 0)
		b = binary.LittleEndian.AppendUint32(b, uint32(first))
	}
	w.Write(b)
}

// directory writes one directory that starts at pos; next is the place of the
// one behind it, 0 for none.
func (l tiffLayout) directory(w *bufio.Writer, tags []tiffTag, pos, next int64) {
	le := binary.LittleEndian
	var b, values []byte
	word := func(v uint64) {
		if l.big {
			b = le.AppendUint64(b, v)
		} else {
			b = le.AppendUint32(b, uint32(v))
		}
	}
	at := pos + int64(2+12*len(tags)+4)
	if l.big {
		at = pos + int64(8+20*len(tags)+8)
		b = le.AppendUint64(b, uint64(len(tags)))
	} else {
		b = le.AppendUint16(b, uint16(len(tags)))
	}
	for _, t := range tags {
		b = le.AppendUint16(le.AppendUint16(b, t.id), t.kind)
		word(uint64(t.count))
		if len(t.data) <= l.inline() {
			b = append(b, t.data...)
			b = append(b, make([]byte, l.inline()-len(t.data))...)
			continue
		}
		word(uint64(at) + uint64(len(values)))
		values = append(values, t.data...)
		if len(values)&1 == 1 {
			values = append(values, 0)
		}
	}
	word(uint64(next))
	b = append(b, values...)
	if len(b)&1 == 1 {
		b = append(b, 0)
	}
	w.Write(b)
}

// wordsOf lets GDAL write a file of one cell with the options' coordinate
// system, nodata, colours and metadata, and takes those tags from it.
func wordsOf[T Elem](f Frame, o TIFFOptions) ([]tiffTag, error) {
	name := vsimem("words.tif")
	ds, err := godal.Create(godal.GTiff, name, 1, dataType[T](), 1, 1, godal.CreationOption("BIGTIFF=NO", "ENDIANNESS=LITTLE"), godal.ErrLogger(strict))
	if err != nil {
		return nil, err
	}
	defer godal.VSIUnlink(name, godal.ErrLogger(strict))
	one := f
	one.W, one.H = 1, 1
	if err := dress(ds, one, o); err != nil {
		ds.Close(godal.ErrLogger(strict))
		return nil, err
	}
	if err := ds.Close(godal.ErrLogger(strict)); err != nil {
		return nil, err
	}
	v, err := godal.VSIOpen(name, godal.ErrLogger(strict))
	if err != nil {
		return nil, err
	}
	defer v.Close()
	data, err := io.ReadAll(v)
	if err != nil {
		return nil, err
	}
	return readTags(data, func(id uint16) bool {
		return id == tagColorMap || id >= 33550 && id <= 34737 || id == 42112 || id == tagNoData || id == 305
	})
}

// readTags reads the wanted tags of the first directory of a classic
// little-endian TIFF.
func readTags(b []byte, want func(id uint16) bool) ([]tiffTag, error) {
	le := binary.LittleEndian
	bad := errors.New("the raster library wrote a file that cannot be read back")
	if len(b) < 8 || string(b[:4]) != "II*\x00" {
		return nil, bad
	}
	pos := int(le.Uint32(b[4:]))
	if pos+2 > len(b) {
		return nil, bad
	}
	n := int(le.Uint16(b[pos:]))
	sizes := map[uint16]int{1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 12: 8}
	var out []tiffTag
	for i := range n {
		e := pos + 2 + 12*i
		if e+12 > len(b) {
			return nil, bad
		}
		t := tiffTag{id: le.Uint16(b[e:]), kind: le.Uint16(b[e+2:]), count: int(le.Uint32(b[e+4:]))}
		if !want(t.id) {
			continue
		}
		size, ok := sizes[t.kind]
		if !ok {
			return nil, fmt.Errorf("tag %d has a kind of value that is not known", t.id)
		}
		size *= t.count
		at := e + 8
		if size > 4 {
			at = int(le.Uint32(b[e+8:]))
		}
		if size < 0 || at+size > len(b) {
			return nil, bad
		}
		t.data = slices.Clone(b[at : at+size])
		out = append(out, t)
	}
	return out, nil
}
