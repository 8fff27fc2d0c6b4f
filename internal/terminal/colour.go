package terminal

import (
	"fmt"
	"os"
)

// Style is a way of writing, as the attributes of ECMA-48 (SGR), "" = plain.
// The colours are those of the terminal's own palette, so that they fit a
// light ground as well as a dark one.
type Style string

// Styles.
const (
	Bold   Style = "1"
	Faint  Style = "2"
	Red    Style = "31"
	Yellow Style = "33"
	Cyan   Style = "36"
)

// Paint writes text in a style where the screen has colour. It does not change
// how many columns the text takes.
func (s Screen) Paint(style Style, text string) string {
	if !s.Colour || style == "" || text == "" {
		return text
	}
	return "\x1b[" + string(style) + "m" + text + "\x1b[0m"
}

// Colours decides on colour by what was asked for: "always", "never", or
// "auto", which takes colour on a terminal that can show it unless NO_COLOR is
// set to anything but nothing (the convention of no-color.org).
func Colours(mode string, terminal bool) (bool, error) {
	switch mode {
	case "always":
		return true, nil
	case "never":
		return false, nil
	case "auto", "":
		return terminal && os.Getenv("NO_COLOR") == "" && !Dumb(), nil
	}
	return false, fmt.Errorf("%q is no way to colour; want auto, never or always", mode)
}

// Dumb tells whether the terminal can only show one line after another.
func Dumb() bool {
	t := os.Getenv("TERM")
	return t == "dumb" || t == ""
}
