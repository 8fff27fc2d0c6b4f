package main

import (
	"context"
	"os"
	"os/signal"
	"sync/atomic"
	"syscall"
)

// stoppable gives a context that ends with the first Ctrl-C or request to
// terminate; a second one kills the program at once. code is the exit code of
// a run that was stopped: 128 and the signal's number, as shells have it; 0
// when no signal came.
func stoppable() (ctx context.Context, code func() int, done func()) {
	// A pipe whose reader has gone gives an error where it is written to (see
	// spout), instead of ending a run in the middle of its work.
	signal.Ignore(syscall.SIGPIPE)
	ctx, cancel := context.WithCancel(context.Background())
	ch := make(chan os.Signal, 1)
	signal.Notify(ch, os.Interrupt, syscall.SIGTERM)
	var got atomic.Int32
	go func() {
		select {
		case s := <-ch:
			signal.Stop(ch)
			n := syscall.SIGINT
			if s == syscall.SIGTERM {
				n = syscall.SIGTERM
			}
			got.Store(int32(n))
			cancel()
		case <-ctx.Done():
		}
	}()
	code = func() int {
		if n := got.Load(); n != 0 {
			return exitSignal + int(n)
		}
		return exitOK
	}
	return ctx, code, func() { signal.Stop(ch); cancel() }
}
