// Package score tells how good a map has been, from places where somebody
// looked and wrote down what was there.
//
// A record is a row of trials: x of n trees carried the target, or the host
// was there (1 of 1) or not (0 of 1). Everything here takes such counts as
// weights, so a row of 3 of 40 is the same as 3 rows of yes and 37 of no.
//
// Figures that cannot be worked out (one class only, no records, scores that
// are all alike) are NaN with a reason in Figure.Why; data never cause a
// panic. Slices of different lengths are a programmer's error and do.
//
// Nothing here draws random numbers but RandomFolds, from a seed that is shown.
package score
