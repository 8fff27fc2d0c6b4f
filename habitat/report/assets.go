package report

import (
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"regexp"
	"strings"
)

//go:embed assets/page.html assets/*.css assets/*.js assets/leaflet/leaflet.js assets/leaflet/leaflet.css
var assets embed.FS

func asset(name string) string {
	data, err := assets.ReadFile("assets/" + name)
	if err != nil {
		panic(err) // it is compiled in
	}
	return string(data)
}

// The page's scripts, in the order in which they run: each a file of one idea.
var scripts = []string{"leaflet/leaflet.js", "page.js", "map.js", "list.js", "detail.js", "print.js", "start.js"}

// leafletImages are pictures that the library's style names and this page never shows.
var leafletImages = regexp.MustCompile(`url\([^)]*\)`)

func styles() string {
	return leafletImages.ReplaceAllString(asset("leaflet/leaflet.css"), "none") + "\n" + asset("page.css") + "\n" + asset("print.css")
}

// sourceMap would make a browser's tools look for a file that is not there.
var sourceMap = regexp.MustCompile(`(?m)^//# sourceMappingURL=.*$`)

// script is all scripts as one text, and its hash for the security policy
// (Content Security Policy Level 3, hash sources).
func script() (text, hash string) {
	var all []string
	for _, name := range scripts {
		all = append(all, sourceMap.ReplaceAllString(asset(name), ""))
	}
	text = strings.Join(all, "\n")
	sum := sha256.Sum256([]byte(text))
	return text, "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}
