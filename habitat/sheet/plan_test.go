package sheet_test

import (
	"fmt"
	"testing"

	"rillwood/habitat/results"
	"rillwood/habitat/sheet"
	"rillwood/internal/browser"
)

// A sheet needs no more than is reckoned, and the page has that. Without this
// the map would take room that the words need.
func TestReckonedHeightHolds(t *testing.T) {
	usual, long := county(t, 500000, 3), county(t, 330000, 4)
	longest(long)
	for name, run := range map[string]*results.Run{"usual": usual, "longest": long} {
		tab := browser.Open(t, book(t, run, 1, 2, 3), browser.Options{})
		for rank := 1; rank <= 3; rank++ {
			// On the screen a sheet is as wide as on A4, has 8 mm of padding, and 20 mm
			// for notes instead of 12.
			mm := browser.Eval[float64](tab, fmt.Sprintf(`document.getElementById("sheet-%d").getBoundingClientRect().height * 25.4 / 96 - 16`, rank))
			reckoned, err := sheet.HeightOf(run, rank)
			if err != nil {
				t.Fatal(err)
			}
			t.Logf("%s, sheet %d: %.1f mm, reckoned %.1f mm", name, rank, mm, reckoned)
			if mm > reckoned || reckoned > sheet.PageMM {
				t.Errorf("%s: sheet %d needs %.1f mm, reckoned %.1f mm, the page has %.1f mm", name, rank, mm, reckoned, sheet.PageMM)
			}
		}
		if name == "longest" {
			tab.Quiet()
			tab.Accessible()
		}
	}
}
