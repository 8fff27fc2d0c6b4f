package score

import (
	"math/rand/v2"
	"testing"
)

const scoreScript = `
import numpy as np
from sklearn.calibration import calibration_curve
from sklearn.metrics import roc_auc_score, brier_score_loss, cohen_kappa_score, balanced_accuracy_score
from sklearn.linear_model import LogisticRegression
from scipy.stats import spearmanr
given = json.load(sys.stdin)
out = []
for c in given["rows"]:
    p, of, x = (np.array(c[k]) for k in ("p", "of", "found"))
    y = np.r_[np.ones(len(p)), np.zeros(len(p))]
    s = np.r_[p, p]
    w = np.r_[x, of - x]
    keep = w > 0
    y, s, w = y[keep], s[keep], w[keep]
    logit = np.log(s / (1 - s)).reshape(-1, 1)
    m = LogisticRegression(C=1e14, solver="newton-cg", tol=1e-12, max_iter=10000).fit(logit, y, sample_weight=w)
    q = m.predict_proba(logit)[:, 1]
    X = np.c_[np.ones(len(y)), logit]
    se = np.sqrt(np.diag(np.linalg.inv(X.T @ (X * (w * q * (1 - q))[:, None]))))
    rep = np.repeat(np.arange(len(p)), of.astype(int))
    out.append(dict(
        auc=roc_auc_score(y, s, sample_weight=w),
        brier=brier_score_loss(y, s, sample_weight=w),
        kappa=cohen_kappa_score(y, s >= 0.5, sample_weight=w),
        tss=2 * balanced_accuracy_score(y, s >= 0.5, sample_weight=w) - 1,
        intercept=m.intercept_[0], slope=m.coef_[0, 0], intercept_se=se[0], slope_se=se[1],
        spearman=spearmanr(p[rep], (x / of)[rep]).correlation))
bins = []
for c in given["bins"]:
    seen, said = calibration_curve(np.array(c["y"]), np.array(c["p"]), n_bins=c["bins"], strategy="quantile")
    bins.append(dict(seen=list(seen), said=list(said)))
print(json.dumps(dict(rows=out, bins=bins)))
`

type weighedRows struct {
	P     []float64 `json:"p"`
	Of    []float64 `json:"of"`
	Found []float64 `json:"found"`
}

type singleRows struct {
	P    []float64 `json:"p"`
	Y    []int     `json:"y"`
	Bins int       `json:"bins"`
}

type weighedScores struct {
	AUC, Brier, Kappa, TSS, Intercept, Slope, Spearman float64
	InterceptSE                                        float64 `json:"intercept_se"`
	SlopeSE                                            float64 `json:"slope_se"`
}

// Rows of several trials against scikit-learn with weights, rank correlation
// against SciPy with each row repeated, and bins of equal count. One Python
// judges all: it is slow to load.
func TestAgainstScikitLearn(t *testing.T) {
	var in struct {
		Rows []weighedRows `json:"rows"`
		Bins []singleRows  `json:"bins"`
	}
	in.Rows, in.Bins = drawWeighed(), drawSingle()
	var want struct {
		Rows []weighedScores
		Bins []struct{ Seen, Said []float64 }
	}
	judge(t, "numpy, scipy, sklearn", scoreScript, in, &want)
	if len(want.Rows) != len(in.Rows) || len(want.Bins) != len(in.Bins) {
		t.Fatalf("%d and %d answers for %d and %d samples", len(want.Rows), len(want.Bins), len(in.Rows), len(in.Bins))
	}
	for k, c := range in.Rows {
		holdWeighed(t, c, want.Rows[k])
	}
	for k, c := range in.Bins {
		holdBins(t, c, want.Bins[k].Seen, want.Bins[k].Said)
	}
}

func drawWeighed() (in []weighedRows) {
	r := rand.New(rand.NewPCG(21, 22))
	for k := range 12 {
		p, of, found := chances(r, 20+40*k, 0.4+0.15*float64(k), 1+k)
		in = append(in, weighedRows{p, of, found})
	}
	return in
}

func holdWeighed(t *testing.T, c weighedRows, want weighedScores) {
	t.Helper()
	s := mustSample(t, c.P, c.Of, c.Found)
	near(t, "AUC", s.AUC().Value, want.AUC, 1e-12)
	near(t, "Brier", s.Brier().Value, want.Brier, 1e-12)
	cut := s.CutAt(0.5)
	near(t, "kappa", cut.Kappa().Value, want.Kappa, 1e-12)
	near(t, "TSS", cut.TSS().Value, want.TSS, 1e-12)
	l := s.Logits()
	near(t, "slope", l.Slope.Value, want.Slope, 1e-6)
	near(t, "intercept", l.Intercept.Value, want.Intercept, 1e-6)
	near(t, "slope's error", l.Slope.SE, want.SlopeSE, 1e-6)
	near(t, "intercept's error", l.Intercept.SE, want.InterceptSE, 1e-6)
	share := make([]float64, len(c.P))
	for i := range share {
		share[i] = c.Found[i] / c.Of[i]
	}
	near(t, "Spearman", Spearman(c.P, share, c.Of).Value, want.Spearman, 1e-12)
}

// Chances without ties, and counts that divide: there quantiles and equal
// counts are the same rule.
func drawSingle() (in []singleRows) {
	r := rand.New(rand.NewPCG(23, 24))
	for _, bins := range []int{2, 5, 10} {
		c := singleRows{Bins: bins}
		for range bins * 30 {
			p := r.Float64()
			y := 0
			if r.Float64() < p {
				y = 1
			}
			c.P, c.Y = append(c.P, p), append(c.Y, y)
		}
		in = append(in, c)
	}
	return in
}

func holdBins(t *testing.T, c singleRows, seen, said []float64) {
	t.Helper()
	is := make([]bool, len(c.Y))
	for i, y := range c.Y {
		is[i] = y == 1
	}
	got, why := Binary(c.P, is).Calibration(c.Bins)
	if why != "" || len(got) != c.Bins || len(seen) != c.Bins {
		t.Fatalf("%d bins (%s), want %d", len(got), why, c.Bins)
	}
	for b := range got {
		near(t, "seen", got[b].Seen, seen[b], 1e-12)
		near(t, "said", got[b].Said, said[b], 1e-12)
	}
}
