package main

import (
	"context"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/alecthomas/kong"

	"rillwood/internal/terminal"
)

// model is the program's commands.
func model() *kong.Application { return newParser(silent(), func(int) {}).Model }

// silent is a console that speaks to nobody.
func silent() *console {
	return &console{ctx: context.Background(), out: io.Discard, err: io.Discard}
}

// commands are all commands with their own commands, the program itself first.
func commands(n *kong.Node) []*kong.Node {
	out := []*kong.Node{n}
	for _, c := range n.Children {
		if !c.Hidden {
			out = append(out, commands(c)...)
		}
	}
	return out
}

// helpOf is the help of a command on a screen.
func helpOf(t *testing.T, on terminal.Screen, args ...string) string {
	t.Helper()
	var b strings.Builder
	c := silent()
	c.out, c.outScreen = &b, on
	if code := c.run(append(args, "--help"), nil); code != exitOK {
		t.Fatalf("%q ends with %d", args, code)
	}
	return b.String()
}

// Each command has two to four examples that the program understands, and its
// neighbours are commands.
func TestEveryCommandHasItsPage(t *testing.T) {
	paths := map[string]bool{}
	for _, n := range commands(model().Node) {
		paths[n.Path()] = true
		p := pages[n.Path()]
		if len(p.examples) < 2 || len(p.examples) > 4 {
			t.Errorf("%q has %d examples, want 2 to 4", n.Path(), len(p.examples))
		}
		if n.Path() != "" && len(p.related) == 0 {
			t.Errorf("%q names no related command", n.Path())
		}
		for _, e := range p.examples {
			line, _, _ := strings.Cut(e.line, " > ")
			line, _, _ = strings.Cut(line, " | ")
			words := strings.Fields(line)
			k, err := newParser(silent(), func(int) {}).Parse(words[1:])
			if words[0] != program || err != nil {
				t.Errorf("the example %q of %q is not understood: %v", e.line, n.Path(), err)
				continue
			}
			if got := k.Selected().Path(); n.Path() != "" && !strings.HasPrefix(got, n.Path()) {
				t.Errorf("the example %q of %q is of %q", e.line, n.Path(), got)
			}
			if !strings.HasSuffix(e.does, ".") && !strings.Contains(e.does, ": ") {
				t.Errorf("what %q does is no sentence: %q", e.line, e.does)
			}
		}
	}
	for path, p := range pages {
		if !paths[path] {
			t.Errorf("there is a page for %q, which is no command", path)
		}
		for _, r := range p.related {
			if !paths[r] {
				t.Errorf("%q is said to be related to %q, which is no command", path, r)
			}
		}
	}
}

// The help names all there is, fits the screen, and is the same in colour.
func TestHelpOfEveryCommand(t *testing.T) {
	for _, n := range commands(model().Node) {
		args := strings.Fields(n.Path())
		plain := helpOf(t, terminal.Screen{}, args...)
		words := strings.Join(strings.Fields(plain), " ")
		own, global := flagsOf(n)
		for _, f := range append(own, global...) {
			if !strings.Contains(plain, " --"+f.Name) || !strings.Contains(words, strings.Join(strings.Fields(f.Help), " ")[:min(len(f.Help), 20)]) {
				t.Errorf("%q does not explain --%s", n.Path(), f.Name)
			}
		}
		for _, e := range pages[n.Path()].examples {
			if !strings.Contains(plain, e.line) {
				t.Errorf("%q does not show %q", n.Path(), e.line)
			}
		}
		for _, columns := range []int{40, 80} {
			text := helpOf(t, terminal.Screen{Columns: columns}, args...)
			for line := range strings.Lines(text) {
				if line = strings.TrimSuffix(line, "\n"); terminal.Width(line) > columns && !strings.HasPrefix(strings.TrimSpace(line), program) {
					t.Errorf("%q in %d columns: %q", n.Path(), columns, line)
				}
			}
		}
		coloured := helpOf(t, terminal.Screen{Colour: true}, args...)
		for _, s := range []string{"\x1b[1m", "\x1b[36m", "\x1b[0m"} {
			coloured = strings.ReplaceAll(coloured, s, "")
		}
		if coloured != plain {
			t.Errorf("colour changes more than the colour in the help of %q", n.Path())
		}
		asked := &strings.Builder{}
		c := silent()
		c.out = asked
		if code := c.run(append([]string{"help"}, args...), nil); code != exitOK || asked.String() != plain {
			t.Errorf("help %s says something else than %s --help", n.Path(), n.Path())
		}
	}
}

// Whatever prints something prints it as JSON too, but for what is a document
// of its own, and json.txtar looks at it.
func TestEveryCommandSpeaksJSON(t *testing.T) {
	documents := []string{"help", "manual", "completion"}
	script, err := os.ReadFile("testdata/script/json.txtar")
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range model().Leaves(true) {
		has := slices.ContainsFunc(n.Flags, func(f *kong.Flag) bool { return f.Name == "json" })
		if has == slices.Contains(documents, n.Path()) {
			t.Errorf("%q: --json is there: %v", n.Path(), has)
		}
		tried := regexp.MustCompile(`(?m)^exec rillwood ` + n.Path() + ` (.* )?--json\b.*\njson$`)
		if has && !tried.Match(script) {
			t.Errorf("%q: its JSON is not looked at by json.txtar", n.Path())
		}
	}
}
