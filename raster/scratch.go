package raster

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"sync"
	"sync/atomic"

	"rillwood/internal/newfile"
)

// Scratch is where planes go that need not stay in memory: as many as its room
// allows do stay, the others go to files without a name in a folder. The
// system takes those away with the program, however it ends.
type Scratch struct {
	*scratchFiles
	room atomic.Int64 // bytes of memory left for planes
}

// scratchFiles are the files of a scratch that are open.
type scratchFiles struct {
	dir    string
	mu     sync.Mutex
	open   map[*os.File]bool
	closed bool
}

// NewScratch puts files into the folder dir, which must be there. room is how
// many bytes of planes may stay in memory.
func NewScratch(dir string, room int64) (*Scratch, error) {
	s := &Scratch{scratchFiles: &scratchFiles{dir: dir, open: map[*os.File]bool{}}}
	s.room.Store(room)
	f, err := s.file(0) // is it there, and to be written into?
	if err != nil {
		return nil, err
	}
	s.drop(f)
	return s, nil
}

// Cold gives the same files without room in memory, for planes that are read
// once or twice: the room is for those that every pass reads. Nil stays nil.
func (s *Scratch) Cold() *Scratch {
	if s == nil {
		return nil
	}
	return &Scratch{scratchFiles: s.scratchFiles}
}

// take takes memory out of the room, if there is enough.
func (s *Scratch) take(bytes int64) bool {
	for {
		left := s.room.Load()
		if left < bytes {
			return false
		}
		if s.room.CompareAndSwap(left, left-bytes) {
			return true
		}
	}
}

// Dir is the folder.
func (s *scratchFiles) Dir() string { return s.dir }

// Files tells how many planes lie in files.
func (s *scratchFiles) Files() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.open)
}

// Close lets go of all files; planes in them are not to be used any more. A
// nil Scratch may be closed.
func (s *Scratch) Close() error {
	if s == nil {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.closed = true
	var errs []error
	for f := range s.open {
		if err := f.Close(); err != nil && !errors.Is(err, fs.ErrClosed) {
			errs = append(errs, err)
		}
	}
	clear(s.open)
	return errors.Join(errs...)
}

// file makes a file of so many bytes; its name is the folder's.
func (s *scratchFiles) file(bytes int64) (*os.File, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed {
		return nil, fmt.Errorf("make a scratch file in %q: the scratch was closed", s.dir)
	}
	f, err := newfile.Unnamed(s.dir)
	if err != nil {
		return nil, fmt.Errorf("make a scratch file in %q: %w", s.dir, bare(err))
	}
	if err := f.Truncate(bytes); err != nil {
		f.Close()
		return nil, fmt.Errorf("make a scratch file of %d bytes in %q: %w", bytes, s.dir, bare(err))
	}
	s.open[f] = true
	return f, nil
}

// drop lets go of a file.
func (s *scratchFiles) drop(f *os.File) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f.Close()
	delete(s.open, f)
}

// bare takes operation and path out of an error that is told with them.
func bare(err error) error {
	if p := (*fs.PathError)(nil); errors.As(err, &p) {
		return p.Err
	}
	return err
}
