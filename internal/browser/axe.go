package browser

import (
	_ "embed"
	"fmt"
	"strings"

	"github.com/chromedp/chromedp"
)

// axe is axe-core 4.10.3 (Mozilla Public License 2.0), which judges pages by
// the Web Content Accessibility Guidelines; see testdata/README.md.
//
//go:embed testdata/axe.min.js
var axe string

// Fault is a rule of accessibility that a page breaks.
type Fault struct {
	ID     string `json:"id"`
	Impact string `json:"impact"` // minor, moderate, serious or critical
	Help   string `json:"help"`
	Nodes  []struct {
		HTML    string `json:"html"`
		Summary string `json:"failureSummary"`
	} `json:"nodes"`
}

func (f Fault) String() string {
	var at []string
	for _, n := range f.Nodes[:min(3, len(f.Nodes))] {
		at = append(at, strings.Join(strings.Fields(n.HTML+" — "+n.Summary), " "))
	}
	return fmt.Sprintf("%s (%s): %s; %d places, such as %s", f.ID, f.Impact, f.Help, len(f.Nodes), strings.Join(at, " | "))
}

// Axe gives the faults that axe-core finds on the page as it stands.
func (b *Tab) Axe() []Fault {
	b.t.Helper()
	b.Do(chromedp.Evaluate[chromedp.Void](axe + "; undefined"))
	return value(b, chromedp.Evaluate[[]Fault](`axe.run(document, {resultTypes: ["violations"]}).then(r => r.violations)`, chromedp.EvalAwaitPromise))
}

// Accessible fails the test for every serious or critical fault.
func (b *Tab) Accessible() {
	b.t.Helper()
	for _, f := range b.Axe() {
		if f.Impact == "serious" || f.Impact == "critical" {
			b.t.Errorf("not accessible: %s", f)
		}
	}
}
