package habitat

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rillwood/habitat/access"
	"rillwood/habitat/approach"
	"rillwood/internal/terminal"
)

// hostile text: colours, cursor movements, a title, a line end, direction marks.
const hostile = "\x1b[31mred\x1b]0;title\x07\r\n\u202eback\u2066\u0000"

func tableCandidates() []Candidate {
	return []Candidate{
		{Rank: 1, AreaHa: 9.94, SMean: 0.83, Finds: 12.34, Check95: 39, HoldsCheck: true, Access: access.Open, Stream: "Otter Fork", Walk: &approach.Walk{OK: true, DistanceM: 1234}},
		{Rank: 2, AreaHa: 1.06, SMean: 0.61, Finds: 0.4, Check95: 386, Access: access.Private, Stream: "北の川のとても長い名前でここには入りきらない"},
		{Rank: 3, AreaHa: 3, SMean: 0.7, Finds: 2, Access: access.Closed, Stream: hostile},
		{Rank: 100, AreaHa: 11.96, SMean: 0.7, Finds: 2, Access: access.Unknown, Stream: strings.Repeat("e\u0301", 60)},
		{Rank: 5, Access: access.Permit},
	}
}

func TestCandidateTable(t *testing.T) {
	const at80 = `
  rank  area ha  suit.  finds  check  access   walk m  stream
     1      9.9   0.83   12.3     39  open       1234  Otter Fork
     2      1.1   0.61    0.4   386*  private       -  北の川のとても長い名前で…
     3      3.0   0.70    2.0      -  closed        -  [31mred]0;title back
   100     12.0   0.70    2.0      -  unknown       -  `
	text := candidateTable(tableCandidates(), terminal.Screen{})
	if !strings.HasPrefix(text, at80) {
		t.Errorf("got\n%s\nwant it to begin\n%s", text, at80)
	}
	const at40 = `
  rank  finds  access   stream
     1   12.3  open     Otter Fork
     2    0.4  private  北の川のとても…
     3    2.0  closed   [31mred]0;title…
   100    2.0  unknown  ` + "e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301…" + `
     5    0.0  permit   no name
`
	if text := candidateTable(tableCandidates(), terminal.Screen{Columns: 40}); text != at40 {
		t.Errorf("in 40 columns got\n%s\nwant\n%s", text, at40)
	}
	if text := candidateTable(nil, terminal.Screen{}); text != "" {
		t.Errorf("a table of nothing: %q", text)
	}
}

// Whatever the names, lines fit, rows stand one under the other, and nothing
// but our own colours steers the terminal.
func TestCandidateTableFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cs := tableCandidates()
		for i := range cs {
			cs[i].Stream = rapid.String().Draw(t, "stream")
		}
		on := terminal.Screen{Columns: rapid.IntRange(34, 200).Draw(t, "columns")}
		text := candidateTable(cs, on)
		coloured := candidateTable(cs, terminal.Screen{Columns: on.Columns, Colour: true})
		if bare := stripStyles(coloured); bare != text {
			t.Fatalf("colour changes more than the colour:\n%s\n%s", bare, text)
		}
		lines := strings.Split(text, "\n")
		at := terminal.Width(lines[1][:strings.Index(lines[1], "stream")])
		for i, line := range lines {
			if n := terminal.Width(line); n > on.Width() {
				t.Errorf("%d columns of %d: %q", n, on.Width(), line)
			}
			for _, r := range line {
				if r < ' ' || r == 0x7f {
					t.Errorf("control character %q in %q", r, line)
				}
			}
			if i >= 2 && i < 2+len(cs) && (terminal.Width(line) <= at || !strings.HasPrefix(dropColumns(line, at-2), "  ")) {
				t.Errorf("no stream at column %d: %q", at, line)
			}
		}
		if !strings.Contains(lines[1], "access") {
			t.Errorf("who may enter was left out: %q", lines[1])
		}
	})
}

// dropColumns is what follows the first n columns; they are ASCII here.
func dropColumns(line string, n int) string { return line[n:] }

// stripStyles takes out what Paint puts in.
func stripStyles(s string) string {
	for _, style := range []terminal.Style{"0", terminal.Bold, terminal.Faint, terminal.Red, terminal.Yellow, terminal.Cyan} {
		s = strings.ReplaceAll(s, "\x1b["+string(style)+"m", "")
	}
	return s
}

// The whole closing text on a narrow screen, with and without colour.
func TestTextOnScreens(t *testing.T) {
	p, err := LoadProfile(DefaultProfile)
	if err != nil {
		t.Fatal(err)
	}
	r := &Result{Folder: "/somewhere/a  folder with a name of more columns than there are/out", Profile: p, Shortlist: &Shortlist{Candidates: tableCandidates()}, Preview: true, Report: true,
		Summary: Summary{Name: hostile, LandCover: "legend " + hostile, Streams: "mapped", Warnings: []string{"a word of caution " + hostile}, KeptOut: []string{hostile}}}
	for _, columns := range []int{40, 80, 0, 200} {
		on := terminal.Screen{Columns: columns}
		text := r.TextOn(on)
		for line := range strings.Lines(text) {
			line = strings.TrimSuffix(line, "\n")
			if terminal.Width(line) > on.Width() && !strings.HasPrefix(line, "Results are in ") {
				t.Errorf("%d columns of %d: %q", terminal.Width(line), on.Width(), line)
			}
			if terminal.Plain(line) != strings.Join(strings.Fields(line), " ") {
				t.Errorf("not plain: %q", line)
			}
		}
		words := strings.Join(strings.Fields(text), " ")
		for _, c := range ShortCautions(p) {
			if !strings.Contains(words, c.Title+": "+c.Text) {
				t.Errorf("in %d columns the caution %q is missing or changed", columns, c.Key)
			}
		}
		if !strings.Contains(text, "Results are in "+r.Folder+":") {
			t.Errorf("the folder cannot be copied from:\n%s", text)
		}
		if !strings.HasSuffix(words, "report.html (open it in a browser), preview.png, shortlist.geojson, suitability.tif") {
			t.Errorf("the report is not named first:\n%s", text)
		}
		on.Colour = true
		coloured := r.TextOn(on)
		if stripStyles(coloured) != text {
			t.Errorf("colour changes more than the colour")
		}
		if coloured == text {
			t.Errorf("no colour where it was asked for")
		}
	}
	r.Report, r.Folder = false, "out"
	if text := r.Text(); !strings.HasSuffix(text, "\nResults are in out: preview.png, shortlist.geojson, suitability.tif\n") {
		t.Errorf("the last line of:\n%s", text)
	}
}
