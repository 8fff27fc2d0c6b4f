package sheet_test

import (
	"context"
	"errors"
	"fmt"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"encoding/base64"

	"rillwood/habitat/field"
	"rillwood/habitat/sheet"
	"rillwood/internal/browser"
)

// What is written on a sheet can be typed into the record table: it has a
// place for each of the table's columns, and no other.
func TestSheetHasTheColumnsOfTheRecordTable(t *testing.T) {
	page := pages(t, county(t, 500000, 1), 1)[0]
	seen := map[string]int{}
	for _, m := range regexp.MustCompile(`data-column="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		seen[m[1]]++
	}
	for _, c := range field.Columns {
		if seen[c] != 1 {
			t.Errorf("column %q has %d places on the sheet, want 1", c, seen[c])
		}
		delete(seen, c)
	}
	if len(seen) > 0 {
		t.Errorf("places for columns that no record has: %v", seen)
	}
	for letter, word := range map[string]string{"a": "alive", "d": "dying", "s": "dead-standing", "f": "fallen"} {
		if got, err := field.Condition(word); err != nil || got == "" || !strings.Contains(text(page), letter+" "+word) {
			t.Errorf("%s %s is not told, or no condition a record knows (%v)", letter, word, err)
		}
	}
}

// The tally names the hosts that bear most finds, with the trees expected, and
// leaves a row; the sheet tells how to know them, and names the others.
func TestTallyNamesTheMainHosts(t *testing.T) {
	run := county(t, 500000, 1)
	page := pages(t, run, 1)[0]
	rows := regexp.MustCompile(`<tr><th scope="row">([^<]*) <small>([^<]*)</small>`).FindAllStringSubmatch(page, -1)
	if len(rows) < 4 || rows[0][1] != run.Candidates[0].FirstHost {
		t.Fatalf("rows %q, want four hosts or more, %s first", rows, run.Candidates[0].FirstHost)
	}
	named, last := map[string]bool{}, math.Inf(1)
	for i, r := range rows {
		named[r[1]] = true
		for k, h := range run.Hosts {
			if h.Common != r[1] {
				continue
			}
			n := run.Candidates[0].Trees[k]
			if want := fmt.Sprintf("%.0f (%.0f–%.0f)", n.Expected, n.Low, n.High); r[2] != want {
				t.Errorf("%s: %q trees expected, want %q", r[1], r[2], want)
			}
			if bears := n.Expected * h.Hits / h.Of; i > 0 && bears > last {
				t.Errorf("%s bears more than the host before it", r[1])
			} else if i > 0 {
				last = bears
			}
			if i < 3 && !strings.Contains(text(page), h.Winter) {
				t.Errorf("the sheet does not tell how to know %s", r[1])
			}
		}
	}
	_, others, _ := strings.Cut(text(page), "Other hosts expected:")
	for _, h := range run.Hosts {
		if !named[h.Common] && !strings.Contains(others, h.Common+" ") {
			t.Errorf("%s is not named", h.Common)
		}
	}
	if strings.Count(page, `<tr class="blank">`) != 1 {
		t.Error("the tally has not one empty row")
	}
}

// A sheet's ground stays small on the roughest relief, is thinned rather than
// cut, and a run without relief is drawn without it.
func TestGroundOfTheMap(t *testing.T) {
	run := county(t, 500000, 1)
	image := regexp.MustCompile(`href="data:image/png;base64,([^"]+)"`)
	ground := func() (w, h, bytes int) {
		m := image.FindStringSubmatch(pages(t, run, 1)[0])
		if m == nil {
			t.Fatal("the map has no ground")
		}
		data, err := base64.StdEncoding.DecodeString(m[1])
		if err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(strings.NewReader(string(data)))
		if err != nil {
			t.Fatal(err)
		}
		return img.Bounds().Dx(), img.Bounds().Dy(), len(data)
	}
	w, h, bytes := ground()
	if w < 40 || h < 20 || bytes > 9_000 {
		t.Errorf("ground of %d × %d in %d bytes", w, h, bytes)
	}
	none := 0.0
	cog(t, filepath.Join(run.Folder, "relief.tif"), run.Frame, &none, func(x, y int) uint8 { return uint8(1 + (x*7919^y*104729)*2654435761>>7%255) })
	run.Layers = append(run.Layers, "relief")
	if w, h, bytes = ground(); w < 40 || h < 20 || bytes > 9_000 {
		t.Errorf("with rough relief: ground of %d × %d in %d bytes", w, h, bytes)
	}
	run.Layers = []string{"suitability"}
	page := pages(t, run, 1)[0]
	if !image.MatchString(page) || strings.Contains(page, `class="right `) {
		t.Error("without relief and access: want ground, and no marks of who may enter")
	}
}

// However many sheets, their list takes one page and says what it leaves out.
func TestListOfManySheetsTakesOnePage(t *testing.T) {
	run := county(t, 500000, 4)
	for len(run.Candidates) < 90 {
		c := run.Candidates[len(run.Candidates)%4]
		c.Rank = len(run.Candidates) + 1
		run.Candidates = append(run.Candidates, c)
	}
	counts := []int{1, 18, 19, 40, 90}
	var all strings.Builder
	for i, n := range counts {
		var ranks []int
		for r := 1; r <= n; r++ {
			ranks = append(ranks, r)
		}
		data, err := os.ReadFile(book(t, run, ranks...))
		if err != nil {
			t.Fatal(err)
		}
		// The sheets are tried elsewhere: here the lists follow each other.
		list := string(data[:strings.Index(string(data), `<section class="fieldsheet`)])
		if got := strings.Contains(list, "more: each has its sheet"); got != (n > 60) {
			t.Errorf("the list of %d sheets says that it leaves some out: %v", n, got)
		}
		if i > 0 {
			list = list[strings.Index(list, `<section class="sheetbook"`):]
			list = strings.Replace(list, `<section `, `<section style="break-before: page" `, 1)
		}
		all.WriteString(list)
	}
	file := filepath.Join(t.TempDir(), "lists.html")
	if err := os.WriteFile(file, []byte(all.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	pdf := filepath.Join(t.TempDir(), "lists.pdf")
	tab := browser.Open(t, file, browser.Options{})
	t.Log("heights in mm:", browser.Eval[string](tab, `[...document.querySelectorAll(".sheetbook")].map(s => (s.getBoundingClientRect().height * 25.4 / 96 - 8).toFixed(1)).join(", ")`))
	tab.Print(pdf, browser.Letter)
	if info := ask(t, "", "pdfinfo", pdf); !strings.Contains(folded(info), fmt.Sprintf("Pages:%dEnc", len(counts))) {
		t.Errorf("%d lists take other than %d pages:\n%s", len(counts), len(counts), info)
	}
}

func TestSheetsThatCannotBe(t *testing.T) {
	run := county(t, 500000, 3)
	path := filepath.Join(t.TempDir(), "sheets.html")
	for _, c := range []struct {
		name  string
		ranks []int
		want  string
	}{
		{"unknown", []int{1, 12}, "no candidate 12; the shortlist has 1 to 3"},
		{"none chosen", nil, "field sheets: no candidate is chosen; the shortlist has 1 to 3"},
	} {
		if err := sheet.Write(t.Context(), path, run, c.ranks); err == nil || err.Error() != c.want {
			t.Errorf("%s: error %v, want %q", c.name, err, c.want)
		}
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if err := sheet.Write(ctx, path, run, []int{1}); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: error %v", err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("a file was left behind")
	}
}
