// Package sheet makes field sheets: one printed page for each chosen patch,
// with a small map, the way in, what to look for and how to know it in
// winter, boxes to tally in the columns of the record table, and the warnings
// in readable size. Sheets print black on white and lose nothing in it: what a
// colour says, a line, a hatch or a word says too.
//
// A sheet takes one page of A4 or US letter. Long words of layers are cut with
// an ellipsis; a caution never is.
package sheet
