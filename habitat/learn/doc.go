// Package learn is the statistics of field results: regressions with priors
// (Logistic, Firth, FitFinds), hit rates pooled over kin hosts and scattered
// between sites (PooledRates), and places visited more than once
// (Occupancy, DetectionFrom).
//
// It knows no files, no maps and no profile: numbers in, numbers and their
// intervals out. Nothing here is random and nothing depends on order of
// arrival, so the same rows give the same bits.
package learn
