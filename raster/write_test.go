package raster

import (
	"bytes"
	"context"
	"errors"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/airbusgeo/godal"
)

// Debian's Python has GDAL's own checker of the format; others on the PATH may not.
const python = "/usr/bin/python3"

// wave fills rows of a frame w cells wide with a smooth surface and some nodata.
func wave(w int) func(y, n int, dst []float32) error {
	return func(y, n int, dst []float32) error {
		for i := range dst {
			x, r := i%w, y+i/w
			dst[i] = float32(math.Sin(float64(x)/50) * math.Cos(float64(r)/40))
			if (x+r)%97 == 0 {
				dst[i] = nan32
			}
		}
		return nil
	}
}

func cogOptions() TIFFOptions {
	return TIFFOptions{NoData: value(math.NaN()), Description: "suitability", Unit: "1", Workers: 2,
		Metadata: map[string]string{"SOURCE": "an invented county", "RUN": "42"}}
}

func TestCOGPassesTheFormatsChecker(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "map.tif")
	f := utm17(t, 1300, 1100, 500000, 4e6, 10)
	if err := WriteCOG(t.Context(), path, f, cogOptions(), wave(f.W)); err != nil {
		t.Fatal(err)
	}
	classes := filepath.Join(dir, "classes.tif")
	o := TIFFOptions{NoData: value(255), Nearest: true, Classes: map[int]string{0: "none", 1: "cover"}, Colors: [][4]int16{{0, 0, 0, 255}, {10, 120, 60, 255}}}
	err := WriteCOG(t.Context(), classes, f, o, func(y, n int, dst []uint8) error {
		for i := range dst {
			dst[i] = uint8((i%f.W/100 + y/512) % 2)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	onlyFiles(t, dir, "map.tif", "classes.tif")
	if out, err := exec.Command(python, "-c", "import osgeo_utils.samples.validate_cloud_optimized_geotiff").CombinedOutput(); err != nil {
		t.Skipf("the checker of Cloud Optimized GeoTIFFs is not installed: %v: %s", err, out)
	}
	for _, p := range []string{path, classes} {
		out, err := exec.Command(python, "-m", "osgeo_utils.samples.validate_cloud_optimized_geotiff", "--full-check=yes", p).CombinedOutput()
		if err != nil || !strings.Contains(string(out), "is a valid cloud optimized GeoTIFF") || strings.Contains(string(out), "warning") {
			t.Errorf("%s: %v: %s", filepath.Base(p), err, out)
		}
	}
}

func TestCOGHoldsWhatWasWritten(t *testing.T) {
	path := filepath.Join(t.TempDir(), "map.tif")
	f := utm17(t, 700, 600, 500000, 4e6, 10)
	if err := WriteCOG(t.Context(), path, f, cogOptions(), wave(f.W)); err != nil {
		t.Fatal(err)
	}
	want := make([]float32, f.Cells())
	if err := wave(f.W)(0, f.H, want); err != nil {
		t.Fatal(err)
	}
	got, how := surface(t, Source{Paths: []string{path}}, f, 1)
	if how != HowCopied {
		t.Errorf("read back %q", how)
	}
	sameSurface(t, got, want, 0)
	ds, err := godal.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer ds.Close()
	if v := ds.Metadata("SOURCE"); v != "an invented county" {
		t.Errorf("metadata %q", v)
	}
	band := ds.Bands()[0]
	if d, u := band.Metadata("DESCRIPTION"), band.Metadata("UNIT"); d != "suitability" || u != "1" {
		t.Errorf("band %q in %q", d, u)
	}
	if len(band.Overviews()) == 0 {
		t.Error("no overviews")
	}
}

func TestCOGBytesDependOnCellsAlone(t *testing.T) {
	dir := t.TempDir()
	scratch, err := NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer scratch.Close()
	f := utm17(t, 900, 1200, 500000, 4e6, 10)
	var want []byte
	for _, c := range []struct {
		name    string
		workers int
		scratch *Scratch
	}{{"first", 1, nil}, {"again", 1, nil}, {"two workers", 2, nil}, {"through a scratch file", 2, scratch}} {
		path := filepath.Join(dir, strings.ReplaceAll(c.name, " ", "-")+".tif")
		o := cogOptions()
		o.Workers = c.workers
		if err := WriteCOG(t.Context(), path, f, o, wave(f.W)); err != nil {
			t.Fatal(err)
		}
		got, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if want == nil {
			want = got
		} else if !bytes.Equal(got, want) {
			t.Errorf("%s: %d bytes that differ from the first %d", c.name, len(got), len(want))
		}
	}
	onlyFiles(t, scratch.Dir())
}

func TestFailedWritesLeaveTheEarlierFile(t *testing.T) {
	f := utm17(t, 40, 1200, 500000, 4e6, 10)
	wrong := errors.New("wrong")
	cancelled, cancel := context.WithCancel(t.Context())
	for _, c := range []struct {
		name  string
		write func(path string) error
		want  error
	}{
		{"rows fail", func(path string) error {
			return WriteCOG(t.Context(), path, f, cogOptions(), func(y, n int, dst []float32) error {
				if y > 0 {
					return wrong
				}
				return nil
			})
		}, wrong},
		{"cancelled half way", func(path string) error {
			return WriteCOG(cancelled, path, f, cogOptions(), func(y, n int, dst []float32) error {
				cancel()
				return nil
			})
		}, context.Canceled},
		{"coordinate system broken", func(path string) error {
			g := f
			g.WKT = "PROJCS[nonsense"
			return WriteCOG(t.Context(), path, g, cogOptions(), wave(f.W))
		}, nil},
		{"sink abandoned", func(path string) error {
			s, err := CreateTIFF[float32](path, f, cogOptions())
			if err != nil {
				return err
			}
			if err := s.WriteRows(0, 1, make([]float32, f.W)); err != nil {
				return err
			}
			s.Abort()
			return wrong
		}, wrong},
		{"sink with a broken coordinate system", func(path string) error {
			g := f
			g.WKT = "PROJCS[nonsense"
			_, err := CreateTIFF[float32](path, g, cogOptions())
			return err
		}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, "map.tif")
			if err := os.WriteFile(path, []byte("the earlier map"), 0o644); err != nil {
				t.Fatal(err)
			}
			err := c.write(path)
			if err == nil || c.want != nil && !errors.Is(err, c.want) {
				t.Errorf("got error %v, want %v", err, c.want)
			}
			if b, err := os.ReadFile(path); err != nil || string(b) != "the earlier map" {
				t.Errorf("the earlier file is now %q (%v)", b, err)
			}
			onlyFiles(t, dir, "map.tif")
		})
	}
}

