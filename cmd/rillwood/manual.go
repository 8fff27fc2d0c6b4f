package main

import (
	"fmt"
	"strings"

	"github.com/alecthomas/kong"

	"rillwood/habitat"
)

// manualCmd prints the manual page, written from the commands themselves.
type manualCmd struct{}

func (manualCmd) Run(c *console) error {
	p, err := habitat.LoadProfile(habitat.DefaultProfile)
	if err != nil {
		return err
	}
	return c.tell(false, nil, manualPage(newParser(c, func(int) {}).Model, habitat.Cautions(p)))
}

// roff is a page in the macros of man(7).
type roff struct{ strings.Builder }

// manualPage is the whole manual.
func manualPage(app *kong.Application, cautions []habitat.Caution) string {
	m := &roff{}
	m.WriteString(".\\\" Made by: rillwood manual\n")
	m.macro("TH", strings.ToUpper(program), "1", "", program+" "+habitat.Version, "User Commands")
	m.macro("SH", "NAME")
	m.text(program + " - scouting maps for winter foragers")
	m.macro("SH", "SYNOPSIS")
	m.WriteString(".B " + roffWord(program) + "\n.I command\n[\\fIoptions\\fR]\n")
	m.macro("SH", "DESCRIPTION")
	m.text(app.Help)
	m.macro("PP")
	m.text("A run starts from a survey file that names the layers (elevation, streams, land cover and more) and ends in a folder with the map, the shortlist of places, and a record of what went in. " +
		"Nothing is fetched from a network, and no input is changed.")
	m.macro("SH", "COMMANDS")
	_, global := flagsOf(app.Node)
	m.commands(app.Node)
	m.macro("SH", "OPTIONS OF EVERY COMMAND")
	m.flags(global)
	m.macro("SH", "EXIT STATUS")
	for _, e := range exitCodes {
		m.item("\\fB"+roffWord(e[0])+"\\fR", e[1])
	}
	m.macro("SH", "ENVIRONMENT")
	for _, e := range environment {
		m.item("\\fB"+roffWord(e[0])+"\\fR", e[1])
	}
	m.macro("SH", "BEFORE YOU GO")
	for _, c := range cautions {
		m.item("\\fB"+roffWord(c.Title)+"\\fR", c.Text)
	}
	m.macro("SH", "EXAMPLES")
	m.examples(pages[""].examples)
	return m.String()
}

// environment are the variables the program minds.
var environment = [][2]string{
	{"NO_COLOR", "When set to anything, no colours; --color=always overrules it."},
	{"TERM", "When dumb or not set, no colours and no line that is rewritten."},
	{"COLUMNS", "Width of the terminal, where it is not what the terminal says."},
	{"TMPDIR", "Folder for small temporary files. Scratch files of large maps go beside the results, or where --scratch says."},
	{traceVar, "When set to anything, a fault of the program shows where it lies."},
}

// commands writes a section for each command under a node, in their order.
func (m *roff) commands(n *kong.Node) {
	for _, c := range n.Children {
		if c.Hidden {
			continue
		}
		m.macro("SS", strings.TrimPrefix(usage(c), program+" "))
		m.text(c.Help)
		for _, a := range c.Positional {
			m.item("\\fI"+roffWord(argName(a))+"\\fR", a.Help)
		}
		// What a command hands on to those that belong to it is told with it.
		var own []*kong.Flag
		for _, f := range c.Flags {
			if !f.Hidden {
				own = append(own, f)
			}
		}
		m.flags(own)
		p := pages[c.Path()]
		if len(p.examples) > 0 {
			m.macro("PP")
			m.WriteString("Examples:\n")
			m.examples(p.examples)
		}
		if len(p.related) > 0 {
			m.macro("PP")
			m.text("See also: " + strings.Join(p.related, ", ") + ".")
		}
		m.commands(c)
	}
}

func (m *roff) flags(flags []*kong.Flag) {
	for _, f := range flags {
		name, value, _ := strings.Cut(flagName(f), " ")
		tag := "\\fB" + roffWord(name) + "\\fR"
		if f.Short != 0 {
			tag = "\\fB" + roffWord(fmt.Sprintf("-%c", f.Short)) + "\\fR, " + tag
		}
		if value != "" {
			tag += " \\fI" + roffWord(value) + "\\fR"
		}
		m.item(tag, flagHelp(f))
	}
}

func (m *roff) examples(list []example) {
	for _, e := range list {
		m.item("\\fB"+roffWord(e.line)+"\\fR", e.does)
	}
}

// macro writes a request with its arguments.
func (m *roff) macro(name string, args ...string) {
	m.WriteString("." + name)
	for _, a := range args {
		m.WriteString(` "` + strings.ReplaceAll(roffWord(a), `"`, `\(dq`) + `"`)
	}
	m.WriteByte('\n')
}

// item is a tagged paragraph; the tag is roff already.
func (m *roff) item(tag, text string) {
	m.WriteString(".TP\n" + tag + "\n")
	m.text(text)
}

// text writes running text, which never begins a line as a request.
func (m *roff) text(s string) {
	s = roffEscape(s, false)
	if strings.HasPrefix(s, ".") || strings.HasPrefix(s, "'") {
		s = `\&` + s
	}
	m.WriteString(s + "\n")
}

// roffWord is text to be typed as it stands: its hyphens stay what they are.
func roffWord(s string) string { return roffEscape(s, true) }

// roffEscape makes characters stand for themselves (groff_char(7)); those that
// are not ASCII are named by their code, so that the page is ASCII throughout.
func roffEscape(s string, typed bool) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '\\':
			b.WriteString(`\(rs`)
		case r == '-' && typed:
			b.WriteString(`\-`)
		case r == '\'' && typed:
			b.WriteString(`\(aq`)
		case r == '`' && typed:
			b.WriteString(`\(ga`)
		case r == '~' && typed:
			b.WriteString(`\(ti`)
		case r == '^' && typed:
			b.WriteString(`\(ha`)
		case r == '\n':
			b.WriteByte(' ')
		case r > 0x7e:
			fmt.Fprintf(&b, `\[u%04X]`, r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
