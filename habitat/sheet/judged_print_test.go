package sheet_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rillwood/habitat/results"
	"rillwood/habitat/sheet"
	"rillwood/internal/browser"
)

// folded takes out what a printer may do to words: breaks and hyphens.
func folded(s string) string {
	return strings.NewReplacer("-", "", "\u00ad", "", "\u2010", "").Replace(strings.Join(strings.Fields(s), ""))
}

// Printed by Chromium, the first page and each sheet take one page of A4 and of
// letter, whatever the words, and each page holds its last words: nothing is
// cut off. poppler counts the pages and reads them.
func TestEachSheetIsOnePage(t *testing.T) {
	usual, long := county(t, 500000, 3), county(t, 330000, 4)
	longest(long)
	for _, c := range []struct {
		name  string
		run   *results.Run
		ranks []int
	}{{"usual", usual, []int{1, 2, 3}}, {"longest", long, []int{1, 2, 3}}} {
		t.Run(c.name, func(t *testing.T) {
			tab := browser.Open(t, book(t, c.run, c.ranks...), browser.Options{})
			tab.Quiet()
			for size, paper := range map[string]browser.Paper{"A4": browser.A4, "letter": browser.Letter} {
				pdf := filepath.Join(t.TempDir(), "sheets.pdf")
				tab.Print(pdf, paper)
				if keep := os.Getenv("RILLWOOD_KEEP"); keep != "" { // to look at
					data, err := os.ReadFile(pdf)
					if err != nil {
						t.Fatal(err)
					}
					if err := os.WriteFile(filepath.Join(keep, c.name+" "+size+".pdf"), data, 0o644); err != nil {
						t.Fatal(err)
					}
				}
				if info := ask(t, "", "pdfinfo", pdf); !strings.Contains(folded(info), fmt.Sprintf("Pages:%dEnc", 1+len(c.ranks))) {
					t.Errorf("%s: not %d pages:\n%s", size, 1+len(c.ranks), info)
					continue
				}
				for i, page := range strings.Split(strings.TrimSuffix(ask(t, "", "pdftotext", pdf, "-"), "\f"), "\f") {
					said := folded(page)
					var want []string
					for _, k := range c.run.Cautions {
						if i == 0 || k.Short && k.Key != "map" {
							want = append(want, k.Text)
						}
					}
					want = append(want, "run "+c.run.ID)
					if i > 0 {
						want = append(want, fmt.Sprintf("sheet %d of %d", i, len(c.ranks)), fmt.Sprintf("candidate %d", c.ranks[i-1]), "never what is safe to eat")
					}
					for _, w := range want {
						if !strings.Contains(said, folded(w)) {
							t.Errorf("%s, page %d lacks %q", size, i+1, w)
						}
					}
				}
			}
			// Words that are in the file but hidden would be found in the PDF all the
			// same: nothing may reach over the edge of its page or of its cell.
			over := browser.Eval[[]string](tab, `[...document.querySelectorAll(".fieldsheet p, .fieldsheet h2, .fieldsheet td, .fieldsheet th, .fieldsheet dd, .fieldsheet li, .fieldsheet footer")]
				.filter(e => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== "inline" || e.scrollHeight > e.clientHeight + 3 && getComputedStyle(e).overflowY === "hidden").map(e => e.className + ": " + e.textContent.slice(0, 60))`)
			for _, o := range over {
				t.Errorf("cut off: %s", o)
			}
		})
	}
}

// A patch of which nothing is known, in a run of an earlier version, has a sheet
// that says so in words and dashes.
func TestSheetOfLittle(t *testing.T) {
	run := county(t, 500000, 1)
	c, nan := run.Candidates[0], math.NaN()
	run.Name, run.Hosts, run.Streams, run.Help, run.Target, run.Layers = "", nil, nil, results.Help{}, results.Target{}, []string{"suitability"}
	run.Cautions = []results.Caution{{Key: "map", Title: "The map is about trees", Text: "A map says where to look, never what is safe to eat.", Short: true}}
	run.Candidates[0] = results.Candidate{Rank: 1, Score: nan, AreaHa: nan, SMean: nan, Finds: nan, FindsLow: nan, FindsHigh: nan, DeadTrees: nan, StreamM: nan, Lon: c.Lon, Lat: c.Lat, East: c.East, North: c.North, Shape: c.Shape,
		Trees: []results.TreeCount{{Host: "elm", Expected: nan, Low: nan, High: nan}}}
	page := text(pages(t, run, 1)[0])
	for _, want := range []string{"Stream without a name", "never what is safe to eat", "ASK FIRST", "no number is enough", "elm"} {
		if !strings.Contains(page, want) {
			t.Errorf("the sheet lacks %q", want)
		}
	}
	for _, bad := range []string{"NaN", "%!", "<nil>", "Inf"} {
		if strings.Contains(page, bad) {
			t.Errorf("the sheet holds %q: %s", bad, page)
		}
	}
	if _, err := sheet.Pages(context.Background(), run, []int{1, 2}); err == nil || !strings.Contains(err.Error(), "no candidate 2") || strings.Contains(err.Error(), "\n") {
		t.Errorf("a rank that is not listed: %v", err)
	}
	path := filepath.Join(t.TempDir(), "none.html")
	if err := sheet.Write(context.Background(), path, run, []int{7}); err == nil {
		t.Error("a book of a sheet that is not listed")
	} else if _, err := os.Stat(path); err == nil {
		t.Error("something was written")
	}
}
