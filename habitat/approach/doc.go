// Package approach works out how to come to a patch on foot: from a lawful
// parking place along paths and roads, then straight to the patch's edge, round
// open water and closed ground. Paths are walked as far as they are dry and open;
// roads are taken to be public ways with bridges. Everything is in one projected CRS, metres.
//
// A walk is chosen by its effort, in metres of path: the way along the network,
// a straight leg weighed by Options.StraightFactor, and Options.CrossingM for each
// mapped stream crossed without a mapped bridge. What it reports is real metres.
//
// Paths and roads become a network (noding.go, cuts.go), all starts are followed
// through it at once (Dijkstra 1959, distance.go), and each patch searches a tree
// of boxes that knows the least effort inside each box (tree.go, choose.go).
//
// A walk is a drawing on mapped data. It says nothing of locked gates, of a
// stream's depth or of ice; Walk.Cautions has the words to show beside it.
package approach
