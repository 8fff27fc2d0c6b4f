package evidence

import (
	"embed"
	"fmt"
	"slices"
	"strings"
)

//go:embed data/*.csv
var builtinFiles embed.FS

// BuiltinNames lists the tables that come with the program: soil surveys,
// flood-hazard zones, and any polygon that says "inside".
func BuiltinNames() []string { return []string{"soils", "flood-zones", "inside"} }

// Builtin gives a table that comes with the program, and its CSV text as a
// start for one's own.
func Builtin(name string) (*Table, []byte, error) {
	if !slices.Contains(BuiltinNames(), name) {
		return nil, nil, fmt.Errorf("no evidence table %q; there are %s, or name a CSV file", short(name), strings.Join(BuiltinNames(), ", "))
	}
	text, err := builtinFiles.ReadFile("data/" + name + ".csv")
	if err != nil {
		return nil, nil, fmt.Errorf("evidence table %q: %w", name, err)
	}
	t, err := ParseTable(name, text)
	return t, text, err
}
