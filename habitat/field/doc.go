// Package field keeps what was found, and not found, on the ground: rows of
// host trees inspected at stops, read from tables, point layers and phone
// notes, checked, and kept in a store that only grows.
//
// It knows nothing of profiles or maps; the host vocabulary and the map's
// bounds are handed in.
package field

// SafetyLine goes with everything that leaves.
const SafetyLine = "A map says where to look, never what is safe to eat."
