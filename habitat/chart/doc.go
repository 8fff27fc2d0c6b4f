// Package chart draws the small figures of the pages as SVG 1.1: own code, no
// scripts, no fonts of its own. Every figure carries its message in words for
// those who cannot see it, tells things apart by more than colour, and takes
// its colours from CSS variables of the page, with fallbacks.
package chart
