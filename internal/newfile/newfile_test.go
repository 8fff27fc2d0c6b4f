package newfile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
)

// killVar makes the test binary a program that is killed while it writes that file.
const killVar = "RILLWOOD_NEWFILE_KILL"

func TestMain(m *testing.M) {
	if path := os.Getenv(killVar); path != "" {
		Write(path, func(w io.Writer) error {
			io.WriteString(w, strings.Repeat("half", 1<<16))
			syscall.Kill(os.Getpid(), syscall.SIGKILL)
			select {}
		})
	}
	os.Exit(m.Run())
}

// both runs a test on a disk where files need names, and on one where they do not.
func both(t *testing.T, test func(t *testing.T)) {
	for _, n := range []bool{true, false} {
		t.Run(fmt.Sprint("nameless ", n), func(t *testing.T) {
			old := nameless
			defer func() { nameless = old }()
			if nameless = n; n && !old {
				t.Skip("no such disk here")
			}
			test(t)
		})
	}
}

// only checks what the folder holds: names and texts by turns.
func only(t *testing.T, dir string, want ...string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, e.Name(), string(data))
	}
	if strings.Join(got, "|") != strings.Join(want, "|") {
		t.Errorf("the folder holds %q, want %q", got, want)
	}
}

func TestFilesAppearWhole(t *testing.T) {
	both(t, func(t *testing.T) {
		dir := t.TempDir()
		path := filepath.Join(dir, "a \"b\" ü.txt")
		for _, text := range []string{"first", strings.Repeat("second", 1<<15), ""} {
			before, _ := os.ReadDir(dir)
			err := Write(path, func(w io.Writer) error {
				_, err := io.WriteString(w, text)
				if during, _ := os.ReadDir(dir); nameless && len(during) != len(before) {
					t.Error("a name before the file is whole")
				}
				return err
			})
			if err != nil {
				t.Fatal(err)
			}
			only(t, dir, filepath.Base(path), text)
			if st, err := os.Stat(path); err != nil || st.Mode().Perm() != 0o644 {
				t.Errorf("mode %v, %v", st.Mode(), err)
			}
		}
	})
}

func TestErrorsLeaveAllAsItWas(t *testing.T) {
	both(t, func(t *testing.T) {
		dir := t.TempDir()
		path := filepath.Join(dir, "a.txt")
		if err := WriteBytes(path, []byte("old")); err != nil {
			t.Fatal(err)
		}
		broken := errors.New("broken")
		err := Write(path, func(w io.Writer) error { io.WriteString(w, "new"); return broken })
		if !errors.Is(err, broken) || !strings.Contains(err.Error(), path) {
			t.Errorf("error %v", err)
		}
		if err := WriteNewBytes(path, []byte("new")); !errors.Is(err, fs.ErrExist) {
			t.Errorf("error %v", err)
		}
		// It comes to be there meanwhile.
		err = WriteNew(filepath.Join(dir, "b.txt"), func(io.Writer) error {
			return os.WriteFile(filepath.Join(dir, "b.txt"), []byte("another's"), 0o600)
		})
		if !errors.Is(err, fs.ErrExist) {
			t.Errorf("error %v", err)
		}
		only(t, dir, "a.txt", "old", "b.txt", "another's")
		// A folder in its place, and a file that write reads.
		if err := os.Mkdir(filepath.Join(dir, "c"), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := WriteBytes(filepath.Join(dir, "c"), nil); err == nil {
			t.Error("a folder was replaced")
		}
		os.Remove(filepath.Join(dir, "c"))
		err = Write(path, func(io.Writer) error { _, err := os.Open(filepath.Join(dir, "input")); return err })
		if err == nil || !strings.Contains(err.Error(), "input") {
			t.Errorf("error %v does not name what was read", err)
		}
		only(t, dir, "a.txt", "old", "b.txt", "another's")
		none := filepath.Join(dir, "none", "a.txt")
		if err := WriteBytes(none, nil); err == nil || err.Error() != fmt.Sprintf("write %q: no such file or directory", none) {
			t.Errorf("error %v", err)
		}
	})
}

// Of many that make the same new file one does, and it is whole.
func TestNewFileIsMadeOnce(t *testing.T) {
	both(t, func(t *testing.T) {
		dir := t.TempDir()
		var made atomic.Int32
		var wg sync.WaitGroup
		for i := range 16 {
			wg.Go(func() {
				switch err := WriteNewBytes(filepath.Join(dir, "a"), fmt.Append(nil, "text ", i)); {
				case err == nil:
					made.Add(1)
				case !errors.Is(err, fs.ErrExist):
					t.Error(err)
				}
			})
		}
		wg.Wait()
		if n := made.Load(); n != 1 {
			t.Errorf("made %d times", n)
		}
		if names, _ := os.ReadDir(dir); len(names) != 1 {
			t.Errorf("left %v", names)
		}
	})
}

// A full disk is told in one line, and what was there stays.
func TestFullDisk(t *testing.T) {
	if _, err := os.Stat("/dev/full"); err != nil || os.Getuid() != 0 {
		t.Skip("needs root, to mount a small disk")
	}
	both(t, func(t *testing.T) {
		dir := t.TempDir()
		if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=128k"); err != nil {
			t.Skip("cannot mount here: ", err)
		}
		defer syscall.Unmount(dir, 0)
		path := filepath.Join(dir, "a.txt")
		if err := WriteBytes(path, []byte("old")); err != nil {
			t.Fatal(err)
		}
		want := fmt.Sprintf("write %q: no space left on device", path)
		if err := WriteBytes(path, make([]byte, 1<<20)); err == nil || err.Error() != want {
			t.Errorf("error %v, want %s", err, want)
		}
		only(t, dir, "a.txt", "old")
	})
}

// A program that is killed while it writes leaves what was there, and nothing else.
func TestKilledWhileWriting(t *testing.T) {
	if !nameless {
		t.Skip("no files without names here")
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "a.txt")
	if err := WriteBytes(path, []byte("old")); err != nil {
		t.Fatal(err)
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), killVar+"="+path)
	if err := cmd.Run(); err == nil || cmd.ProcessState.Exited() {
		t.Fatalf("it was not killed: %v", err)
	}
	only(t, dir, "a.txt", "old")
}

func TestUnnamed(t *testing.T) {
	both(t, func(t *testing.T) {
		dir := t.TempDir()
		f, err := Unnamed(dir)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if _, err := f.WriteAt([]byte("text"), 10); err != nil {
			t.Fatal(err)
		}
		got := make([]byte, 4)
		if _, err := f.ReadAt(got, 10); err != nil || string(got) != "text" {
			t.Errorf("read %q, %v", got, err)
		}
		only(t, dir)
	})
}
