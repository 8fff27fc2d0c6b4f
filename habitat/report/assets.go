package report

import (
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"fmt"
	"regexp"
	"strings"

	"rillwood/habitat/picture"
)

//go:embed assets/page.html assets/*.css assets/*.js assets/leaflet/leaflet.js assets/leaflet/LICENSE assets/leaflet/leaflet.css
var assets embed.FS

func asset(name string) string {
	data, err := assets.ReadFile("assets/" + name)
	if err != nil {
		panic(err) // it is compiled in
	}
	return string(data)
}

// The page's scripts, in the order in which they run: each a file of one idea.
var scripts = []string{"leaflet/leaflet.js", "page.js", "records.js", "trip.js", "map.js", "reading.js", "list.js", "detail.js", "print.js", "start.js"}

// leafletImages are pictures that the library's style names and this page never shows.
var leafletImages = regexp.MustCompile(`url\([^)]*\)`)

// styles is all style but that of the sheets.
func styles() string {
	library := strings.ReplaceAll(asset("leaflet/leaflet.css"), "\r\n", "\n") // browsers hash it so
	return leafletImages.ReplaceAllString(library, "none") + "\n" + asset("page.css") + "\n" + rampStyle() + asset("print.css") + "\n"
}

// rampStyle gives the swatches of the legend the colours of the ramp.
func rampStyle() string {
	var b strings.Builder
	for i, s := range picture.Ramp() {
		fmt.Fprintf(&b, ".ramp span:nth-child(%d) { background: rgb(%d %d %d / %.2f); }\n", i+1, s.Color.R, s.Color.G, s.Color.B, float64(s.Color.A)/255)
	}
	return b.String()
}

// sourceMap would make a browser's tools look for a file that is not there.
var sourceMap = regexp.MustCompile(`(?m)^//# sourceMappingURL=.*$`)

// script is all scripts as one text.
func script() string {
	var all []string
	for _, name := range scripts {
		all = append(all, sourceMap.ReplaceAllString(asset(name), ""))
	}
	return strings.Join(all, "\n")
}

// policy lets the page run the one script and wear the one style it holds, show
// pictures it holds, and nothing else (Content Security Policy Level 3, hash
// sources).
func policy(script, style string) string {
	return "default-src 'none'; img-src data:; style-src " + hashOf(style) + "; script-src " + hashOf(script) + "; base-uri 'none'; form-action 'none'"
}

func hashOf(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}
