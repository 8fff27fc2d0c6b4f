// Package shareddata finds, for tests, the folder of published layers that are
// too large to live in the repository.
package shareddata

import (
	"os"
	"path/filepath"
	"testing"
)

// Path gives the file or folder that parts name inside the shared folder, and
// skips the test when it is not there. The folder is the one RILLWOOD_SHARED
// names, else "shared" beside the repository.
func Path(tb testing.TB, parts ...string) string {
	tb.Helper()
	root := os.Getenv("RILLWOOD_SHARED")
	if root == "" {
		repo, err := repository()
		if err != nil {
			tb.Skipf("the repository's root is not found, so neither are the shared data: %v", err)
		}
		root = filepath.Join(filepath.Dir(repo), "shared")
	}
	path := filepath.Join(append([]string{root}, parts...)...)
	if _, err := os.Stat(path); err != nil {
		tb.Skipf("published layer not here: set RILLWOOD_SHARED to the folder that holds %s", filepath.Join(parts...))
	}
	return path
}

// repository goes up from the working folder to the one with go.mod.
func repository() (string, error) {
	dir, err := os.Getwd()
	if err != nil {
		return "", err
	}
	for {
		_, err := os.Stat(filepath.Join(dir, "go.mod"))
		if err == nil {
			return dir, nil
		}
		up := filepath.Dir(dir)
		if up == dir {
			return "", err
		}
		dir = up
	}
}
