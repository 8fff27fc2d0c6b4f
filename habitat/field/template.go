package field

import (
	"fmt"
	"strings"
)

// columnHelp explains Columns, in their order.
var columnHelp = []string{
	"day of the visit, as 2026-01-31",
	"a name for the place, the same in all rows of one place and day",
	"longitude in degrees, WGS 84; west is negative",
	"latitude in degrees",
	"how good the position is, in metres; empty = not known",
	"id of the map the candidate is of; --run fills it in",
	"rank of the candidate in the shortlist; with --run it stands for lon and lat",
	"which tree: common, scientific or kin name; none = no host tree of any kind here",
	"alive, dying, dead-standing or fallen; empty = not told",
	"trees looked at; 0 with a host = looked for, none of this host here",
	"of these, trees with finds (trees, not clusters)",
	"minutes at the stop, in one of its rows",
	"who looked; initials will do",
	"spore print made: yes = it is the one, no = it is not; empty = not made yet",
	"anything else",
}

// examples are rows in the invented county.
var examples = [][]string{
	{"2025-11-22", "example-1", "-87.02125", "43.31840", "8", "", "", "American elm", "dead-standing", "12", "1", "25", "AB", "yes", "below the second bend"},
	{"2025-11-22", "example-1", "-87.02125", "43.31840", "8", "", "", "eastern cottonwood", "fallen", "4", "0", "", "AB", "", ""},
	{"2025-11-22", "example-2", "-87.01530", "43.32215", "12", "", "", "elm", "", "0", "0", "10", "AB", "", "looked for, no elm here"},
	{"2025-11-23", "example-3", "-86.99410", "43.33060", "", "", "", "none", "", "0", "0", "15", "AB", "", "pines only"},
}

// Template is a table to fill in: what the columns mean, their names, and
// examples, which are never taken into a store.
func Template() []byte {
	var b strings.Builder
	b.WriteString("# Field records: one row for each host tree kind at each stop. Rows without a find matter as much as finds.\n")
	b.WriteString("# Only what is written counts: that a host is absent is told by a row of it with 0 inspected.\n")
	b.WriteString("# Confirm finds by a spore print and an expert. " + SafetyLine + "\n")
	b.WriteString("# The columns may stand in any order; those that say empty may be left out. Lines above the names that begin\n")
	b.WriteString("# with # are remarks. Rows whose stop begins with example- are not taken.\n")
	for i, c := range Columns {
		fmt.Fprintf(&b, "#   %-10s  %s\n", c, columnHelp[i])
	}
	b.WriteString(csvLine(Columns))
	for _, e := range examples {
		b.WriteString(csvLine(e))
	}
	return []byte(strings.ReplaceAll(b.String(), "\r\n", "\n"))
}
