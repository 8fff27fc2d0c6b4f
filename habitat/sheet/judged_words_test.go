package sheet_test

import (
	"html"
	"os"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"github.com/google/go-cmp/cmp"

	"rillwood/habitat/results"
)

var (
	tag     = regexp.MustCompile(`<[^>]*>`)
	opening = regexp.MustCompile(`^</?[a-zA-Z][a-zA-Z0-9]*`)
)

// text is what a page says, without its marks.
func text(page string) string {
	return strings.Join(strings.Fields(html.UnescapeString(tag.ReplaceAllString(page, " "))), " ")
}

// rename puts a name wherever a run may carry one.
func rename(run *results.Run, name string) {
	run.Name, run.ID, run.Software, run.Frame.Name, run.Target.Common = name, name, name, name, name
	run.Help.PoisonLine, run.Help.Where = name, name
	for i := range run.Hosts {
		run.Hosts[i].Common, run.Hosts[i].Winter = name, name
	}
	for i := range run.Streams {
		run.Streams[i].Name = name
	}
	for i := range run.Cautions {
		run.Cautions[i].Title, run.Cautions[i].Text = name, name
	}
	for i := range run.Candidates {
		c := &run.Candidates[i]
		c.Stream, c.Land, c.Cover, c.Limiting, c.AccessNote, c.Why, c.Evidence, c.FirstHost, c.Access = name, []string{name}, name, name, name, name, []string{name}, name, name
		if c.Walk != nil {
			c.Walk.Note, c.Walk.Start, c.Walk.StartKind, c.Walk.Cautions = name, name, name, []string{name}
		}
	}
}

// tags is the elements of a page in order. Labels of streams are left out:
// whether one finds room depends on its length; so are marks of the grid, since
// the map is as high as words leave room.
func tags(page string) (out []string) {
	page = regexp.MustCompile(`<path class="tick-[^>]*>|<text class="(east|north)"[^>]*>[^<]*</text>`).ReplaceAllString(page, "")
	page = regexp.MustCompile(`<text [^>]*font-style="italic"[^>]*>[^<]*</text>`).ReplaceAllString(page, "")
	for _, m := range tag.FindAllString(page, -1) {
		out = append(out, opening.FindString(m))
	}
	return out
}

// Names from layers make no element, no attribute and no comment: whatever
// they are, the page is made of the same parts.
func TestHostileNamesMakeNoMarkup(t *testing.T) {
	for _, h := range hostile {
		run, mild := county(t, 500000, 2), county(t, 500000, 2)
		rename(run, h)
		// Letters for all that is not one, so that words break in the same places.
		rename(mild, strings.Map(func(r rune) rune {
			if strings.ContainsRune("<>\"'&{}=;", r) {
				return 'x'
			}
			return r
		}, h))
		for name, make := range map[string]func(*results.Run) string{
			"sheet": func(r *results.Run) string { return strings.Join(pages(t, r, 1, 2), "") },
			"book": func(r *results.Run) string {
				data, err := os.ReadFile(book(t, r, 1, 2))
				if err != nil {
					t.Fatal(err)
				}
				return string(data)
			},
		} {
			got, want := make(run), make(mild)
			if d := cmp.Diff(tags(want), tags(got)); d != "" {
				t.Errorf("%s of %q has other parts:\n%s", name, h, d)
			}
			for _, bad := range []string{"<script", "onerror=alert(2)>", "<iframe", "<!--", "{{"} {
				if strings.Contains(got, bad) && !strings.Contains(html.EscapeString(h), bad) {
					t.Errorf("%s of %q holds %q", name, h, bad)
				}
			}
			if strings.ContainsFunc(got, func(r rune) bool { return r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)) }) {
				t.Errorf("%s of %q holds a character that controls", name, h)
			}
		}
	}
}

