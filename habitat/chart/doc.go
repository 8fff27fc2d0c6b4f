// Package chart draws the small figures of the pages as SVG 1.1: own code, no
// scripts, no fonts of its own. Every figure carries its message in words for
// those who cannot see it and its numbers in a table folded away below it,
// tells things apart by more than colour, keeps legible on a phone, and takes
// its colours from CSS variables of the page (--ink, --faint, --rule, --mark,
// --past), with fallbacks.
package chart
