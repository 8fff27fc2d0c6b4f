package handover

import (
	"errors"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

func writeAll(t testing.TB, dir string, files map[string]string) {
	for name, text := range files {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path, []byte(text), 0o644)); err != nil {
			t.Fatal(err)
		}
	}
}

func readAll(t testing.TB, dir string) map[string]string {
	files := map[string]string{}
	for _, name := range listAll(t, dir) {
		if st, err := os.Lstat(filepath.Join(dir, name)); err != nil || !st.Mode().IsRegular() {
			continue
		}
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		files[name] = string(data)
	}
	return files
}

// listAll lists everything below a folder, hidden or not.
func listAll(t testing.TB, dir string) (names []string) {
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err == nil && path != dir {
			name, _ := filepath.Rel(dir, path)
			names = append(names, filepath.ToSlash(name))
		}
		return err
	})
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	return names
}

// as runs a run of these results in a process of another user.
func as(t *testing.T, uid uint32, folder string, run string) (string, error) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	// The test's own folder is root's: the program is copied to where all may read it.
	data, err := os.ReadFile(self)
	if err != nil {
		t.Fatal(err)
	}
	dir, err := os.MkdirTemp("", "handover")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	exe := filepath.Join(dir, "run")
	if err := errors.Join(os.Chmod(dir, 0o755), os.WriteFile(exe, data, 0o755)); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), crashVar+"="+folder+"|exchange|"+run+"|1000")
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uid, Gid: uid}}
	out, err := cmd.CombinedOutput()
	return string(out), err
}

func onlyRoot(t *testing.T) {
	t.Helper()
	if os.Getuid() != 0 {
		t.Skip("needs root, to be other users and to mount")
	}
}

