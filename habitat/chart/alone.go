package chart

import (
	"fmt"
	"html/template"
	"regexp"
	"strings"
)

// variable is a colour that the page may set. Quotes never stand in text, so
// only attributes match.
var variable = regexp.MustCompile(`"var\(--[a-z]+,(#[0-9a-f]{6})\)"`)

// Alone makes of a figure a file of its own: SVG 1.1 on white paper, colours
// written out for readers that know no CSS variables, without the table.
func Alone(figure template.HTML) []byte {
	svg, _, _ := strings.Cut(string(figure), "</svg>")
	svg = variable.ReplaceAllString(svg, `"$1"`)
	head, marks, _ := strings.Cut(svg, "</desc>")
	var w, h float64
	_, box, _ := strings.Cut(head, `viewBox="`)
	fmt.Sscanf(box, "0 0 %f %f", &w, &h)
	head = strings.Replace(head, `viewBox="`, fmt.Sprintf(`width="%s" height="%s" viewBox="`, at(1.5*w), at(1.5*h)), 1)
	return []byte(head + "</desc>\n" + `<rect width="100%" height="100%" fill="#ffffff"/>` + marks + "</svg>\n")
}
