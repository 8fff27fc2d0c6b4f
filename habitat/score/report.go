package score

import (
	"encoding/json"
	"fmt"
)

// Report is how good maps have been, for people (Text) and programs (JSON).
type Report struct {
	What        string     `json:"what"`
	Records     int        `json:"records"`
	Trials      float64    `json:"trials"`
	Found       float64    `json:"found"`
	Side        Side       `json:"blocks"`
	Folds       int        `json:"block_folds"`
	RandomFolds int        `json:"random_folds"`
	Seed        uint64     `json:"seed"`
	Maps        []Scored   `json:"maps"`
	Selection   *Selection `json:"selection,omitempty"`
	Warnings    []string   `json:"warnings"`
}

// Scored is one map, on unseen blocks and on random folds.
type Scored struct {
	Name    string `json:"name"`
	Naive   bool   `json:"naive"`
	Blocked Scores `json:"unseen_blocks"`
	Random  Scores `json:"random_folds"`
}

// JSON is the report, indented, with null for what is not known.
func (r *Report) JSON() ([]byte, error) {
	data, err := json.MarshalIndent(r, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("report of scores: %w", err)
	}
	return append(data, '\n'), nil
}

// Below the first three a report says that its figures swing widely, beyond
// the others what else a reader must know (common practice, no source).
const (
	fewRecords = 50
	fewOfAKind = 10
	fewBlocks  = 10
	flattering = 0.02 // AUC by which random folds are said to flatter
	reaching   = 0.1  // share of rows predicted beyond what was fitted
)

// warn says in plain words what a reader must know before quoting a figure.
func (r *Report) warn() {
	say := func(format string, args ...any) { r.Warnings = append(r.Warnings, fmt.Sprintf(format, args...)) }
	if r.Selection != nil {
		say("%s", r.Selection.Text)
	}
	switch {
	case r.Records == 0:
		say("No records: how good the map has been is not known.")
		return
	case r.Records < fewRecords:
		say("%s: figures this few make swing widely; do not choose between maps by them.", count(r.Records, "record"))
	case min(r.Found, r.Trials-r.Found) < fewOfAKind:
		say("Only %.0f yes and %.0f no: figures of so few swing widely.", r.Found, r.Trials-r.Found)
	case r.Side.Blocks < fewBlocks:
		say("Only %s: figures of so few places swing widely.", count(r.Side.Blocks, "block"))
	}
	if r.Side.Capped {
		say("Blocks are smaller than the ground over which the map's misses are alike, so even unseen blocks flatter.")
	}
	for _, m := range r.Maps {
		a, b := m.Random.AUC.Value, m.Blocked.AUC.Value
		if !m.Naive && a-b > flattering {
			say("%s: random folds flatter by %.2f of AUC, since neighbours tell of each other. Quote the unseen blocks.", m.Name, a-b)
		}
		if x := m.Blocked.Beyond; !m.Naive && x.Known() && x.Value > reaching {
			say("%s: %s of the records on unseen blocks are judged beyond anything the fit had seen.", m.Name, share(x.Value))
		}
		for _, note := range m.Blocked.Notes {
			say("%s, unseen blocks: %s.", m.Name, note)
		}
		for _, note := range m.Random.Notes {
			say("%s, random folds: %s.", m.Name, note)
		}
		if u := m.Blocked.Unscored; u > 0 {
			say("%s: %s without a prediction or a trial left out.", m.Name, count(u, "record"))
		}
	}
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