func TestWritingIntoAFolderThatIsNotThere(t *testing.T) {
	f := utm17(t, 4, 4, 0, 0, 10)
	path := filepath.Join(t.TempDir(), "absent", "map.tif")
	if err := WriteCOG(t.Context(), path, f, cogOptions(), wave(f.W)); err == nil || !strings.Contains(err.Error(), path) {
		t.Errorf("got %v, want an error that names the file", err)
	}
	if _, err := CreateTIFF[uint8](path, f, TIFFOptions{}); err == nil || !strings.Contains(err.Error(), path) {
		t.Errorf("got %v, want an error that names the file", err)
	}
}

func TestSinkReplacesTheFileOnlyWhenClosed(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "layer.tif")
	f := utm17(t, 30, 20, 500000, 4e6, 10)
	s, err := CreateTIFF[uint16](path, f, TIFFOptions{NoData: value(0), Scale: 0.5, Offset: 10})
	if err != nil {
		t.Fatal(err)
	}
	cells := counted[uint16](f.Cells(), 1)
	for y := 0; y < f.H; y += 5 {
		if _, err := os.Stat(path); err == nil {
			t.Fatal("the file is there before it is whole")
		}
		if err := s.WriteRows(y, 5, cells[y*f.W:(y+5)*f.W]); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	onlyFiles(t, dir, "layer.tif")
	if st, err := os.Stat(path); err != nil || st.Mode().Perm() != 0o644 {
		t.Errorf("mode %v (%v), want 0644", st.Mode().Perm(), err)
	}
	ds, err := godal.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer ds.Close()
	got := make([]uint16, f.Cells())
	if err := ds.Read(0, 0, got, f.W, f.H); err != nil {
		t.Fatal(err)
	}
	for i := range got {
		if got[i] != cells[i] {
			t.Fatalf("cell %d: got %d, want %d", i, got[i], cells[i])
		}
	}
	if st := ds.Bands()[0].Structure(); st.Scale != 0.5 || st.Offset != 10 {
		t.Errorf("scale %v offset %v, want 0.5 and 10", st.Scale, st.Offset)
	}
}
