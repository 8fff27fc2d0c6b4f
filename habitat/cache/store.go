package cache

import (
	"bufio"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unsafe"

	"rillwood/raster"
)

// Store is a folder of kept results; nil keeps nothing.
type Store struct {
	dir   string
	limit int64 // bytes
}

// ending of a store's files: nothing else in the folder is touched.
const ending = ".stage"

// Open takes a folder as a store of at most limit bytes, making it when it is
// not there.
func Open(dir string, limit int64) (*Store, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("cache %q cannot be made: %w", dir, err)
	}
	abs, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("cache %q: %w", dir, err)
	}
	return &Store{abs, limit}, nil
}

// Piece is one plane of a stage's results.
type Piece struct {
	width int // bytes a cell
	count int
	data  []byte
}

// PlanePiece gives a plane that lies in memory as a piece; ok is false for one
// that does not.
func PlanePiece[T raster.Elem](p *raster.Plane[T]) (piece Piece, ok bool) {
	cells := p.Mem()
	if cells == nil {
		return Piece{}, false
	}
	var z T
	return Piece{int(unsafe.Sizeof(z)), len(cells), bytesOf(cells)}, true
}

// header is the first line of a file.
type header struct {
	Format string          `json:"format"`
	Order  string          `json:"byte_order"`
	Key    Key             `json:"key"`
	Meta   json.RawMessage `json:"meta"`
	MetaOf uint32          `json:"meta_crc32c"`
	Width  []int           `json:"width"`
	Count  []int           `json:"count"`
	Sums   []uint32        `json:"crc32c"`
}

const format = "rillwood-stage-1"

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// mostHeader is the longest header that is read.
const mostHeader = 1 << 20

func order() string {
	if binary.NativeEndian.Uint16([]byte{1, 0}) == 1 {
		return "little"
	}
	return "big"
}

// Load fills meta and the pieces with what was kept under a key. A file that
// is damaged or of another form is removed, and nothing was found.
func (s *Store) Load(key Key, meta any, pieces ...Piece) bool {
	if s == nil || key == "" {
		return false
	}
	path := s.path(key)
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	err = read(f, key, meta, pieces)
	f.Close()
	if err != nil {
		os.Remove(path)
		return false
	}
	now := time.Now()
	os.Chtimes(path, now, now) // those not used for longest go first
	return true
}

func read(f *os.File, key Key, meta any, pieces []Piece) error {
	r := bufio.NewReaderSize(f, mostHeader)
	line, err := r.ReadSlice('\n')
	if err != nil {
		return err
	}
	var h header
	if err := json.Unmarshal(line, &h); err != nil {
		return err
	}
	if h.Format != format || h.Order != order() || h.Key != key || len(h.Width) != len(pieces) || len(h.Count) != len(pieces) || len(h.Sums) != len(pieces) {
		return errors.New("another form")
	}
	if crc32.Checksum(h.Meta, castagnoli) != h.MetaOf {
		return errors.New("damaged")
	}
	for i, p := range pieces {
		if h.Width[i] != p.width || h.Count[i] != p.count {
			return errors.New("another size")
		}
		if _, err := io.ReadFull(r, p.data); err != nil {
			return err
		}
		if crc32.Checksum(p.data, castagnoli) != h.Sums[i] {
			return errors.New("damaged")
		}
	}
	if _, err := r.ReadByte(); err != io.EOF {
		return errors.New("longer than it says")
	}
	return json.Unmarshal(h.Meta, meta)
}

// Save keeps meta and pieces under a key. It never fails a run: what cannot be
// kept is not kept.
func (s *Store) Save(key Key, meta any, pieces ...Piece) {
	if s == nil || key == "" {
		return
	}
	h := header{Format: format, Order: order(), Key: key}
	var size int64
	for _, p := range pieces {
		h.Width, h.Count, h.Sums = append(h.Width, p.width), append(h.Count, p.count), append(h.Sums, crc32.Checksum(p.data, castagnoli))
		size += int64(len(p.data))
	}
	if size > s.limit/2 {
		return
	}
	var err error
	if h.Meta, err = json.Marshal(meta); err != nil {
		return
	}
	h.MetaOf = crc32.Checksum(h.Meta, castagnoli)
	line, err := json.Marshal(h)
	if err != nil {
		return
	}
	s.shrink(s.limit - size)
	f, err := os.CreateTemp(s.dir, "new-*"+ending)
	if err != nil {
		return
	}
	_, err = f.Write(append(line, '\n'))
	for _, p := range pieces {
		if err == nil {
			_, err = f.Write(p.data)
		}
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Rename(f.Name(), s.path(key))
	}
	if err != nil {
		os.Remove(f.Name())
	}
}

func (s *Store) path(key Key) string { return filepath.Join(s.dir, string(key)+ending) }

// stale is how old an unfinished file must be to count as left by a run that died.
const stale = time.Hour

// shrink removes unfinished files of dead runs, and those not used for longest
// until the store holds at most so many bytes.
func (s *Store) shrink(most int64) {
	entries, err := os.ReadDir(s.dir)
	if err != nil {
		return
	}
	type kept struct {
		path string
		size int64
		used time.Time
	}
	var list []kept
	var total int64
	for _, e := range entries {
		info, err := e.Info()
		if err != nil || !info.Mode().IsRegular() || !strings.HasSuffix(e.Name(), ending) {
			continue
		}
		path := filepath.Join(s.dir, e.Name())
		if strings.HasPrefix(e.Name(), "new-") {
			if time.Since(info.ModTime()) > stale {
				os.Remove(path)
			}
			continue
		}
		list = append(list, kept{path, info.Size(), info.ModTime()})
		total += info.Size()
	}
	slices.SortFunc(list, func(a, b kept) int { return a.used.Compare(b.used) })
	for _, k := range list {
		if total <= most {
			return
		}
		if os.Remove(k.path) == nil {
			total -= k.size
		}
	}
}
