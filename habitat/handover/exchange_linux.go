package handover

import (
	"bytes"
	"errors"
	"slices"

	"golang.org/x/sys/unix"
)

const canExchange = true

// swapFolders lets two folders change places, both names being there at every
// moment (renameat2 with RENAME_EXCHANGE, Linux 3.15). A variable, for tests.
var swapFolders = func(a, b string) error {
	return unix.Renameat2(unix.AT_FDCWD, a, unix.AT_FDCWD, b, unix.RENAME_EXCHANGE)
}

// sameAttributes tells whether two folders have the same extended attributes,
// access lists among them.
func sameAttributes(a, b string) error {
	x, err1 := attributes(a)
	y, err2 := attributes(b)
	if err := errors.Join(err1, err2); err != nil {
		return err
	}
	if !slices.Equal(x, y) {
		return errForeign
	}
	return nil
}

// attributes lists names and values of a folder's extended attributes.
func attributes(path string) ([]string, error) {
	names := make([]byte, 1<<16)
	n, err := unix.Llistxattr(path, names)
	if errors.Is(err, unix.ENOTSUP) {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	var list []string
	for _, name := range bytes.Split(names[:n], []byte{0}) {
		if len(name) == 0 {
			continue
		}
		value := make([]byte, 1<<16)
		n, err := unix.Lgetxattr(path, string(name), value)
		if err != nil {
			return nil, err
		}
		list = append(list, string(name)+"\x00"+string(value[:n]))
	}
	slices.Sort(list)
	return list, nil
}
