package main

import (
	"fmt"
	"os"
	"runtime/debug"
)

// Exit codes; exitCodes says them to the user.
const (
	exitOK     = 0
	exitFail   = 1 // could not be done, or the answer is no
	exitUsage  = 2
	exitSignal = 128 // and the number of the signal
)

// exitCodes are the codes and their meanings, for help and manual.
var exitCodes = [][2]string{
	{"0", "done"},
	{"1", "could not be done, or the answer is no (check found a problem)"},
	{"2", "the command line was not understood"},
	{"130", "stopped by Ctrl-C; earlier results are as they were (143: by a request to terminate)"},
}

// traceVar in the environment shows where a fault of the program lies.
const traceVar = "RILLWOOD_TRACE"

// close ends a command that went well: what could not be printed is an error.
func (c *console) close(code int) int {
	if s, ok := c.out.(*spout); ok && s.fault() != nil {
		c.fail("%v", s.fault())
		return exitFail
	}
	return code
}

// ownFault turns a fault of the program into one line that says so.
func (c *console) ownFault(code *int) {
	p := recover()
	if p == nil {
		return
	}
	c.fail("this is a fault of the program and not of your files: %v; please tell its makers what you ran", fmt.Sprint(p))
	if os.Getenv(traceVar) != "" {
		c.err.Write(debug.Stack())
	}
	*code = exitFail
}
