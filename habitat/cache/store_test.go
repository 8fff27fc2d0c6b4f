package cache

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"rillwood/raster"
)

type meta struct{ N int }

func plane(t *testing.T, seed float32) *raster.Plane[float32] {
	t.Helper()
	p, err := raster.NewPlane[float32](40, 30, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := range p.Mem() {
		p.Mem()[i] = seed * float32(i)
	}
	p.Mem()[7] = float32(math.NaN())
	return p
}

func piece(t *testing.T, p *raster.Plane[float32]) Piece {
	t.Helper()
	x, ok := PlanePiece(p)
	if !ok {
		t.Fatal("a plane in memory is no piece")
	}
	return x
}

func keyOf(p *raster.Plane[float32], settings ...any) Key {
	k := NewKeyer("test")
	k.Settings(settings...)
	AddPlane(k, p)
	return k.Key()
}

func TestWhatIsKeptIsFound(t *testing.T) {
	s, err := Open(filepath.Join(t.TempDir(), "a", "b"), 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	p := plane(t, 2)
	key := keyOf(p, 1, "x")
	s.Save(key, meta{5}, piece(t, p))
	q := plane(t, 0)
	var m meta
	if !s.Load(key, &m, piece(t, q)) {
		t.Fatal("not found")
	}
	if m.N != 5 {
		t.Errorf("meta %d, want 5", m.N)
	}
	for i, v := range p.Mem() {
		if math.Float32bits(v) != math.Float32bits(q.Mem()[i]) {
			t.Fatalf("cell %d is %v, want %v", i, q.Mem()[i], v)
		}
	}
}

// Anything else in gives another key: cells, settings, their order.
func TestKeysTellApart(t *testing.T) {
	p, q := plane(t, 2), plane(t, 2)
	q.Mem()[100] = math.Nextafter32(q.Mem()[100], 0)
	keys := map[Key]string{}
	for name, k := range map[string]Key{
		"plain": keyOf(p, 1, "x"), "a cell": keyOf(q, 1, "x"), "a setting": keyOf(p, 2, "x"), "order": keyOf(p, "x", 1), "one less": keyOf(p, 1), "no plane": keyOf(nil, 1, "x"),
	} {
		if k == "" || keys[k] != "" {
			t.Errorf("%s has the key of %q", name, keys[k])
		}
		keys[k] = name
	}
	if keyOf(p, 1, "x") != keyOf(plane(t, 2), 1, "x") {
		t.Error("the same goes in, another key comes out")
	}
}

// A file damaged anywhere is not found, and removed.
func TestDamageIsSeen(t *testing.T) {
	dir := t.TempDir()
	s, err := Open(dir, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	p := plane(t, 3)
	key := keyOf(p)
	path := s.path(key)
	s.Save(key, meta{1}, piece(t, p))
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	spoiled := map[string][]byte{"empty": {}, "cut": whole[:len(whole)-1], "longer": append(append([]byte{}, whole...), 0), "no header": whole[50:]}
	for at := 0; at < len(whole); at += 97 {
		b := append([]byte{}, whole...)
		b[at] ^= 0x10
		spoiled[fmt.Sprintf("a bit of byte %d", at)] = b
	}
	for name, data := range spoiled {
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		if s.Load(key, &meta{}, piece(t, plane(t, 0))) {
			t.Errorf("%s: found all the same", name)
		}
	}
	if err := os.WriteFile(path, whole[:100], 0o600); err != nil {
		t.Fatal(err)
	}
	s.Load(key, &meta{}, piece(t, plane(t, 0)))
	if _, err := os.Stat(path); err == nil {
		t.Error("the damaged file is still there")
	}
}

// The store keeps its limit; what was used last stays.
func TestStoreKeepsItsLimit(t *testing.T) {
	dir := t.TempDir()
	s, err := Open(dir, 12_000)
	if err != nil {
		t.Fatal(err)
	}
	other := filepath.Join(dir, "notes.txt")
	if err := os.WriteFile(other, []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	var keys []Key
	for i := range 4 {
		p := plane(t, float32(i))
		keys = append(keys, keyOf(p))
		s.Save(keys[i], meta{i}, piece(t, p))
		old := time.Now().Add(time.Duration(i-10) * time.Minute)
		os.Chtimes(s.path(keys[i]), old, old)
	}
	var m meta
	if s.Load(keys[0], &m, piece(t, plane(t, 0))) || !s.Load(keys[3], &m, piece(t, plane(t, 0))) {
		t.Error("the oldest is kept, or the newest is not")
	}
	if _, err := os.Stat(other); err != nil {
		t.Error("a file that is none of ours is gone")
	}
	big, err := raster.NewPlane[float32](100, 100, nil)
	if err != nil {
		t.Fatal(err)
	}
	x, _ := PlanePiece(big)
	s.Save("big", meta{}, x)
	if _, err := os.Stat(s.path("big")); err == nil {
		t.Error("a result larger than the store was kept")
	}
}

func TestNoStoreKeepsNothing(t *testing.T) {
	var s *Store
	s.Save("x", meta{})
	if s.Load("x", &meta{}) {
		t.Error("found in no store")
	}
}
