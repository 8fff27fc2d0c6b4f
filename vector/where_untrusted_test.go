package vector

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A filter chooses features; it opens no other file and changes nothing. Each
// ends with a line or a choice of features.
func TestFiltersReachNothingElse(t *testing.T) {
	path := gpkg(t, 32618, rivers())
	dir := filepath.Dir(path)
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	made := filepath.Join(dir, "made.db")
	for _, c := range []struct {
		where   string
		refused bool
	}{
		{"1 = 1; ATTACH '" + made + "' AS other", true},
		{"1 = 1; DELETE FROM rivers", true},
		{"1 = 1; PRAGMA journal_mode = wal", true},
		{"1 = 1) UNION SELECT 1 FROM (SELECT 1", true},
		{"load_extension('" + made + "') = 1", true},
		{"writefile('" + made + "', 'x') = 1", true},
		{"readfile('/etc/hostname') IS NOT NULL", true},
		{"fts3_tokenizer('simple') = 1", true},
		{"[load_extension]('" + made + "') = 1", true},
		{"gdal_get_pixel_value('/etc/hostname', 1, 'pixel', 0, 0) = 1", true},
		{"1 = 1 -- all", true},
		{"(SELECT count(*) FROM sqlite_master) > 0", true},
		{"name = 'a;b'", false},
		{"name = 'select'", false},
		{`"order" > 0`, false},
	} {
		_, err := Read(t.Context(), Query{Path: path, Where: c.where}, "")
		if (err != nil) != c.refused {
			t.Errorf("%q: %v, want refused: %v", c.where, err, c.refused)
		}
		if err != nil && strings.Contains(err.Error(), "\n") {
			t.Errorf("%q: %q is more than a line", c.where, err)
		}
	}
	after, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(files) != 1 || string(before) != string(after) {
		t.Errorf("the folder holds %v, the file changed: %v", files, string(before) != string(after))
	}
}
