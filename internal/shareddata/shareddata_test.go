package shareddata

import (
	"os"
	"path/filepath"
	"testing"
)

func TestPathHonoursTheEnvironment(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "layer.tif"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	t.Setenv("RILLWOOD_SHARED", dir)
	if got, want := Path(t, "layer.tif"), filepath.Join(dir, "layer.tif"); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestPathSkipsWhatIsAbsent(t *testing.T) {
	t.Setenv("RILLWOOD_SHARED", t.TempDir())
	skipped, reached := false, false
	t.Run("absent", func(t *testing.T) {
		defer func() { skipped = t.Skipped() }()
		Path(t, "layer.tif")
		reached = true
	})
	if !skipped || reached {
		t.Errorf("a test without its layer: skipped %v, went on %v", skipped, reached)
	}
}

func TestRepositoryHoldsTheModuleFile(t *testing.T) {
	root, err := repository()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(root, "internal", "shareddata")); err != nil {
		t.Errorf("%q is not the repository: %v", root, err)
	}
}
