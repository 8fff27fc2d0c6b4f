package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/alecthomas/kong"

	"rillwood/internal/terminal"
)

// helpCmd is --help of a command in another order of words.
type helpCmd struct {
	Command []string `arg:"" optional:"" help:"Command to explain, such as map or record add; all in short unless named." complete:"command"`
}

// usageError is a command line that was not understood.
type usageError struct{ error }

func (h *helpCmd) Run(c *console) error {
	exit := -1
	_, err := newParser(c, func(code int) { exit = code }).Parse(append(h.Command, "--help"))
	if exit >= 0 {
		return nil
	}
	return usageError{err}
}

// helpPage is the help of a command being written.
type helpPage struct {
	strings.Builder
	on terminal.Screen
}

// printHelp writes the help of the command that was asked for, or of the whole.
func (c *console) printHelp(_ kong.HelpOptions, ctx *kong.Context) error {
	node := ctx.Selected()
	if node == nil {
		node = ctx.Model.Node
	}
	h := &helpPage{on: c.outScreen}
	h.node(node)
	_, err := io.WriteString(c.out, h.String())
	return err
}

func (h *helpPage) node(n *kong.Node) {
	_, line, _ := strings.Cut(terminal.Wrap("Usage: ", usage(n), h.on.Width()), ":")
	h.WriteString(h.on.Paint(terminal.Bold, "Usage:") + line)
	h.WriteByte('\n')
	h.text("", n.Help)
	if len(n.Positional) > 0 {
		h.title("Arguments")
		var rows [][2]string
		for _, a := range n.Positional {
			rows = append(rows, [2]string{argName(a), a.Help})
		}
		h.rows(rows)
	}
	if leaves := n.Leaves(true); len(leaves) > 0 {
		h.title("Commands")
		var rows [][2]string
		for _, l := range leaves {
			rows = append(rows, [2]string{l.Path(), l.Help})
		}
		h.rows(rows)
	}
	own, global := flagsOf(n)
	if len(own) > 0 {
		h.title("Options")
		h.rows(flagRows(own))
	}
	h.title("Options of every command")
	h.rows(flagRows(global))
	p := pages[n.Path()]
	if len(p.examples) > 0 {
		h.title("Examples")
		for _, e := range p.examples {
			h.WriteString("  " + h.on.Paint(terminal.Cyan, e.line) + "\n")
			h.text("      ", e.does)
		}
	}
	if n.Type == kong.ApplicationNode {
		h.title("Exit codes")
		h.rows(exitCodes)
		h.WriteByte('\n')
		h.text("", "More on a command, with examples: "+program+" help COMMAND. The whole as a manual page: "+program+" manual.")
	}
	if len(p.related) > 0 {
		h.WriteByte('\n')
		h.text("See also: ", program+" "+strings.Join(p.related, ", "+program+" "))
	}
}

func (h *helpPage) title(text string) {
	h.WriteString("\n" + h.on.Paint(terminal.Bold, text) + "\n")
}

func (h *helpPage) text(label, text string) {
	h.WriteString(terminal.Wrap(label, text, h.on.Width()))
}

// rows writes two columns; what is too long on the left stands on a line of
// its own.
func (h *helpPage) rows(rows [][2]string) {
	if h.on.Width() < 60 {
		for _, r := range rows { // one under the other
			h.WriteString("  " + strings.TrimSpace(r[0]) + "\n")
			h.text("      ", r[1])
		}
		return
	}
	left := 0
	most := h.on.Width() * 2 / 5
	for _, r := range rows {
		if n := terminal.Width(r[0]); n <= most {
			left = max(left, n)
		}
	}
	for _, r := range rows {
		if terminal.Width(r[0]) > left {
			h.WriteString("  " + r[0] + "\n")
			r[0] = ""
		}
		h.text("  "+terminal.Left(r[0], left)+"  ", r[1])
	}
}

// usage is a command in one line, as it is called.
func usage(n *kong.Node) string {
	line := strings.TrimSpace(program + " " + n.Path())
	for _, a := range n.Positional {
		line += " " + argName(a)
	}
	own, _ := flagsOf(n)
	optional := false
	for _, f := range own {
		if f.Required {
			line += " " + flagName(f)
		} else {
			optional = true
		}
	}
	switch {
	case len(n.Children) > 0:
		line += " <command> [options]"
	case optional:
		line += " [options]"
	}
	return line
}

// argName is an argument as in a usage line: <survey>, [<store>], <file> …
func argName(a *kong.Positional) string {
	name := "<" + a.Name + ">"
	if a.IsCumulative() {
		name += " …"
	}
	if !a.Required {
		name = "[" + name + "]"
	}
	return name
}

// flagName is a long flag with its value.
func flagName(f *kong.Flag) string {
	name := "--" + f.Name
	if f.IsBool() || f.IsCounter() {
		return name
	}
	value := f.PlaceHolder
	if value == "" {
		value = strings.ToUpper(f.Name)
	}
	return name + " " + value
}

// flagsOf gives the flags a command has of its own (and of the commands it
// belongs to), and those of every command, without hidden ones.
func flagsOf(n *kong.Node) (own, global []*kong.Flag) {
	for ; n != nil; n = n.Parent {
		for _, f := range n.Flags {
			switch {
			case f.Hidden:
			case n.Type == kong.ApplicationNode:
				global = append(global, f)
			default:
				own = append(own, f)
			}
		}
	}
	return own, global
}

func flagRows(flags []*kong.Flag) [][2]string {
	var rows [][2]string
	for _, f := range flags {
		short := "    "
		if f.Short != 0 {
			short = fmt.Sprintf("-%c, ", f.Short)
		}
		rows = append(rows, [2]string{short + flagName(f), flagHelp(f)})
	}
	return rows
}

// flagHelp is what a flag does and what it is when not given.
func flagHelp(f *kong.Flag) string {
	text := f.Help
	if f.HasDefault && f.Default != "0" && f.Default != "-1" && !strings.Contains(text, "default") {
		text = strings.TrimSuffix(text, ".") + " (default: " + f.Default + ")."
	}
	if f.Required {
		text = strings.TrimSuffix(text, ".") + " (needed)."
	}
	return text
}
