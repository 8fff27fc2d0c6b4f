package weather

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode"
)

// MaxBytes is the largest file that is read, unpacked: a station of 200 years
// with every element has a third of it.
const MaxBytes = 64 << 20

// maxLine is the longest line; .dly has 269 characters.
const maxLine = 8 << 10

// Read reads a station's record. told are the units of a table that does not
// name them itself; NotTold where the user said nothing.
func Read(path string, told Units) (*Series, error) {
	st, err := os.Stat(path)
	if err != nil {
		if os.IsNotExist(err) {
			return nil, fmt.Errorf("%s: no such file", path)
		}
		return nil, err
	}
	if !st.Mode().IsRegular() {
		return nil, fmt.Errorf("%s: not a plain file", path)
	}
	if st.Size() > MaxBytes {
		return nil, tooLarge(path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, MaxBytes+1))
	if err != nil {
		return nil, err
	}
	return Parse(path, data, told)
}

func tooLarge(file string) error {
	return fmt.Errorf("%s: more than the %d MiB allowed for one station's record", file, MaxBytes>>20)
}

// Parse reads a record from memory, plain or packed by gzip; file is used in
// messages only.
func Parse(file string, data []byte, told Units) (*Series, error) {
	if bytes.HasPrefix(data, []byte{0x1f, 0x8b}) {
		z, err := gzip.NewReader(bytes.NewReader(data))
		if err == nil {
			data, err = io.ReadAll(io.LimitReader(z, MaxBytes+1))
		}
		if err != nil {
			return nil, fmt.Errorf("%s: packed by gzip, and damaged: %v", file, err)
		}
	}
	if len(data) > MaxBytes {
		return nil, tooLarge(file)
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if bytes.IndexByte(data, 0) >= 0 {
		return nil, fmt.Errorf("%s: holds zero bytes, so it is no text; expected GHCN-Daily (.dly or CSV by station) or a CSV table", file)
	}
	lines := newLines(file, data)
	first, _, ok := lines.peek()
	if !ok {
		if lines.err != nil {
			return nil, lines.err
		}
		return nil, fmt.Errorf("%s: empty", file)
	}
	var s *Series
	var err error
	switch {
	case isDly(first):
		s, err = readDly(lines, told)
	case isByStation(first):
		s, err = readByStation(lines, told)
	default:
		s, err = readTable(lines, told)
	}
	if err != nil {
		return nil, err
	}
	s.judgeUnits()
	return s, nil
}

// lines gives the lines of a text with their numbers; empty ones are passed
// over.
type lines struct {
	file   string
	scan   *bufio.Scanner
	number int
	text   string
	held   bool
	err    error
}

func newLines(file string, data []byte) *lines {
	s := bufio.NewScanner(bytes.NewReader(data))
	s.Buffer(make([]byte, 0, 4096), maxLine)
	return &lines{file: file, scan: s}
}

// next gives the next line that is not empty, without its ending.
func (l *lines) next() (text string, number int, ok bool) {
	if l.held {
		l.held = false
		return l.text, l.number, true
	}
	for l.scan.Scan() {
		l.number++
		if l.text = strings.TrimSuffix(l.scan.Text(), "\r"); strings.TrimSpace(l.text) != "" {
			return l.text, l.number, true
		}
	}
	if err := l.scan.Err(); err != nil {
		l.err = fmt.Errorf("%s:%d: a line longer than %d characters", l.file, l.number+1, maxLine)
	}
	return "", l.number, false
}

func (l *lines) peek() (string, int, bool) {
	text, number, ok := l.next()
	l.held = ok
	return text, number, ok
}

// clipped is a foreign text for a message: one line, not long, and nothing in
// it that moves a terminal's cursor or turns the direction of writing.
func clipped(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Zl, r) || unicode.Is(unicode.Zp, r) {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
	s = strings.Join(strings.Fields(s), " ")
	if r := []rune(s); len(r) > 60 {
		return string(r[:59]) + "…"
	}
	return s
}
