package chart

import (
	"html/template"
	"strings"
)

// table is the numbers of a figure: heads, then rows of as many cells, the
// first of them the name of its row.
type table struct {
	heads []string
	rows  [][]string
}

// html folds the table away below its figure; nothing when it has no rows. It
// scrolls by itself where the screen is narrow, by keys as well.
func (t table) html(title string) template.HTML {
	if len(t.rows) == 0 {
		return ""
	}
	var s strings.Builder
	s.WriteString(`<details class="numbers"><summary>The numbers as a table</summary><div class="scroll" role="region" tabindex="0" aria-label="` + escaped("Numbers: "+title) + `"><table><thead><tr>`)
	for i, h := range t.heads {
		s.WriteString(`<th scope="col"` + words(i) + `>` + escaped(h) + `</th>`)
	}
	s.WriteString("</tr></thead><tbody>\n")
	for _, row := range t.rows {
		s.WriteString("<tr>")
		for i, cell := range row {
			if i == 0 {
				s.WriteString(`<th scope="row"` + words(i) + `>` + escaped(cell) + `</th>`)
				continue
			}
			s.WriteString(`<td>` + escaped(cell) + `</td>`)
		}
		s.WriteString("</tr>\n")
	}
	s.WriteString("</tbody></table></div></details>\n")
	return template.HTML(s.String())
}

// words marks the column that holds words, which pages set to the left.
func words(column int) string {
	if column == 0 {
		return ` class="words"`
	}
	return ""
}
