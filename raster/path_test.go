package raster

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestOnlyPlainLocalRastersAreOpened(t *testing.T) {
	dir := t.TempDir()
	good := makeTIFF(t, filepath.Join(dir, "good.tif"), tiff{w: 2, h: 2, geo: northUp(0, 0, 10), crs: "EPSG:32617"}, counted[float32](4, 0))
	write := func(name, text string) string {
		p := filepath.Join(dir, name)
		if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return p
	}
	vrt := `<VRTDataset rasterXSize="2" rasterYSize="2"><VRTRasterBand dataType="Float32" band="1"><SimpleSource><SourceFilename>` + good + `</SourceFilename></SimpleSource></VRTRasterBand></VRTDataset>`
	pipe := filepath.Join(dir, "link.tif")
	if err := os.Symlink(os.DevNull, pipe); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, path, says string }{
		{"address", "http://127.0.0.1:9/dem.tif", "not the path of a file"},
		{"remote file system", "/vsicurl/http://127.0.0.1:9/dem.tif", "not the path of a file"},
		{"archive", "/vsizip/" + good, "not the path of a file"},
		{"dataset in text", `<VRTDataset></VRTDataset>`, "not the path of a file"},
		{"connection string", "GPKG:" + good + ":layer", "no such file"},
		{"virtual dataset", write("layer.vrt", vrt), "not a raster that can be read"},
		{"virtual dataset under another name", write("layer.tif", vrt), "not a raster that can be read"},
		{"web service description", write("wms.tif", "<GDAL_WMS><Service name=\"TMS\"></Service></GDAL_WMS>"), "not a raster that can be read"},
		{"text", write("notes.tif", "not a raster"), "not a raster that can be read"},
		{"empty file", write("empty.tif", ""), "not a raster that can be read"},
		{"missing file", filepath.Join(dir, "absent.tif"), "no such file"},
		{"folder", dir, "not a plain file"},
		{"device", pipe, "not a plain file"},
		{"nothing", "", "no file named"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Describe(c.path, "")
			if err == nil || !strings.Contains(err.Error(), c.says) || strings.Contains(err.Error(), "\n") {
				t.Errorf("got %v, want one line with %q", err, c.says)
			}
		})
	}
	link := filepath.Join(dir, "other.tif")
	if err := os.Symlink(good, link); err != nil {
		t.Fatal(err)
	}
	for _, p := range []string{good, link} {
		if _, err := Describe(p, ""); err != nil {
			t.Error(err)
		}
	}
	for name, to := range map[string]string{"loop.tif": "loop.tif", "gone.tif": "none.tif", "up": t.TempDir()} {
		if err := os.Symlink(to, filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(dir)
	for path, says := range map[string]string{
		"loop.tif":           "symbolic links",
		"gone.tif":           "no such file",
		"absent/../good.tif": "no such file",
		"up/../good.tif":     "no such file", // the parent of what the link points at
		good + "\x00.txt":    "not the path of a file",
	} {
		if p, err := LocalPath(path, false); err == nil || !strings.Contains(err.Error(), says) || strings.ContainsAny(err.Error(), "\n\x00") {
			t.Errorf("%q: got %q, %v; want %q", path, p, err, says)
		}
	}
	real, err := filepath.EvalSymlinks(good)
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"good.tif", "other.tif", "./good.tif"} {
		if p, err := LocalPath(path, false); err != nil || p != real {
			t.Errorf("%q: got %q, %v; want %q", path, p, err, real)
		}
	}
	if _, err := LocalPath(good, true); err == nil {
		t.Error("a file was taken for a folder")
	}
	if p, err := LocalPath(dir, true); err != nil || !filepath.IsAbs(p) {
		t.Errorf("folder: %q, %v", p, err)
	}
}