// box is what is said in the frame at the top, rest what is said elsewhere.
func box(t *testing.T, page string) (in, rest string) {
	t.Helper()
	from := strings.Index(page, `<div class="deadly">`)
	if from < 0 {
		t.Fatal("no box at the top")
	}
	to := from + strings.Index(page[from:], "</div>")
	return text(page[from:to]), text(page[:from] + page[to:])
}

// Every caution of the short list is on each sheet, whole: what may kill at
// the table in the box at the top, the rest outside it.
func TestEverySheetWarns(t *testing.T) {
	run := county(t, 500000, 4)
	longest(run)
	if len(run.Cautions) < 11 {
		t.Fatalf("only %d cautions", len(run.Cautions))
	}
	for i, page := range pages(t, run, 3, 1, 4, 2) {
		in, rest := box(t, page)
		if !strings.Contains(text(page), "A map says where to look, never what is safe to eat.") {
			t.Errorf("sheet %d lacks the first rule", i+1)
		}
		for _, c := range run.Cautions {
			switch said := strings.Contains(in, c.Text); {
			case c.Key == "lookalike" || c.Key == "print" || c.Key == "poison":
				if !said {
					t.Errorf("sheet %d: the box lacks %s, whole: %q", i+1, c.Key, in)
				}
			case c.Key == "map": // its second sentence may stand anywhere
				for s := range strings.SplitSeq(strings.TrimSuffix(c.Text, "."), ". ") {
					if !strings.Contains(text(page), s) {
						t.Errorf("sheet %d lacks %q", i+1, s)
					}
				}
			case c.Short && !strings.Contains(rest, c.Title) || c.Short && !strings.Contains(rest, c.Text):
				t.Errorf("sheet %d lacks the caution %q", i+1, c.Key)
			}
		}
		for _, want := range []string{run.Help.PoisonLine, run.Help.Emergency} {
			if want == "" || !strings.Contains(in, want) {
				t.Errorf("sheet %d: the box lacks %q", i+1, want)
			}
		}
	}
	data, err := os.ReadFile(book(t, run, 1))
	if err != nil {
		t.Fatal(err)
	}
	first, _, _ := strings.Cut(string(data), `class="fieldsheet`)
	for _, c := range run.Cautions {
		if !strings.Contains(text(first), c.Text) {
			t.Errorf("the first page lacks the caution %q", c.Key)
		}
	}
}

// Who may enter is said in words on each sheet, in capitals unless it is open.
func TestSheetSaysWhoMayEnter(t *testing.T) {
	run := county(t, 500000, 1)
	for access, want := range map[string]string{"open": "Open ground", "permit": "PERMIT OR REGISTRATION NEEDED", "private": "ASK THE OWNER FIRST", "closed": "DO NOT ENTER", "unknown": "ASK FIRST", "": "ASK FIRST", "free for all": "ASK FIRST"} {
		run.Candidates[0].Access = access
		if page := text(pages(t, run, 1)[0]); !strings.Contains(page, want) {
			t.Errorf("access %q: the sheet lacks %q", access, want)
		}
	}
}

// A sheet is small, and the same run gives the same bytes.
func TestSheetsAreSmallAndTheSame(t *testing.T) {
	run := county(t, 500000, 4)
	plain := pages(t, run, 1, 2)
	longest(run)
	long := pages(t, run, 1, 2, 3, 4)
	for i, p := range append(plain, long...) {
		if len(p) > 60_000 {
			t.Errorf("sheet %d has %d bytes", i+1, len(p))
		}
	}
	for range 2 {
		if again := pages(t, run, 1, 2, 3, 4); cmp.Diff(long, again) != "" {
			t.Error("the same run gives other sheets")
		}
	}
	a, err := os.ReadFile(book(t, run, 2, 1))
	if err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(book(t, run, 2, 1))
	if err != nil {
		t.Fatal(err)
	}
	if string(a) != string(b) {
		t.Error("the same run gives another book")
	}
}