// Folders of all kinds: results come to lie in them and nothing else changes,
// or one line says why not, before any work is done.
func TestFoldersOfAllKinds(t *testing.T) {
	type made struct {
		folder string // as given to Take
		real   string // where results must be, "" = refused
		says   string
	}
	for name, prepare := range map[string]func(t *testing.T, dir string) made{
		"odd names": func(t *testing.T, dir string) made {
			f := filepath.Join(dir, "a b\n\"ü\" 'c' -x .rillwood-new-")
			return made{folder: f, real: f}
		},
		"by a link": func(t *testing.T, dir string) made {
			real := filepath.Join(dir, "disk", "results")
			writeAll(t, real, oldRun)
			if err := os.Symlink(real, filepath.Join(dir, "link")); err != nil {
				t.Fatal(err)
			}
			return made{folder: filepath.Join(dir, "link"), real: real}
		},
		"by a link to nothing": func(t *testing.T, dir string) made {
			if err := os.Symlink(filepath.Join(dir, "nothing"), filepath.Join(dir, "link")); err != nil {
				t.Fatal(err)
			}
			return made{folder: filepath.Join(dir, "link"), says: "is a link to something that is no folder"}
		},
		"where the survey lies, and the shell": func(t *testing.T, dir string) made {
			writeAll(t, dir, map[string]string{"survey.yaml": "mine", "layers/elevation.tif": "mine"})
			t.Chdir(dir)
			return made{folder: ".", real: dir}
		},
		"above the shell's folder": func(t *testing.T, dir string) made {
			writeAll(t, filepath.Join(dir, "out", "photos"), map[string]string{"a.jpg": "mine"})
			t.Chdir(filepath.Join(dir, "out", "photos"))
			return made{folder: "..", real: filepath.Join(dir, "out")}
		},
		"a file": func(t *testing.T, dir string) made {
			writeAll(t, dir, map[string]string{"out": "mine"})
			return made{folder: filepath.Join(dir, "out"), says: "cannot be made: not a directory"}
		},
		"layers is a link": func(t *testing.T, dir string) made {
			writeAll(t, filepath.Join(dir, "elsewhere"), map[string]string{"a.tif": "mine", ".rillwood-x": "mine"})
			f := filepath.Join(dir, "out")
			writeAll(t, f, map[string]string{"run.json": "old"})
			if err := os.Symlink(filepath.Join(dir, "elsewhere"), filepath.Join(f, "layers")); err != nil {
				t.Fatal(err)
			}
			return made{folder: f, says: `"layers" in it must be a folder`}
		},
		"layers is a file": func(t *testing.T, dir string) made {
			f := filepath.Join(dir, "out")
			writeAll(t, f, map[string]string{"layers": "mine"})
			return made{folder: f, says: `"layers" in it must be a folder`}
		},
		"a mount point": func(t *testing.T, dir string) made {
			f := filepath.Join(dir, "out")
			mount(t, f, "tmpfs", "tmpfs", 0)
			writeAll(t, f, oldRun)
			return made{folder: f, real: f}
		},
		"a folder mounted from the same disk": func(t *testing.T, dir string) made {
			f := filepath.Join(dir, "out")
			writeAll(t, filepath.Join(dir, "source"), oldRun)
			mount(t, f, filepath.Join(dir, "source"), "", unix.MS_BIND)
			return made{folder: f, real: f}
		},
		"layers is a mount point": func(t *testing.T, dir string) made {
			f := filepath.Join(dir, "out")
			mount(t, filepath.Join(f, "layers"), "tmpfs", "tmpfs", 0)
			return made{folder: f, says: `no file can be put into "layers"`}
		},
		"a disk that is only to be read": func(t *testing.T, dir string) made {
			f := filepath.Join(dir, "out")
			mount(t, f, "tmpfs", "tmpfs", 0)
			writeAll(t, f, oldRun)
			mount(t, f, "tmpfs", "tmpfs", unix.MS_REMOUNT|unix.MS_RDONLY)
			return made{folder: f, says: "cannot be written into: read-only file system"}
		},
		"a folder that must not change": func(t *testing.T, dir string) made {
			f := filepath.Join(dir, "out")
			writeAll(t, f, oldRun)
			chattr(t, f)
			return made{folder: f, says: "cannot be written into: operation not permitted"}
		},
	} {
		t.Run(name, func(t *testing.T) {
			dir, err := filepath.EvalSymlinks(t.TempDir())
			if err != nil {
				t.Fatal(err)
			}
			m := prepare(t, dir)
			before := listAll(t, dir)
			mine := readAll(t, dir)
			err = handOver(m.folder, "exchange", 1)
			if m.real == "" {
				if err == nil || !strings.Contains(err.Error(), m.says) || strings.Contains(err.Error(), "\n") {
					t.Errorf("error %v, want one with %q", err, m.says)
				}
				if got := readAll(t, dir); !maps.Equal(got, mine) {
					t.Errorf("a refused run changed %v to %v", mine, got)
				}
				if got := listAll(t, dir); len(got) != len(before) {
					t.Errorf("a refused run left %q of %q", got, before)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			got := readAll(t, m.real)
			for f, text := range resultsOf(1) {
				if got[f] != text {
					t.Errorf("%q holds %q", f, got[f])
				}
			}
			for f, text := range mine {
				if text == "mine" && readAll(t, dir)[f] != "mine" {
					t.Errorf("the user's %q is not as it was", f)
				}
			}
			for _, f := range listAll(t, dir) {
				if strings.HasPrefix(filepath.Base(f), leftover) {
					t.Errorf("left over: %q", f)
				}
			}
		})
	}
}

func mount(t *testing.T, at, source, kind string, flags uintptr) {
	t.Helper()
	onlyRoot(t)
	if err := os.MkdirAll(at, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := unix.Mount(source, at, kind, flags, ""); err != nil {
		t.Skip("cannot mount here: ", err)
	}
	if flags&unix.MS_REMOUNT == 0 {
		t.Cleanup(func() {
			if err := unix.Unmount(at, 0); err != nil {
				t.Error(err)
			}
		})
	}
}

func chattr(t *testing.T, folder string) {
	t.Helper()
	onlyRoot(t)
	if out, err := exec.Command("chattr", "+i", folder).CombinedOutput(); err != nil {
		t.Skipf("chattr: %v %s", err, out)
	}
	t.Cleanup(func() {
		if out, err := exec.Command("chattr", "-i", folder).CombinedOutput(); err != nil {
			t.Errorf("chattr: %v %s", err, out)
		}
	})
}

// Other users' folders: one line where nothing may be written, and moves one
// by one where nothing may be put beside the folder.
func TestFoldersOfOthers(t *testing.T) {
	onlyRoot(t)
	const nobody = 65534
	dir, err := os.MkdirTemp("", "handover")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(dir)
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	own := filepath.Join(dir, "own")
	writeAll(t, own, oldRun)
	for _, p := range []string{own, filepath.Join(own, "layers")} {
		if err := os.Chown(p, nobody, nobody); err != nil {
			t.Fatal(err)
		}
	}
	if out, err := as(t, nobody, own, "1"); err != nil {
		t.Errorf("the parent is another's: %v, %s", err, out)
	}
	if got := visible(t, own); got["run.json"] != resultsOf(1)["run.json"] {
		t.Errorf("the folder holds %v", got)
	}
	closed := filepath.Join(dir, "closed")
	writeAll(t, closed, oldRun)
	for _, folder := range []string{closed, filepath.Join(dir, "new")} {
		out, err := as(t, nobody, folder, "1")
		if err == nil || !strings.Contains(out, "permission denied") || strings.Count(out, "\n") != 1 {
			t.Errorf("%q: %v, %s", folder, err, out)
		}
	}
	if got := readAll(t, closed); !maps.Equal(got, oldRun) {
		t.Errorf("the folder holds %v", got)
	}
	if names := beside(t, closed); len(names) != 1 {
		t.Errorf("beside it: %q", names)
	}
}

// A folder keeps its owner, its mode and its attributes.
func TestLooksOfTheFolder(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "out")
	writeAll(t, folder, resultsOf(0))
	if os.Getuid() == 0 {
		if err := os.Chown(folder, 1234, 2345); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Chmod(folder, 0o750|os.ModeSetgid); err != nil {
		t.Fatal(err)
	}
	before, err := os.Stat(folder)
	if err != nil {
		t.Fatal(err)
	}
	if err := handOver(folder, "exchange", 1); err != nil {
		t.Fatal(err)
	}
	after, err := os.Stat(folder)
	if err != nil {
		t.Fatal(err)
	}
	if canExchange && os.SameFile(before, after) {
		t.Error("not exchanged")
	}
	a, b := before.Sys().(*syscall.Stat_t), after.Sys().(*syscall.Stat_t)
	if after.Mode() != before.Mode() || a.Uid != b.Uid || a.Gid != b.Gid {
		t.Errorf("%v of %d:%d, was %v of %d:%d", after.Mode(), b.Uid, b.Gid, before.Mode(), a.Uid, a.Gid)
	}
	if err := unix.Setxattr(folder, "user.mine", []byte("kept"), 0); err != nil {
		t.Skip("no attributes on this disk: ", err)
	}
	if err := handOver(folder, "exchange", 2); err != nil {
		t.Fatal(err)
	}
	value := make([]byte, 10)
	if n, err := unix.Getxattr(folder, "user.mine", value); err != nil || string(value[:n]) != "kept" {
		t.Errorf("the attribute is %q, %v", value[:max(n, 0)], err)
	}
	if got := readAll(t, folder); !maps.Equal(got, resultsOf(2)) {
		t.Errorf("the folder holds %v", got)
	}
}

// Folders made for a run that failed go, however many; those with something
// in them stay.
func TestFoldersOfFailedRunsGo(t *testing.T) {
	dir := t.TempDir()
	c := take(t, filepath.Join(dir, "a", "b", "c"))
	if _, err := c.Stage(); err != nil {
		t.Fatal(err)
	}
	writeAll(t, filepath.Join(dir, "a"), map[string]string{"notes.txt": "mine"})
	c.Release()
	if got := listAll(t, dir); len(got) != 2 || got[1] != "a/notes.txt" {
		t.Errorf("left %q", got)
	}
}

// Many runs at once into a folder that comes and goes: one at a time has it,
// and the others are told so.
func TestManyAtOnce(t *testing.T) {
	dir := t.TempDir()
	folder := filepath.Join(dir, "a", "out")
	var holders, got atomic.Int32
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for range 60 {
				c, err := Take(folder)
				if err != nil {
					if !strings.Contains(err.Error(), "another run is writing into it") {
						t.Errorf("told %v", err)
					}
					continue
				}
				if holders.Add(1) != 1 {
					t.Error("two runs have the folder")
				}
				got.Add(1)
				holders.Add(-1)
				c.Release()
			}
		})
	}
	wg.Wait()
	if got.Load() == 0 {
		t.Error("nobody had it")
	}
	// One that made the folder and came too late to have it leaves it, empty.
	if left := readAll(t, dir); len(left) > 0 {
		t.Errorf("left %q", left)
	}
}

