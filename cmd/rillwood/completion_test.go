package main

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/alecthomas/kong"
)

// scriptFor is the completion script of a shell, in a folder with a few files
// to complete.
func scriptFor(t *testing.T, shell string) (dir, script string) {
	t.Helper()
	var b strings.Builder
	c := silent()
	c.out = &b
	if code := c.run([]string{"completion", shell}, nil); code != exitOK {
		t.Fatalf("ends with %d", code)
	}
	dir = t.TempDir()
	for _, f := range []string{"survey.yaml", "other.yml", "trips.csv", "hike.gpx", "notes.txt", "out/run.json", "my county/survey.yaml", "my county/deep/x.txt", "it's/a.yaml"} {
		path := filepath.Join(dir, f)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	script = filepath.Join(t.TempDir(), "script")
	if err := os.WriteFile(script, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	return dir, script
}

// shellIn runs a shell without its user's settings.
func shellIn(t *testing.T, dir string, args ...string) string {
	t.Helper()
	if _, err := exec.LookPath(args[0]); err != nil {
		t.Skipf("%s is not installed: its completion is not tried", args[0])
	}
	ctx, cancel := context.WithTimeout(t.Context(), 60*time.Second)
	defer cancel()
	cmd := exec.CommandContext(ctx, args[0], args[1:]...)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "HOME="+t.TempDir(), "TERM=xterm")
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", args[0], err, out)
	}
	return string(out)
}

// completionCases are words on the command line, the last being written, and
// what is offered; both shells that can be asked without a terminal agree.
var completionCases = []struct {
	words []string
	want  []string
}{
	{[]string{"ma"}, []string{"manual", "map"}},
	{[]string{"record", ""}, []string{"add", "export", "list", "note", "template"}},
	{[]string{"record", "e"}, []string{"export"}},
	{[]string{"map", "s"}, []string{"survey.yaml"}},
	{[]string{"map", ""}, []string{"it's", "my county", "other.yml", "out", "survey.yaml"}},
	{[]string{"map", `my\ county/`}, []string{"my county/deep", "my county/survey.yaml"}},
	{[]string{"map", "--qu"}, []string{"--quiet"}},
	{[]string{"map", "survey.yaml", "--output", "o"}, []string{"out"}},
	{[]string{"map", "survey.yaml", "-o", "o"}, []string{"out"}},
	{[]string{"map", "survey.yaml", "-o", "out", "--me"}, []string{"--memory"}},
	{[]string{"--color", ""}, []string{"always", "auto", "never"}},
	{[]string{"--color", "never", "com"}, []string{"compare", "completion"}},
	{[]string{"compare", "out", "o"}, []string{"out"}},
	{[]string{"record", "add", "out", ""}, []string{"hike.gpx", "it's", "my county", "out", "trips.csv"}},
	{[]string{"record", "add", "out", "trips.csv", "h"}, []string{"hike.gpx"}},
	{[]string{"record", "add", "--dates", "m"}, []string{"mdy"}},
	{[]string{"effort", "--host", "american"}, []string{"american-elm"}},
	{[]string{"effort", "--none", ""}, nil},
	{[]string{"learn", "out", "out", "--profile", "el"}, []string{"elm-bottoms"}},
	{[]string{"completion", ""}, []string{"bash", "fish", "zsh"}},
	{[]string{"help", "exp"}, []string{"export"}},
	{[]string{"map", "survey.yaml", "s"}, nil}, // there is but one survey
}

// What is offered for a path is a folder, a profile, or files of endings that
// some command reads or writes; nothing that takes a path goes without.
func TestEveryPathIsCompleted(t *testing.T) {
	endings := []string{"yaml", "yml", "csv", "tsv", "gpx", "geojson", "json", "gpkg", "shp", "fgb", "tif", "html", "zip", "dly", "gz"}
	app := model()
	for _, n := range commands(app.Node) {
		values := append([]*kong.Value{}, n.Positional...)
		for _, f := range n.Flags {
			values = append(values, f.Value)
		}
		for _, v := range values {
			c := completedBy(app, v)
			for _, e := range c.endings {
				if !slices.Contains(endings, e) {
					t.Errorf("%q, %s: no file ends in .%s", n.Path(), v.Name, e)
				}
			}
			if v.Tag.Type == "path" && c.none() {
				t.Errorf("%q, %s: a path that is not completed", n.Path(), v.Name)
			}
		}
	}
}

// offered is what a shell printed, sorted, folders without their slash.
func offered(out string) []string {
	var got []string
	for line := range strings.Lines(out) {
		if line = strings.TrimSuffix(strings.TrimSuffix(line, "\n"), "/"); line != "" {
			got = append(got, line)
		}
	}
	slices.Sort(got)
	return slices.Compact(got)
}

