// Package report makes one offline page of a finished run: a map with its
// layers, the candidates as a list tied to it, field sheets to print, figures,
// cautions, and what the run was made from. The page is a single file that
// opens from disk, asks nothing of any network (its own security policy
// forbids it), and runs no code but its own.
//
// Text from layers and records reaches the page only as JSON data that its
// scripts set as text, or through html/template.
package report