// From before the exchange until the old results are gone, no other run comes in.
func TestHeldThroughTheExchange(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "out")
	if err := handOver(folder, "exchange", 0); err != nil {
		t.Fatal(err)
	}
	old := at
	defer func() { at = old }()
	steps, inside := 0, false
	at = func(step string) {
		if inside {
			return // a step of the other run
		}
		inside = true
		defer func() { inside = false }()
		steps++
		if c, err := Take(folder); err == nil {
			t.Errorf("another run came in before %q", step)
			c.Release()
		}
		if c, err := HoldFor(filepath.Join(folder, "report.html"), folder); err == nil {
			t.Errorf("another command came in before %q", step)
			c.Release()
		}
	}
	if err := handOver(folder, "exchange", 1); err != nil {
		t.Fatal(err)
	}
	if steps < 8 {
		t.Errorf("only %d steps", steps)
	}
}

// Disks that lock no folders, or nothing at all.
func TestDisksWithoutLocks(t *testing.T) {
	old := flock
	defer func() { flock = old }()
	folder := filepath.Join(t.TempDir(), "out")
	writeAll(t, folder, resultsOf(0))

	flock = func(fd int, how int) error { // as network disks have it
		var st syscall.Stat_t
		if err := syscall.Fstat(fd, &st); err != nil || st.Mode&syscall.S_IFMT == syscall.S_IFDIR {
			return syscall.EBADF
		}
		return old(fd, how)
	}
	first := take(t, folder)
	if _, err := Take(folder); err == nil || !strings.Contains(err.Error(), "another run is writing into it") {
		t.Errorf("a second run is told %v", err)
	}
	for _, f := range first.held { // it dies
		f.Close()
	}
	first.held = nil
	if err := handOver(folder, "exchange", 1); err != nil {
		t.Fatal(err)
	}
	if got := readAll(t, folder); got["run.json"] != resultsOf(1)["run.json"] || got[lockName] != "" {
		t.Errorf("the folder holds %v", got)
	}
	if left := listAll(t, folder); len(left) != len(readAll(t, folder))+1 { // layers
		t.Errorf("left over in %q", left)
	}

	flock = func(int, int) error { return syscall.ENOTSUP }
	first = take(t, folder)
	stage, err := first.Stage()
	if err != nil {
		t.Fatal(err)
	}
	second := take(t, folder)
	if _, err := os.Stat(stage); err != nil {
		t.Error("the stage of a run that may be at work was removed")
	}
	second.Release()
	long := time.Now().Add(-25 * time.Hour)
	if err := os.Chtimes(stage, long, long); err != nil {
		t.Fatal(err)
	}
	if err := handOver(folder, "exchange", 2); err != nil {
		t.Fatal(err)
	}
	if left := beside(t, folder); len(left) > 0 {
		t.Errorf("left beside it: %q", left)
	}
	if got := visible(t, folder); !maps.Equal(got, resultsOf(2)) {
		t.Errorf("the folder holds %v", got)
	}
}

