package raster

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/airbusgeo/godal"
)

// A file of a few hundred bytes may ask for gigabytes at the first cell read.
func TestHugeBlocksAreRefused(t *testing.T) {
	if err := Setup(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name    string
		options []string
		fails   bool
	}{
		{"tiles", []string{"TILED=YES", "BLOCKXSIZE=29952", "BLOCKYSIZE=29952"}, true},
		{"rows", []string{"BLOCKYSIZE=1"}, false},
	} {
		path := filepath.Join(t.TempDir(), "block.tif")
		ds, err := godal.Create(godal.GTiff, path, 1, godal.Byte, 30000, 30000, godal.CreationOption(append(c.options, "SPARSE_OK=TRUE")...))
		if err != nil {
			t.Fatal(err)
		}
		for _, err := range []error{ds.SetGeoTransform(northUp(500000, 4.7e6, 1)), ds.SetProjection(wktOf(t, "EPSG:32618")), ds.Close()} {
			if err != nil {
				t.Fatal(err)
			}
		}
		_, err = Describe(path, "")
		if c.fails && (err == nil || !strings.Contains(err.Error(), "rewrite it in tiles of 512") || !strings.Contains(err.Error(), "block.tif")) || !c.fails && err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}
