package cache

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"io"
	"os"
	"sync"
	"unsafe"

	"rillwood/raster"
)

// Key names what a stage worked out.
type Key string

// Keyer takes in all that a stage's results hang on.
type Keyer struct {
	h    hash.Hash
	flaw bool
}

// NewKeyer begins the key of a stage. The running program itself is part of
// it: another build may work differently.
func NewKeyer(stage string) *Keyer {
	k := &Keyer{h: sha256.New()}
	program, ok := self()
	k.flaw = !ok
	k.Settings(stage, program)
	return k
}

// Settings takes in values that JSON can write: numbers, texts, plain structs.
func (k *Keyer) Settings(values ...any) {
	if err := json.NewEncoder(k.h).Encode(values); err != nil {
		panic(fmt.Sprintf("cache: %v", err)) // infinities and functions are no settings
	}
}

// AddPlane takes in a plane that lies in memory. One in scratch files is not
// taken in: then there is no key, and nothing is kept.
func AddPlane[T raster.Elem](k *Keyer, p *raster.Plane[T]) {
	if p == nil {
		k.Settings("no plane")
		return
	}
	cells := p.Mem()
	if cells == nil {
		k.flaw = true
		return
	}
	k.Settings("plane", len(cells))
	k.h.Write(bytesOf(cells))
}

// Key is what was taken in; "" when there can be none.
func (k *Keyer) Key() Key {
	if k.flaw {
		return ""
	}
	return Key(hex.EncodeToString(k.h.Sum(nil)))
}

// bytesOf is the memory of cells as it lies. Files of a machine of other byte
// order have another header.
func bytesOf[T raster.Elem](cells []T) []byte {
	if len(cells) == 0 {
		return nil
	}
	var z T
	return unsafe.Slice((*byte)(unsafe.Pointer(&cells[0])), len(cells)*int(unsafe.Sizeof(z)))
}

// self is the digest of the running program.
var self = sync.OnceValues(func() (string, bool) {
	path, err := os.Executable()
	if err != nil {
		return "", false
	}
	f, err := os.Open(path)
	if err != nil {
		return "", false
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", false
	}
	return hex.EncodeToString(h.Sum(nil)), true
})