// Only a command that writes into the run's own folder needs it.
func TestHoldFor(t *testing.T) {
	dir := t.TempDir()
	folder := filepath.Join(dir, "out")
	writeAll(t, folder, oldRun)
	for path, held := range map[string]bool{
		filepath.Join(folder, "pack.zip"):              true,
		filepath.Join(folder, "layers", "..", "x.zip"): true,
		filepath.Join(dir, "pack.zip"):                 false,
		filepath.Join(dir, "none", "pack.zip"):         false,
	} {
		c, err := HoldFor(path, folder)
		if err != nil || (c != nil) != held {
			t.Errorf("%q: held %v, %v; want %v", path, c != nil, err, held)
		}
		c.Release()
	}
	if c, err := HoldFor(filepath.Join(dir, "none", "x"), filepath.Join(dir, "none")); c != nil || err != nil {
		t.Errorf("a folder that is not there: %v, %v", c, err)
	}
	if _, err := os.Stat(filepath.Join(dir, "none")); err == nil {
		t.Error("a folder was made")
	}
}

// Rooms of programs that have ended are removed, those in use are not.
func TestRooms(t *testing.T) {
	dir := t.TempDir()
	writeAll(t, filepath.Join(dir, ".rillwood-pack-1"), map[string]string{"half": "x"})
	writeAll(t, filepath.Join(dir, ".rillwood-other-1"), map[string]string{"half": "x"})
	a, leaveA, err := Room(dir, "pack")
	if err != nil {
		t.Fatal(err)
	}
	b, leaveB, err := Room(dir, "pack")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []string{a, b} {
		if _, err := os.Stat(p); err != nil {
			t.Error(err)
		}
	}
	if got := listAll(t, dir); len(got) != 4 { // a, b, the other and what is in it
		t.Errorf("there is %q", got)
	}
	leaveA()
	leaveB()
	if got := listAll(t, dir); len(got) != 2 {
		t.Errorf("left %q", got)
	}
}

