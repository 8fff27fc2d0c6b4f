package terminal

import "strings"

// Wrap sets a text behind a label in lines of at most columns, those after the
// first indented under it, each with its line end. Blanks between words become
// single; a word that is too long stands alone and runs over.
func Wrap(label, text string, columns int) string {
	var b strings.Builder
	indent := Width(label)
	col := indent
	b.WriteString(label)
	for i, word := range strings.Fields(text) {
		n := Width(word)
		if i > 0 && col+1+n > columns {
			b.WriteString("\n" + strings.Repeat(" ", indent))
			col = indent
		} else if i > 0 {
			b.WriteByte(' ')
			col++
		}
		b.WriteString(word)
		col += n
	}
	b.WriteByte('\n')
	return b.String()
}
