// Command rillwood makes scouting maps for winter foragers from open layers.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime/debug"

	"github.com/alecthomas/kong"

	"rillwood/habitat"
	"rillwood/habitat/field"
	"rillwood/raster"
)

// program is what the command is called.
const program = "rillwood"

type cli struct {
	Init   initCmd   `cmd:"" help:"Write a commented survey file, and the profile it names, into a folder."`
	Check  checkCmd  `cmd:"" help:"Open every layer of a survey and say what is in it and what will be done with it."`
	Map    mapCmd    `cmd:"" help:"Make the scouting map of a survey."`
	Effort effortCmd `cmd:"" help:"Say how many trees to check for a find, or what trees without one tell."`
	Season seasonCmd `cmd:"" help:"Say from daily weather which days of the season are good, and which usually are."`
	Demo   demoCmd   `cmd:"" help:"Make an invented county and map it."`

	Record recordCmd `cmd:"" help:"Keep what was found, and not found, on the ground."`

	Learn learnCmd `cmd:"" help:"Learn from field records, or from a mapped layer, into a new profile."`
	Score scoreCmd `cmd:"" help:"Say how good a map has been by field records, on ground the learning has not seen."`

	Report  reportCmd  `cmd:"" help:"Write the page of a run again, with field records and what was learned."`
	Pack    packCmd    `cmd:"" help:"Pack the chosen patches for a phone, a GPS and a printer."`
	Year    yearCmd    `cmd:"" help:"Say which candidates serve which target in which month."`
	Trip    tripCmd    `cmd:"" help:"Plan a day on foot: which patches, in which order, for how long, and back before dusk."`
	Compare compareCmd `cmd:"" help:"Say what changed between two runs, and why candidates moved."`

	Help       helpCmd       `cmd:"" help:"Explain a command, with examples."`
	Manual     manualCmd     `cmd:"" help:"Print the manual page, for man."`
	Completion completionCmd `cmd:"" help:"Print a script that lets a shell complete commands, options and files."`

	Color   string           `help:"When to use colours: auto (on a terminal), never or always. NO_COLOR in the environment turns auto off." enum:"auto,never,always" default:"auto" placeholder:"WHEN"`
	Version kong.VersionFlag `help:"Print the version."`
}

func main() {
	// Planes are few, large and free of pointers: collecting often costs
	// nothing and keeps what is thrown away from doubling them.
	debug.SetGCPercent(10)
	if os.Getenv(traceVar) == "" {
		debug.SetTraceback("none") // a fault of ours is told in a line
	}
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}

// run is the program: arguments in, exit code out.
func run(args []string, stdout, stderr *os.File) (code int) {
	c, err := newConsole(stdout, stderr, colourWanted(args))
	if err != nil {
		panic(err) // only what makes sense is wanted
	}
	defer c.ownFault(&code)
	if err := raster.Setup(); err != nil {
		c.fail("%v", err)
		return exitFail
	}
	ctx, stopped, done := stoppable()
	defer done()
	c.ctx = ctx
	if code = c.run(args, stopped); code == exitOK && stopped() != exitOK {
		c.fail("stopped; but what was asked for was done by then, and is whole")
		code = stopped()
	}
	return code
}

func (c *console) run(args []string, stopped func() int) int {
	exit := -1
	parser := newParser(c, func(code int) { exit = code })
	if len(args) == 0 {
		args = []string{"--help"}
	}
	k, err := parser.Parse(args)
	if exit >= 0 {
		return c.close(exit) // help or version was printed
	}
	if err != nil {
		return c.misunderstood(err)
	}
	err = k.Run()
	var usage usageError
	switch {
	case errors.As(err, &usage):
		return c.misunderstood(usage)
	case errors.Is(err, context.Canceled):
		c.fail("stopped; earlier results are as they were")
		return max(exitFail, stopped())
	case err != nil:
		c.fail("%v", err)
		return exitFail
	}
	return c.close(c.code)
}

// misunderstood says what is wrong with the command line.
func (c *console) misunderstood(err error) int {
	c.fail("%v (see %s --help)", err, program)
	return exitUsage
}

// newParser reads the command line into a fresh set of commands.
func newParser(c *console, exit func(int)) *kong.Kong {
	parser, err := kong.New(&cli{}, kong.Name(program),
		kong.Vars{"profile": habitat.DefaultProfile, "version": program + " " + habitat.Version + ", " + raster.Versions()},
		kong.Description("Scouting maps for winter foragers: where the host trees of velvet-stemmed Flammulina stand. "+field.SafetyLine),
		kong.Writers(c.out, c.err), kong.Exit(exit), kong.Help(c.printHelp), kong.Bind(c))
	if err != nil {
		panic(fmt.Sprintf("the command structs are wrong: %v", err))
	}
	parser.Model.HelpFlag.Help = "Explain the command, with examples."
	return parser
}