// Folders sent by somebody reach nothing outside, and nothing of the user's.
func TestHostileFolders(t *testing.T) {
	for name, prepare := range map[string]func(t *testing.T, folder, outside string){
		"a journal whose stage is a link": func(t *testing.T, folder, outside string) {
			link(t, outside, filepath.Join(folder, stagePrefix+"x"))
			writeAll(t, folder, map[string]string{journalName: `{"stage":".rillwood-new-x","files":["run.json"],"gone":[]}`})
		},
		"a journal and layers that are a link": func(t *testing.T, folder, outside string) {
			link(t, outside, filepath.Join(folder, "layers"))
			writeAll(t, filepath.Join(folder, stagePrefix+"x", "layers"), map[string]string{"a.tif": "theirs"})
			writeAll(t, folder, map[string]string{journalName: `{"stage":".rillwood-new-x","files":["layers/a.tif"],"gone":["layers/b.tif"]}`})
		},
		"a journal that takes the user's files away": func(t *testing.T, folder, outside string) {
			writeAll(t, folder, map[string]string{journalName: `{"stage":".rillwood-new-x","files":[],"gone":["notes.txt"]}`})
		},
		"a journal that is a link": func(t *testing.T, folder, outside string) {
			link(t, filepath.Join(outside, "journal"), filepath.Join(folder, journalName))
		},
		"a journal of any length": func(t *testing.T, folder, outside string) {
			writeAll(t, folder, map[string]string{journalName: `{"stage":"` + strings.Repeat("x", 2<<20)})
		},
		"old results beside it that are a link": func(t *testing.T, folder, outside string) {
			writeAll(t, outside, map[string]string{markName: `["run.json","a.tif"]`})
			link(t, outside, filepath.Join(filepath.Dir(folder), (&Claim{folder: folder}).besides()+"x"))
		},
		"old results that name the user's files": func(t *testing.T, folder, outside string) {
			old := filepath.Join(filepath.Dir(folder), (&Claim{folder: folder}).besides()+"x")
			writeAll(t, old, map[string]string{markName: `["../outside/run.json","notes.txt"]`})
			link(t, outside, filepath.Join(old, "layers"))
		},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			folder, outside := filepath.Join(dir, "out"), filepath.Join(dir, "outside")
			writeAll(t, outside, map[string]string{"run.json": "mine", "a.tif": "mine", "b.tif": "mine", ".rillwood-1": "mine", "journal": `{"stage":".rillwood-new-x","files":[],"gone":["run.json"]}`})
			writeAll(t, folder, map[string]string{"run.json": "old", "notes.txt": "mine"})
			prepare(t, folder, outside)
			before := readAll(t, outside)
			c, err := Take(folder)
			if err == nil {
				c.Release()
			} else if strings.Contains(err.Error(), "\n") {
				t.Errorf("error %v", err)
			}
			if got := readAll(t, outside); !maps.Equal(got, before) {
				t.Errorf("outside is %v, was %v", got, before)
			}
			if got := visible(t, folder); got["run.json"] != "old" || got["notes.txt"] != "mine" {
				t.Errorf("the folder holds %v", got)
			}
		})
	}
}

func link(t *testing.T, to, at string) {
	t.Helper()
	if err := errors.Join(os.MkdirAll(filepath.Dir(at), 0o755), os.Symlink(to, at)); err != nil {
		t.Fatal(err)
	}
}
