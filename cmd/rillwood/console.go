package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"

	"rillwood/internal/terminal"
)

// console is where commands speak.
type console struct {
	ctx  context.Context
	out  io.Writer // results
	err  io.Writer // progress, warnings, errors
	code int

	outScreen, errScreen terminal.Screen
	rewrite              bool       // err is a terminal whose lines can be rewritten
	errColumns           func() int // how wide err is now
}

// newConsole looks at what the streams are; colour is auto, never or always.
func newConsole(out, err *os.File, colour string) (*console, error) {
	c := &console{
		ctx: context.Background(), out: &spout{f: out}, err: &spout{f: err},
		rewrite:    terminal.IsTerminal(err) && !terminal.Dumb(),
		errColumns: func() int { return terminal.Columns(err) },
	}
	var fault error
	for _, s := range []struct {
		screen *terminal.Screen
		f      *os.File
	}{{&c.outScreen, out}, {&c.errScreen, err}} {
		s.screen.Columns = terminal.Columns(s.f)
		if s.screen.Colour, fault = terminal.Colours(colour, terminal.IsTerminal(s.f)); fault != nil {
			return nil, fmt.Errorf("--color: %w", fault)
		}
	}
	return c, nil
}

// colourWanted finds --color among arguments that have not been parsed yet, so
// that what is said about them is coloured as wished; auto when it is not
// there or makes no sense, which the parser will say.
func colourWanted(args []string) string {
	mode := "auto"
	for i, a := range args {
		if a == "--" {
			break
		}
		v, ok := strings.CutPrefix(a, "--color=")
		if a == "--color" && i+1 < len(args) {
			v, ok = args[i+1], true
		}
		if ok && (v == "auto" || v == "never" || v == "always") {
			mode = v
		}
	}
	return mode
}

// tell prints the results of a command: as one JSON document, or the text,
// whose lines are made safe for a terminal.
func (c *console) tell(asJSON bool, data any, text string) error {
	if asJSON {
		return c.document(data)
	}
	for line := range strings.Lines(text) {
		line, end := strings.CutSuffix(line, "\n")
		line = terminal.Line(line)
		if end {
			line += "\n"
		}
		if _, err := io.WriteString(c.out, line); err != nil {
			return err
		}
	}
	return nil
}

// document prints JSON, the only thing that is then printed.
func (c *console) document(data any) error {
	e := json.NewEncoder(c.out)
	e.SetIndent("", "  ")
	return e.Encode(data)
}

// say writes a line beside the results: a note, a warning, what was refused.
func (c *console) say(kind, format string, args ...any) {
	fmt.Fprintf(c.err, "%s: %s\n", c.errScreen.Paint(terminal.Yellow, kind), terminal.Line(fmt.Sprintf(format, args...)))
}

// fail writes the line of an error.
func (c *console) fail(format string, args ...any) {
	fmt.Fprintf(c.err, "%s: %s\n", c.errScreen.Paint(terminal.Red, program), terminal.Line(fmt.Sprintf(format, args...)))
}