func TestBashCompletion(t *testing.T) {
	dir, script := scriptFor(t, "bash")
	shellIn(t, dir, "bash", "-n", script)
	run := func(words []string) string {
		line := "source " + quoted(script) + "; COMP_WORDS=(rillwood"
		for _, w := range words {
			line += " " + quoted(w)
		}
		return shellIn(t, dir, "bash", "--norc", "--noprofile", "-u", "-c", line+`); COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); _rillwood; ((${#COMPREPLY[@]})) && printf '%s\n' "${COMPREPLY[@]}"; true`)
	}
	// bash cuts words at "=" (COMP_WORDBREAKS).
	cases := append(completionCases, []struct{ words, want []string }{
		{[]string{"map", "--color", "=", "al"}, []string{"always"}},
		{[]string{"map", "--color", "="}, []string{"always", "auto", "never"}},
		{[]string{"map", "--output", "=", "out", "su"}, []string{"survey.yaml"}},
		{[]string{"map", "'my county/s"}, []string{"my county/survey.yaml"}},
		{[]string{"map", "--", "-"}, nil},
	}...)
	for _, c := range cases {
		if got := offered(run(c.words)); !slices.Equal(got, c.want) {
			t.Errorf("rillwood %q: %q, want %q", c.words, got, c.want)
		}
	}
	if got := shellIn(t, dir, "bash", "--norc", "--noprofile", "-c", "source "+quoted(script)+"; complete -p rillwood"); got != "complete -F _rillwood rillwood\n" {
		t.Errorf("registered as %q", got)
	}
	// Every command and flag there is.
	for _, n := range commands(model().Node) {
		words := strings.Fields(n.Path())
		for _, sub := range n.Children {
			if got := offered(run(append(slices.Clone(words), sub.Name))); !slices.Contains(got, sub.Name) {
				t.Errorf("%q is not offered after %q: %q", sub.Name, words, got)
			}
		}
		got := offered(run(append(slices.Clone(words), "--")))
		own, global := flagsOf(n)
		for _, f := range append(own, global...) {
			if !slices.Contains(got, "--"+f.Name) {
				t.Errorf("--%s is not offered after %q: %q", f.Name, words, got)
			}
		}
	}
}

func TestFishCompletion(t *testing.T) {
	dir, script := scriptFor(t, "fish")
	for _, c := range append(completionCases, []struct{ words, want []string }{
		{[]string{"map", "--color=al"}, []string{"--color=always"}},
		{[]string{"learn", "out", "out", "--profile=my\\ county/"}, []string{"--profile=my county/deep", "--profile=my county/survey.yaml"}},
	}...) {
		line := strings.Join(append([]string{"rillwood"}, c.words...), " ")
		out := shellIn(t, dir, "fish", "--no-config", "-c", "source "+fishQuoted(script)+"; complete -C "+fishQuoted(line)+` | string replace -r '\t.*' ''; true`)
		if got := offered(out); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", line, got, c.want)
		}
	}
}

// zsh completes in an interactive shell of its own only: keys are typed into
// one, and one more key shows what the line has become.
func TestZshCompletion(t *testing.T) {
	dir, script := scriptFor(t, "zsh")
	shellIn(t, dir, "zsh", "-n", script)
	const driver = `
zmodload zsh/zpty
zpty z zsh -f -i
zpty -w z 'show() { zle -I; print -r -- "LINE"":$BUFFER:"; BUFFER=; }; zle -N show; bindkey "^T" show'
zpty -w z 'stty columns 200; autoload -Uz compinit; compinit -D -u; source $SCRIPT; PS1="NOW ""HERE> "'
zpty -r -m z seen '*NOW HERE> *'
while (( $# )); do
    zpty -n -w z "rillwood $1"$'\t\C-t'
    zpty -r -m z seen '*LINE:*:*'
    seen=${seen##*LINE:rillwood }
    print -r -- "${seen%%:*}"
    shift
done
zpty -d z
`
	file := filepath.Join(t.TempDir(), "driver")
	if err := os.WriteFile(file, []byte(driver), 0o644); err != nil {
		t.Fatal(err)
	}
	t.Setenv("SCRIPT", script)
	cases := [][2]string{
		{"comple", "completion "},
		{"map sur", "survey.yaml "},
		{"map --qui", "--quiet "},
		{"record exp", "export "},
		{"record add out hi", "hike.gpx "},
		{"map --color=al", "--color=always "},
		{"map survey.yaml -o o", "out/"},
		{"effort --host american", "american-elm "},
		{"learn out out --profile el", "elm-bottoms "},
		{"learn out out --profile oth", "other.yml "},
		{"map my", `my\ county/`},
	}
	args := []string{"zsh", "-f", file}
	for _, c := range cases {
		args = append(args, c[0])
	}
	lines := strings.Split(shellIn(t, dir, args...), "\n")
	for i, c := range cases {
		if i >= len(lines) || !strings.HasSuffix(" "+strings.TrimRight(lines[i], " "), " "+strings.TrimRight(c[1], " ")) {
			t.Errorf("rillwood %s becomes %q, want it to end in %q", c[0], lines[min(i, len(lines)-1)], c[1])
		}
	}
}
