package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"rillwood/habitat"
)

func manualText(t *testing.T) string {
	t.Helper()
	var b strings.Builder
	c := silent()
	c.out = &b
	if code := c.run([]string{"manual"}, nil); code != exitOK {
		t.Fatalf("ends with %d", code)
	}
	return b.String()
}

// rendered is the page as man shows it, without the overstriking of bold.
func rendered(t *testing.T, page string) string {
	t.Helper()
	groff, err := exec.LookPath("groff")
	if err != nil {
		t.Skip("groff is not installed: the manual page is not rendered")
	}
	cmd := exec.Command(groff, "-man", "-ww", "-Tutf8", "-P-c", "-P-b", "-P-u", "-P-o", "-rLL=400n", "-rHY=0")
	cmd.Stdin = strings.NewReader(page)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil || stderr.Len() > 0 {
		t.Fatalf("groff -man -ww: %v\n%s", err, stderr.String())
	}
	return string(out)
}

// Every command, argument, option, example, exit code and caution is on the
// page as it is rendered by groff, which finds nothing to warn of.
func TestManualHoldsAll(t *testing.T) {
	page := manualText(t)
	for i, b := range []byte(page) {
		if b > 0x7e || b < ' ' && b != '\n' {
			t.Fatalf("byte %#x at %d is not ASCII", b, i)
		}
	}
	text := strings.Join(strings.Fields(strings.NewReplacer("‐", "-", "−", "-").Replace(rendered(t, page))), " ")
	has := func(what, words string) {
		if !strings.Contains(text, strings.Join(strings.Fields(words), " ")) {
			t.Errorf("%s is not on the page: %q", what, words)
		}
	}
	app := model()
	for _, n := range commands(app.Node) {
		if n.Path() != "" {
			has("a command", strings.TrimPrefix(usage(n), program+" "))
			has("what a command does", n.Help)
		}
		for _, f := range n.Flags {
			if !f.Hidden {
				has("a flag of "+n.Path(), flagName(f)+" "+flagHelp(f))
			}
		}
		for _, a := range n.Positional {
			has("an argument of "+n.Path(), argName(a)+" "+a.Help)
		}
		for _, e := range pages[n.Path()].examples {
			has("an example", e.line+" "+e.does)
		}
	}
	for _, e := range exitCodes {
		has("an exit code", e[0]+" "+e[1])
	}
	for _, e := range environment {
		has("a variable", e[0]+" "+e[1])
	}
	p, err := habitat.LoadProfile(habitat.DefaultProfile)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range habitat.Cautions(p) {
		has("a caution", c.Title+" "+c.Text)
	}
}

// man itself shows it without a warning.
func TestManualByMan(t *testing.T) {
	man, err := exec.LookPath("man")
	if err != nil {
		t.Skip("man is not installed: the manual page is not shown by it")
	}
	file := filepath.Join(t.TempDir(), "rillwood.1")
	if err := os.WriteFile(file, []byte(manualText(t)), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(man, "--warnings", "-l", file)
	cmd.Env = append(os.Environ(), "MANWIDTH=80", "LC_ALL=C.UTF-8", "MANPAGER=cat")
	var out, stderr bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &stderr
	if err := cmd.Run(); err != nil || stderr.Len() > 0 {
		t.Errorf("man --warnings -l: %v\n%s", err, stderr.String())
	}
	if !strings.Contains(out.String(), "RILLWOOD(1)") {
		t.Errorf("no page was shown: %.200q", out.String())
	}
}

func TestRoffEscape(t *testing.T) {
	for _, c := range []struct {
		text  string
		typed bool
		want  string
	}{
		{"--out FILE", true, `\-\-out FILE`},
		{"velvet-stemmed", false, "velvet-stemmed"},
		{`a\b`, false, `a\(rsb`},
		{"it's", true, `it\(aqs`},
		{"~/.zfunc", true, `\(ti/.zfunc`},
		{"95 % — m²", false, `95 % \[u2014] m\[u00B2]`},
	} {
		if got := roffEscape(c.text, c.typed); got != c.want {
			t.Errorf("%q: %q, want %q", c.text, got, c.want)
		}
	}
	m := &roff{}
	m.text(".csv is a table")
	m.text("'quoted'")
	if got := m.String(); got != "\\&.csv is a table\n\\&'quoted'\n" {
		t.Errorf("a line begins as a request: %q", got)
	}
}
