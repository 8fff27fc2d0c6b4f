package vector

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

func TestResolve(t *testing.T) {
	dir, err := filepath.EvalSymlinks(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	in := func(name string) string { return filepath.Join(dir, name) }
	if err := os.WriteFile(in("a.gpkg"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(in("b.tif"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(in("file.gdb"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(in("c.gdb"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(in("d.gpkg"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mkfifo(in("pipe.geojson"), 0o644); err != nil {
		t.Fatal(err)
	}
	for link, to := range map[string]string{
		"link.gpkg": "a.gpkg", "tif.gpkg": "b.tif", "pipe.json": "pipe.geojson", "loop.gpkg": "loop.gpkg", "gone.gpkg": "none.gpkg", "null.json": "/dev/null",
	} {
		if err := os.Symlink(to, in(link)); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct{ path, abs, driver, want string }{
		{in("a.gpkg"), in("a.gpkg"), "GPKG", ""},
		{in("c.gdb"), in("c.gdb"), "OpenFileGDB", ""},
		{in("link.gpkg"), in("a.gpkg"), "GPKG", ""},
		{dir + "/x/../a.gpkg", "", "", "no such file"},
		{in("tif.gpkg"), "", "", "not a vector file by its name"},
		{in("pipe.json"), "", "", "not a plain file"},
		{in("null.json"), "", "", "not a plain file"},
		{in("loop.gpkg"), "", "", "symbolic links"},
		{in("gone.gpkg"), "", "", "no such file"},
		{in("d.gpkg"), "", "", "this is a folder, a .gpkg is a plain file"},
		{in("file.gdb"), "", "", "is a folder, this is a file"},
		{in("a.gpkg\x00.txt"), "", "", "not the path of a file"},
		{"", "", "", "no file named"},
	} {
		abs, driver, err := resolve(c.path)
		if c.want == "" && (err != nil || abs != c.abs || driver != c.driver) {
			t.Errorf("%q: got %q, %q, %v", c.path, abs, driver, err)
		}
		if c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%q: error %v, want %q", c.path, err, c.want)
		}
	}
}

// GDAL frees nothing by itself: every way out of Read must close the file.
func TestReadClosesItsFiles(t *testing.T) {
	open := func() int {
		fds, err := os.ReadDir("/proc/self/fd")
		if err != nil {
			t.Skip("no /proc here")
		}
		return len(fds)
	}
	good := gpkg(t, 32618, rivers())
	bad := damaged(t)
	to := mustCRS(t, 4326).WKT
	queries := []Query{
		{Path: good}, {Path: bad}, {Path: good, Layer: "none"}, {Path: good, Fields: []string{"none"}},
		{Path: good, Where: "none = 1"}, {Path: good, CRS: "EPSG:0"}, {Path: write(t, "a.geojson", "{")},
	}
	for _, q := range queries {
		Read(t.Context(), q, to) // whatever GDAL opens once and keeps
	}
	before := open()
	for range 20 {
		for _, q := range queries {
			Read(t.Context(), q, to)
		}
	}
	if after := open(); after > before {
		t.Errorf("%d files open, %d before", after, before)
	}
}
