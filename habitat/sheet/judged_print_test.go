package sheet_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rillwood/habitat/results"
	"rillwood/internal/browser"
)

// folded takes out what a printer may do to words: breaks and hyphens.
func folded(s string) string {
	return strings.ReplaceAll(strings.Join(strings.Fields(s), ""), "\u00ad", "")
}

// Printed by Chromium, the first page and each sheet take one page of A4 and of
// letter, whatever the words, and each page holds its last words: nothing is
// cut off. poppler counts the pages and reads them.
func TestEachSheetIsOnePage(t *testing.T) {
	usual, long := county(t, 500000, 3), county(t, 330000, 4)
	longest(long)
	bare := county(t, 500000, 1)
	bare.Name, bare.Hosts, bare.Cautions, bare.Streams, bare.Layers = "", nil, nil, nil, []string{"suitability"}
	bare.Candidates[0] = results.Candidate{Rank: 1, Lon: bare.Candidates[0].Lon, Lat: bare.Candidates[0].Lat, East: bare.Candidates[0].East, North: bare.Candidates[0].North, Shape: bare.Candidates[0].Shape}
	for _, c := range []struct {
		name  string
		run   *results.Run
		ranks []int
	}{{"usual", usual, []int{1, 2, 3}}, {"longest", long, []int{1, 2, 3}}, {"little known", bare, []int{1}}} {
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
				for i := range 1 + len(c.ranks) {
					n := fmt.Sprint(i + 1)
					said := folded(ask(t, "", "pdftotext", "-f", n, "-l", n, pdf, "-"))
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
							t.Errorf("%s, page %s lacks %q", size, n, w)
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
