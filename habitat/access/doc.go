// Package access says on whose leave ground may be entered and from which
// ground a map keeps its patches away.
//
// Ownership is not permission to collect, and neither is access: the labels
// say so. Where sources differ the most cautious one is believed, and ground
// that nothing is known of is never called open.
package access
