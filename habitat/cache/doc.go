// Package cache keeps what stages of a run have worked out, by the content of
// all that went into them: the same inputs, settings and program find it
// again, anything else does not. Files are written beside their place, carry a
// checksum, and are thrown away when it does not fit; losing any of them
// costs time alone.
package cache
