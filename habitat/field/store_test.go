package field

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

func open(t testing.TB, dir string) *Store {
	t.Helper()
	s, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func add(t testing.TB, s *Store, rows []Record, wantAdded, wantAlready int) {
	t.Helper()
	added, already, err := s.Append(rows)
	if err != nil {
		t.Fatal(err)
	}
	if added != wantAdded || already != wantAlready {
		t.Errorf("added %d, already %d; want %d, %d", added, already, wantAdded, wantAlready)
	}
}

func bytesOf(t testing.TB, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

var ignore = cmpopts.IgnoreFields(Record{}, "lineNumber")

func TestAppendedRecordsComeBackAndMergingChangesNothing(t *testing.T) {
	s := open(t, filepath.Join(t.TempDir(), "new", "records"))
	full := Record{Date: day("2026-01-31"), Lon: -87.0212345, Lat: 43.31, AccuracyM: 12.5, Candidate: 3, Run: "0123456789ab", Host: "green-ash",
		Condition: Fallen, Inspected: 4, Found: 1, Minutes: 22.5, Observer: "=AB", Confirmed: "yes",
		Note: "quotes \", commas, 'apostrophes', é, and\na second line", Stop: "ford", Flags: []string{FlagAccuracy, FlagUnconfirmed}}
	trip := []Record{full, row("a", 12, 1), row("a", 1, 0), row("a", 1, 0), {Date: day("2026-01-31"), Lon: -87.05, Lat: 43.3, Host: NoHost}}
	add(t, s, trip, 5, 0)
	got, warnings, err := s.Load()
	if err != nil || len(warnings) > 0 {
		t.Fatal(err, warnings)
	}
	if got[0].Note != "quotes \", commas, 'apostrophes', é, and a second line" || got[0].Lon != -87.021235 {
		t.Errorf("kept as %+v", got[0])
	}
	if diff := cmp.Diff(trip, got, ignore); diff != "" {
		t.Errorf("as settled, and as read:\n%s", diff)
	}
	before := bytesOf(t, s.Path())
	again := []Record{full, row("a", 12, 1), row("a", 1, 0), row("a", 1, 0), {Date: day("2026-01-31"), Lon: -87.05, Lat: 43.3, Host: NoHost}}
	add(t, s, again, 0, 5)
	if !bytes.Equal(before, bytesOf(t, s.Path())) {
		t.Error("the same trip again changed the store")
	}
	if _, err := os.Stat(filepath.Join(filepath.Dir(s.Path()), backupFile)); err == nil {
		t.Error("a backup of nothing")
	}
	add(t, s, []Record{row("b", 3, 0)}, 1, 0)
	after := bytesOf(t, s.Path())
	if !bytes.HasPrefix(after, before) || !bytes.Equal(bytesOf(t, filepath.Join(filepath.Dir(s.Path()), backupFile)), before) {
		t.Error("old lines moved, or the backup is not the version before")
	}
}

func TestClashesAreToldAndCorrectionsTaken(t *testing.T) {
	s := open(t, t.TempDir())
	add(t, s, []Record{row("a", 12, 1), row("b", 2, 0)}, 2, 0)
	before := bytesOf(t, s.Path())
	_, _, err := s.Append([]Record{row("a", 12, 2), row("c", 1, 0)})
	clash := (*ClashError)(nil)
	if !errors.As(err, &clash) || len(clash.Clashes) != 1 {
		t.Fatalf("got %v", err)
	}
	holds(t, "clash", err.Error(), `stop "a"`, `found "1"`, `found "2"`, "--correct", "nothing was added")
	if !bytes.Equal(before, bytesOf(t, s.Path())) {
		t.Error("a refused append changed the store")
	}
	added, corrected, already, err := s.Correct([]Record{row("a", 12, 2), row("c", 1, 0), row("b", 2, 0)})
	if err != nil || added != 1 || corrected != 1 || already != 1 {
		t.Errorf("added %d, corrected %d, already %d, %v; want 1, 1, 1", added, corrected, already, err)
	}
	if !bytes.HasPrefix(bytesOf(t, s.Path()), before) {
		t.Error("a correction rewrote old lines")
	}
	got, _, err := s.Load()
	if err != nil || len(got) != 3 || got[0].Stop != "a" || got[0].Found != 2 || got[1].Stop != "b" {
		t.Errorf("read as %+v, %v", got, err)
	}
}

// A store cut off at any byte opens with every whole line, says what is
// damaged, and takes the trip again.
func TestTornTailAtEveryByte(t *testing.T) {
	s := open(t, t.TempDir())
	rows := func() []Record {
		return []Record{row("a", 12, 1), {Date: day("2025-11-23"), Lon: -87, Lat: 43.3, Host: NoHost, Note: `a "quoted", note`}, row("c", 1, 0)}
	}
	add(t, s, rows(), 3, 0)
	whole := bytesOf(t, s.Path())
	head := bytes.IndexByte(whole, '\n') + 1
	for cut := head; cut < len(whole); cut++ {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, RecordsFile), whole[:cut], 0o644); err != nil {
			t.Fatal(err)
		}
		kept := bytes.Count(whole[:cut], []byte("\n")) - 1
		tail := whole[bytes.LastIndexByte(whole[:cut], '\n')+1 : cut]
		// A line that lacks nothing but its line end is whole.
		want, warned := kept, 0
		if next := bytes.IndexByte(whole[cut-len(tail):], '\n') - 1; len(tail) >= next && next > 0 {
			want++
		} else if len(tail) > 0 {
			warned = 1
		}
		torn := open(t, dir)
		got, warnings, err := torn.Load()
		if err != nil || len(got) != want || len(warnings) != warned {
			t.Fatalf("cut at %d: %d records, %q, %v; want %d records, %d warnings", cut, len(got), warnings, err, want, warned)
		}
		if warned > 0 {
			holds(t, "warning", warnings[0], RecordsFile, fmt.Sprintf("line %d", kept+2), "not finished")
		}
		if cut%13 != 0 && cut < len(whole)-3 {
			continue // flushing to the disk takes its time
		}
		add(t, torn, rows(), 3-want, want)
		got, warnings, err = torn.Load()
		if err != nil || len(got) != 3 || len(warnings) != warned {
			t.Fatalf("cut at %d and added again: %d records, %q, %v", cut, len(got), warnings, err)
		}
		if now := bytesOf(t, torn.Path()); !bytes.HasPrefix(now, whole[:cut]) {
			t.Fatalf("cut at %d: bytes were taken away", cut)
		}
	}
}

