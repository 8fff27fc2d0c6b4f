package raster

import (
	"bufio"
	"fmt"
	"os"
	"strings"
	"syscall"
)

// MemoryOfMachine is the machine's memory in bytes, 0 when it cannot be told.
func MemoryOfMachine() int64 {
	f, err := os.Open("/proc/meminfo")
	if err != nil {
		return 0
	}
	defer f.Close()
	for s := bufio.NewScanner(f); s.Scan(); {
		if rest, ok := strings.CutPrefix(s.Text(), "MemTotal:"); ok {
			var kb int64
			if _, err := fmt.Sscan(rest, &kb); err == nil {
				return kb << 10
			}
		}
	}
	return 0
}

// FreeDisk is the space left for files in a folder, in bytes.
func FreeDisk(dir string) (int64, error) {
	var st syscall.Statfs_t
	if err := syscall.Statfs(dir, &st); err != nil {
		return 0, fmt.Errorf("%q: %w", dir, err)
	}
	return int64(st.Bavail) * int64(st.Bsize), nil
}
