// Command rillwood makes scouting maps for winter foragers from open layers.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"

	"github.com/alecthomas/kong"

	"rillwood/habitat"
	"rillwood/raster"
)

// Exit codes.
const (
	exitOK    = 0
	exitFail  = 1 // could not run, or the answer is no
	exitUsage = 2
)

type cli struct {
	Init   initCmd   `cmd:"" help:"Write a commented survey file, and the profile it names, into a folder."`
	Check  checkCmd  `cmd:"" help:"Open every layer of a survey and say what is in it and what will be done with it."`
	Map    mapCmd    `cmd:"" help:"Make the scouting map of a survey."`
	Effort effortCmd `cmd:"" help:"Say how many trees to check for a find, or what trees without one tell."`
	Demo   demoCmd   `cmd:"" help:"Make an invented county and map it."`

	Record recordCmd `cmd:"" help:"Keep what was found, and not found, on the ground."`

	Learn learnCmd `cmd:"" help:"Learn from field records, or from a mapped layer, into a new profile."`
	Score scoreCmd `cmd:"" help:"Say how good a map has been by field records, on ground the learning has not seen."`

	Compare compareCmd `cmd:"" help:"Say what changed between two runs, and why candidates moved."`

	Version kong.VersionFlag `help:"Print the version."`
}

// console is where commands speak.
type console struct {
	ctx  context.Context
	out  io.Writer // results
	err  io.Writer // progress, warnings, errors
	tty  bool      // err is a terminal
	code int
}

func main() {
	// Planes are few, large and free of pointers: collecting often costs
	// nothing and keeps what is thrown away from doubling them.
	debug.SetGCPercent(10)
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}

func run(args []string, stdout, stderr *os.File) int {
	if err := raster.Setup(); err != nil {
		fmt.Fprintf(stderr, "rillwood: %v\n", err)
		return exitFail
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	c := &console{ctx: ctx, out: stdout, err: stderr, tty: isTerminal(stderr)}
	exit := -1
	parser, err := kong.New(&cli{}, kong.Name("rillwood"), kong.Vars{"profile": habitat.DefaultProfile, "version": "rillwood " + habitat.Version + ", " + raster.Versions()},
		kong.Description("Scouting maps for winter foragers: where the host trees of velvet-stemmed Flammulina stand. A map says where to look, never what is safe to eat."),
		kong.Writers(stdout, stderr), kong.Exit(func(code int) { exit = code }), kong.ConfigureHelp(kong.HelpOptions{Compact: true}), kong.Bind(c))
	if err != nil {
		panic(err) // the command structs are wrong
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	k, err := parser.Parse(args)
	if exit >= 0 {
		return exit // help or version was printed
	}
	if err != nil {
		fmt.Fprintf(stderr, "rillwood: %v (see rillwood --help)\n", err)
		return exitUsage
	}
	if err := k.Run(); err != nil {
		if errors.Is(err, context.Canceled) {
			fmt.Fprintln(stderr, "rillwood: stopped; earlier results are as they were")
			return exitFail
		}
		fmt.Fprintf(stderr, "rillwood: %v\n", err)
		return exitFail
	}
	return c.code
}
