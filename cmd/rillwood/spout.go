package main

import (
	"errors"
	"fmt"
	"os"
	"syscall"
)

// spout is a stream that is written to until that fails, and then no more, so
// that a command ends as it would have and its results are whole. A reader who
// has seen enough ("| head") is no fault; a full disk is.
type spout struct {
	f   *os.File
	err error
}

func (s *spout) Write(p []byte) (int, error) {
	if s.err == nil {
		_, s.err = s.f.Write(p)
	}
	return len(p), nil
}

// fault is the error that kept something from being written.
func (s *spout) fault() error {
	if s.err == nil || errors.Is(s.err, syscall.EPIPE) {
		return nil
	}
	var path *os.PathError
	if errors.As(s.err, &path) {
		return fmt.Errorf("standard output: %w; what was to be printed is not whole", path.Err)
	}
	return fmt.Errorf("standard output: %w", s.err)
}
