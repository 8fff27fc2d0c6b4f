// Package terminal fits text to a terminal: how many columns it takes, how it is
// cut, padded and broken into lines, what of it may reach a terminal at all,
// and how it is coloured. It knows nothing of what the text says.
package terminal

import (
	"os"
	"strconv"

	"golang.org/x/term"
)

// Standard is the width of text that is for no terminal of known width, and
// the widest that text is ever set: longer lines are hard to read.
const Standard = 80

// narrowest is the least width text is set in; below it lines run over.
const narrowest = 20

// Screen is what a text is shown on. The zero Screen is plain and of the
// standard width.
type Screen struct {
	Columns int  // 0 = Standard
	Colour  bool // whether styles are used; they never carry anything alone
}

// Width is the number of columns to set text in: 20 to 80.
func (s Screen) Width() int {
	if s.Columns <= 0 {
		return Standard
	}
	return max(narrowest, min(s.Columns, Standard))
}

// Columns tells how wide the terminal is that a file is. COLUMNS in the
// environment goes first, as POSIX has it (Base Definitions, 8.3); a file that
// is no terminal, or one of unknown width, has the standard width.
func Columns(f *os.File) int {
	if n, err := strconv.Atoi(os.Getenv("COLUMNS")); err == nil && n > 0 {
		return n
	}
	if n, _, err := term.GetSize(int(f.Fd())); err == nil && n > 0 {
		return n
	}
	return Standard
}

// IsTerminal tells whether a file is a terminal.
func IsTerminal(f *os.File) bool { return term.IsTerminal(int(f.Fd())) }
