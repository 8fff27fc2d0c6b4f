package habitat

import (
	"fmt"
	"strings"

	"rillwood/habitat/access"
	"rillwood/internal/terminal"
)

// tableRows is how many candidates the summary lists.
const tableRows = 10

// tableColumn is a column of the table of candidates. On a narrow screen those
// of the highest drop go first.
type tableColumn struct {
	head string
	wide int
	left bool
	drop int // 0 = never dropped
	cell func(c *Candidate) string
}

var tableColumns = []tableColumn{
	{head: "rank", wide: 4, cell: func(c *Candidate) string { return fmt.Sprint(c.Rank) }},
	{head: "area ha", wide: 7, drop: 3, cell: func(c *Candidate) string { return fmt.Sprintf("%.1f", c.AreaHa) }},
	{head: "suit.", wide: 5, drop: 5, cell: func(c *Candidate) string { return fmt.Sprintf("%.2f", c.SMean) }},
	{head: "finds", wide: 5, drop: 1, cell: func(c *Candidate) string { return fmt.Sprintf("%.1f", c.Finds) }},
	{head: checkHead, wide: 5, drop: 4, cell: checkCell},
	{head: "access", wide: 7, left: true, cell: func(c *Candidate) string { return c.Access.String() }},
	{head: "walk m", wide: 6, drop: 2, cell: walkCell},
}

const checkHead = "check"

// leastStream is how much of a stream's name is worth a column of its own.
const leastStream = 12

// candidateTable is the head of the shortlist, in lines that fit the screen;
// empty when there is none. Access, which may keep people out, is never left
// out.
func candidateTable(cs []Candidate, on terminal.Screen) string {
	if len(cs) == 0 {
		return ""
	}
	columns := fitting(tableColumns, on.Width()-2-leastStream)
	left := on.Width() - 2
	for _, c := range columns {
		left -= c.wide + 2
	}
	var b strings.Builder
	head := "  "
	for _, c := range columns {
		head += c.set(c.head) + "  "
	}
	fmt.Fprintf(&b, "\n%s\n", on.Paint(terminal.Faint, head+"stream"))
	for i := range cs[:min(tableRows, len(cs))] {
		c := &cs[i]
		b.WriteString("  ")
		for _, col := range columns {
			b.WriteString(on.Paint(styleOf(col, c), col.set(col.cell(c))) + "  ")
		}
		stream := terminal.Plain(c.Stream)
		if terminal.Width(stream) == 0 {
			stream = "no name"
		}
		b.WriteString(terminal.Clip(stream, min(left, 26)) + "\n")
	}
	for _, c := range columns {
		if c.head == checkHead {
			b.WriteString(terminal.Wrap("  ", "check: dead or dying trees to look at, likeliest hosts first, for a 95 % chance of one find (* more than the patch is expected to hold)", on.Width()))
		}
	}
	return b.String()
}

// fitting leaves out columns, those of the highest drop first, until the rest
// takes no more than width.
func fitting(columns []tableColumn, width int) []tableColumn {
	for {
		need, worst := 0, -1
		for i, c := range columns {
			need += c.wide + 2
			if c.drop > 0 && (worst < 0 || c.drop > columns[worst].drop) {
				worst = i
			}
		}
		if need <= width || worst < 0 {
			return columns
		}
		columns = append(append([]tableColumn{}, columns[:worst]...), columns[worst+1:]...)
	}
}

func (c tableColumn) set(text string) string {
	if c.left {
		return terminal.Left(text, c.wide)
	}
	return terminal.Right(text, c.wide)
}

// styleOf marks what is closed; the word says so too.
func styleOf(col tableColumn, c *Candidate) terminal.Style {
	switch {
	case col.head == "rank":
		return terminal.Bold
	case col.head == "access" && c.Access == access.Closed:
		return terminal.Red
	case col.head == "access" && c.Access == access.Private:
		return terminal.Yellow
	}
	return ""
}

func checkCell(c *Candidate) string {
	switch {
	case c.Check95 <= 0:
		return "-"
	case !c.HoldsCheck:
		return fmt.Sprintf("%d*", c.Check95)
	}
	return fmt.Sprint(c.Check95)
}

func walkCell(c *Candidate) string {
	if c.Walk == nil || !c.Walk.OK {
		return "-"
	}
	return fmt.Sprintf("%.0f", c.Walk.DistanceM)
}
