package main

import (
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"rillwood/habitat"
)

var notInNames = regexp.MustCompile(`[^a-z0-9]+`)

// profileNameOf makes a profile's name of the file it is written to: small
// letters, digits and dashes, beginning with a letter, at most 40. The name of
// a built-in profile is not given again, since a run tells its profile by it.
func profileNameOf(file string) string {
	base := filepath.Base(file)
	name := strings.Trim(notInNames.ReplaceAllString(strings.ToLower(strings.TrimSuffix(base, filepath.Ext(base))), "-"), "-")
	if name == "" {
		name = "learned"
	}
	if name[0] < 'a' || slices.Contains(habitat.ProfileNames(), name) {
		name = "learned-" + name
	}
	return strings.TrimRight(name[:min(len(name), 40)], "-")
}
