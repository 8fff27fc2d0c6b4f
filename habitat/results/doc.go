// Package results reads the folder of a finished run into plain values, for
// the pages, packs and comparisons that are made of it. It only reads, and
// takes a folder for what a stranger may have sent: sizes are bounded and
// every figure is checked.
package results