func TestDamagedLinesAreToldAndTheOthersKept(t *testing.T) {
	s := open(t, t.TempDir())
	add(t, s, []Record{row("a", 12, 1), row("b", 2, 0), row("c", 3, 0)}, 3, 0)
	whole := string(bytesOf(t, s.Path()))
	lines := strings.SplitAfter(whole, "\n")
	for name, c := range map[string]struct{ line, says string }{
		"a count changed by hand": {strings.Replace(lines[2], ",2,0,", ",2,1,", 1), "checksum"},
		"noise":                   {"\x00\xff\"\r\n", "cut off or its quotes"},
		"a field less":            {lines[2][strings.Index(lines[2], ",")+1:], "17 fields"},
	} {
		t.Run(name, func(t *testing.T) {
			path := write(t, RecordsFile, lines[0]+lines[1]+c.line+lines[3])
			got, warnings, err := Load(path)
			if err != nil || len(got) != 2 || got[1].Stop != "c" || len(warnings) != 1 {
				t.Fatalf("%d records, %q, %v", len(got), warnings, err)
			}
			holds(t, "warning", warnings[0], RecordsFile, "line 3", c.says)
		})
	}
}

func TestStoresThatAreNone(t *testing.T) {
	s := open(t, t.TempDir())
	add(t, s, []Record{row("a", 1, 0)}, 1, 0)
	later := strings.Replace(string(bytesOf(t, s.Path())), "rillwood_record_1", "rillwood_record_2", 1)
	for name, c := range map[string]struct {
		path string
		says string
	}{
		"missing":        {filepath.Join(t.TempDir(), "none"), "there is none"},
		"a later format": {write(t, RecordsFile, later), "newer program"},
		"another table":  {write(t, RecordsFile, "date,lon\n2025-01-01,3\n"), "not the header"},
	} {
		_, _, err := Load(c.path)
		if err == nil {
			t.Errorf("%s: no error", name)
			continue
		}
		holds(t, name, err.Error(), c.says)
	}
	if _, err := Open(write(t, "file", "")); err == nil {
		t.Error("a file was opened as a folder")
	}
	dir := filepath.Dir(write(t, RecordsFile, later))
	if _, _, err := open(t, dir).Append([]Record{row("b", 1, 0)}); err == nil {
		t.Error("appended to a later format")
	}
}

func TestWritersTakeTurns(t *testing.T) {
	dir := t.TempDir()
	var wg sync.WaitGroup
	const writers, trips = 6, 8
	for w := range writers {
		wg.Go(func() {
			s, err := Open(dir)
			for k := 0; k < trips && err == nil; k++ {
				_, _, err = s.Append([]Record{row(fmt.Sprintf("%d-%d", w, k), 5, 0), row("shared", 7, 0)})
			}
			if err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	got, warnings, err := Load(dir)
	if err != nil || len(warnings) > 0 || len(got) != writers*trips+1 {
		t.Errorf("%d records, %q, %v; want %d", len(got), warnings, err, writers*trips+1)
	}
}
