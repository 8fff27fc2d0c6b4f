package habitat

import (
	"encoding/json"
	"math"
	"os"
	"sort"
	"testing"
)

// auc is the area under the ROC curve: the chance that a case scores above a
// non-case, ties counting half. By mid-ranks: Hanley & McNeil 1982, Radiology
// 143:29–36.
func auc(cases, others []float32) float64 {
	type item struct {
		score float32
		is    bool
	}
	all := make([]item, 0, len(cases)+len(others))
	for _, s := range cases {
		all = append(all, item{s, true})
	}
	for _, s := range others {
		all = append(all, item{s, false})
	}
	sort.Slice(all, func(a, b int) bool { return all[a].score < all[b].score })
	ranks := 0.0
	for i := 0; i < len(all); {
		k := i
		for k < len(all) && all[k].score == all[i].score {
			k++
		}
		mid := float64(i+k+1) / 2 // ranks i+1 … k
		for ; i < k; i++ {
			if all[i].is {
				ranks += mid
			}
		}
	}
	n, m := float64(len(cases)), float64(len(others))
	return (ranks - n*(n+1)/2) / (n * m)
}

func TestAUCByMidRanks(t *testing.T) {
	data, err := os.ReadFile("../fixtures/cases/auc_brier_tss.json")
	if err != nil {
		t.Fatal(err)
	}
	var c struct {
		Cases     []float32 `json:"presence_scores"`
		Others    []float32 `json:"absence_scores"`
		AUC       float64   `json:"auc"`
		Tolerance float64   `json:"tolerance"`
	}
	if err := json.Unmarshal(data, &c); err != nil {
		t.Fatal(err)
	}
	if got := auc(c.Cases, c.Others); math.Abs(got-c.AUC) > c.Tolerance {
		t.Errorf("AUC %.6f, want %.6f", got, c.AUC)
	}
	if got := auc(c.Others, c.Cases); math.Abs(got-(1-c.AUC)) > c.Tolerance {
		t.Errorf("turned round: AUC %.6f, want %.6f", got, 1-c.AUC)
	}
}
