package score

import (
	"strings"
	"testing"
)

// A run of equal chances goes where its middle falls: 4 trials, then 6 of
// which the middle lies beyond half of 10.
func TestBinsOfRuns(t *testing.T) {
	s := mustSample(t, []float64{0.2, 0.6}, []float64{4, 6}, []float64{1, 3})
	got, _ := s.Calibration(2)
	if len(got) != 2 || got[0].Of != 4 || got[1].Of != 6 || got[0].Seen != 0.25 || got[1].Said != 0.6 {
		t.Errorf("two runs in two bins: %+v", got)
	}
	if got, _ := s.Calibration(1); len(got) != 1 || got[0].Of != 10 || got[0].From != 0.2 || got[0].To != 0.6 {
		t.Errorf("one bin: %+v", got)
	}
	// The second run's middle, 4.5 of 10, is still in the first half.
	s = mustSample(t, []float64{0.1, 0.2, 0.9}, []float64{4, 1, 5}, []float64{0, 0, 5})
	if got, _ := s.Calibration(2); len(got) != 2 || got[0].Of != 5 {
		t.Errorf("three runs in two bins: %+v", got)
	}
}

// Of equal TSS the lowest threshold: at 0.2 and at 0.8 it is a half.
func TestBestCutOfEquals(t *testing.T) {
	s := Binary([]float64{0.1, 0.2, 0.5, 0.8}, []bool{false, true, false, true})
	cut, err := s.BestCut()
	if err != nil || cut.T != 0.2 || cut.TSS().Value != 0.5 {
		t.Errorf("%+v, %v", cut, err)
	}
}

// Thresholds come from the other fold: one says 0.6 and misses the other's yes
// at 0.5, though 0.5 would part them.
func TestThresholdsOfOtherFolds(t *testing.T) {
	r := Records{Yes: []float64{1, 0, 1, 0}, No: []float64{0, 1, 0, 1}}
	value := []float64{0.5, 0.3, 0.6, 0.55}
	s, err := CrossValidate(r, []int{0, 0, 1, 1}, func([]int) (func(int) float64, error) {
		return func(i int) float64 { return value[i] }, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	// Fold 0 is cut at 0.6: none called. Fold 1 at 0.5: both called.
	// Sensitivity 1 of 2, specificity 1 of 2.
	if s.TSS.Value != 0 || s.Kappa.Value != 0 {
		t.Errorf("TSS %+v, kappa %+v, want 0", s.TSS, s.Kappa)
	}
	// 0.5 and 0.3 lie below 0.55 to 0.6; 0.6 and 0.55 above 0.3 to 0.5.
	if s.Beyond.Value != 1 {
		t.Errorf("beyond what was fitted: %+v, want all", s.Beyond)
	}
}

// Each fold's finds are compared with that fold's own map: here one fold with
// three finds and one with one, whose maps of the background differ.
func TestBackgroundIsOfEachFold(t *testing.T) {
	r := Records{Yes: []float64{1, 1, 1, 0, 1, 0}, No: []float64{0, 0, 0, 1, 0, 1}, Background: 6}
	folds := []int{0, 0, 0, 0, 1, 1}
	said := func(fold, row int) float64 {
		if row >= len(folds) {
			v := float64(row-5) / 7
			return v * []float64{1, v}[fold]
		}
		return []float64{0.9, 0.6, 0.75, 0.2, 0.4, 0.1}[row]
	}
	s, err := CrossValidate(r, folds, func(train []int) (func(int) float64, error) {
		fold := 1 - folds[train[0]] // the one held out
		return func(row int) float64 { return said(fold, row) }, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	var b Weighted
	for fold, finds := range []float64{3, 1} {
		for j := range 6 {
			b.Value, b.Weight = append(b.Value, said(fold, 6+j)), append(b.Weight, finds)
		}
	}
	want := Boyce(Weighted{Value: []float64{0.9, 0.6, 0.75, 0.4}}, b, BoyceOptions{})
	near(t, "index", s.Boyce.Index.Value, want.Index.Value, 1e-12)
	b.Weight = nil
	if even := Boyce(Weighted{Value: []float64{0.9, 0.6, 0.75, 0.4}}, b, BoyceOptions{}); even.Index.Value == want.Index.Value {
		t.Error("the case cannot tell weights from none")
	}
}

// 3 of 4 in class 1: (3 + ½)/(4 + 1). Class 2 was not seen: 3 of 8 in all.
func TestClassRatesByHand(t *testing.T) {
	r := Records{Yes: []float64{3, 0, 9}, No: []float64{1, 4, 9}}
	predict, err := ClassRates(r, []float64{1, 0, 2, 1})([]int{0, 1})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "class 1", predict(3), 0.7, 1e-12)
	near(t, "class 0", predict(1), 0.1, 1e-12)
	near(t, "unseen class", predict(2), 3.5/9, 1e-12)
}

// The table of calibration is of the last map that is not naive.
func TestCalibrationTableIsOfTheLastMap(t *testing.T) {
	s := study(150)
	s.Models = append(s.Models, Model{"map after learning", s.Models[0].Fit})
	r, err := Evaluate(s)
	if err != nil {
		t.Fatal(err)
	}
	if text := r.Text(); !strings.Contains(text, "What map after learning said of unseen blocks") || strings.Count(text, "and what came of it") != 1 {
		t.Error(text)
	}
}
