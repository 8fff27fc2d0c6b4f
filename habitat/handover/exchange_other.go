//go:build !linux

package handover

import "errors"

const canExchange = false

var swapFolders = func(a, b string) error { return errors.ErrUnsupported }

func sameAttributes(a, b string) error { return errors.ErrUnsupported }
