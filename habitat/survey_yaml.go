package habitat

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// Limits on a survey file or profile. Both are written by hand; anything
// larger or deeper is a mistake or an attack on the parser.
const (
	maxYAMLBytes = 1 << 20
	maxYAMLLine  = 8 << 10
	maxYAMLItems = 20_000 // lines and commas; the parser takes time with the square of a list's length
	maxYAMLDepth = 32
)

// document is one parsed YAML file that remembers where everything stands,
// so that mistakes found later can still be shown with line and column.
type document struct {
	file string
	body ast.Node // nil for an empty file
}

// fieldError is a mistake in one field, before its place in a file is known.
type fieldError struct {
	path string // as in the file: streams.fields.area, hosts[2].id
	msg  string
}

func (e *fieldError) Error() string { return e.path + ": " + e.msg }

func wrong(path, format string, args ...any) error {
	return &fieldError{path, fmt.Sprintf(format, args...)}
}

// naming puts a file before what is wrong with the field that names it.
func naming(err error, field, file string) error {
	if f, ok := err.(*fieldError); ok && f.path == field && file != "" {
		return wrong(field, "%q %s", file, f.msg)
	}
	return err
}

// readLimited reads a whole file, refusing more than maxYAMLBytes.
func readLimited(path string) ([]byte, error) {
	st, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: no such file", path)
	} else if err != nil {
		return nil, err
	}
	if !st.Mode().IsRegular() {
		return nil, fmt.Errorf("%s: not a plain file", path)
	}
	if st.Size() > maxYAMLBytes {
		return nil, fmt.Errorf("%s: %d bytes, more than the 1 MiB allowed for such a file", path, st.Size())
	}
	return os.ReadFile(path)
}

// parseDocument parses data as one YAML document. file is used in messages only.
func parseDocument(file string, data []byte) (doc *document, err error) {
	if err := screen(file, data); err != nil {
		return nil, err
	}
	// The parser is not ours: whatever it does with odd bytes, the person at
	// the keyboard gets one line, not a stack.
	defer func() {
		if r := recover(); r != nil {
			doc, err = nil, fmt.Errorf("%s: cannot be read as YAML", file)
		}
	}()
	parsed, err := parser.ParseBytes(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")), 0)
	if err != nil {
		return nil, syntaxError(file, err)
	}
	doc = &document{file: file}
	for _, d := range parsed.Docs {
		if d.Body == nil {
			continue
		}
		if _, ok := d.Body.(*ast.CommentGroupNode); ok {
			continue
		}
		if doc.body != nil {
			return nil, fmt.Errorf("%s: a second document starts here; keep one document in a file", place(file, start(d.Body)))
		}
		doc.body = d.Body
	}
	return doc, nil
}

// screen turns away files that could exhaust the parser's stack.
func screen(file string, data []byte) error {
	if len(data) > maxYAMLBytes {
		return fmt.Errorf("%s: %d bytes, more than the 1 MiB allowed for such a file", file, len(data))
	}
	depth, line, items := 0, 1, 0
	for len(data) > 0 {
		row := data
		if i := bytes.IndexByte(data, '\n'); i >= 0 {
			row, data = data[:i], data[i+1:]
		} else {
			data = nil
		}
		if len(row) > maxYAMLLine {
			return fmt.Errorf("%s:%d: line of %d characters, more than the %d allowed", file, line, len(row), maxYAMLLine)
		}
		if bytes.IndexByte(row, 0) >= 0 {
			return fmt.Errorf("%s:%d: holds a zero byte; save the file as plain UTF-8 text", file, line)
		}
		if trimmed := bytes.TrimLeft(row, " \t-?"); len(row)-len(trimmed) > 8*maxYAMLDepth {
			return fmt.Errorf("%s:%d: nested too deep", file, line)
		} else if len(trimmed) > 0 && trimmed[0] == '#' {
			row = nil
		}
		row, _, _ = bytes.Cut(row, []byte(" #"))
		for _, c := range row {
			switch c {
			case '[', '{':
				depth++
			case ']', '}':
				depth = max(0, depth-1)
			}
		}
		if depth > maxYAMLDepth {
			return fmt.Errorf("%s:%d: nested too deep", file, line)
		}
		line++
		if items += 1 + bytes.Count(row, []byte{','}); items > maxYAMLItems {
			return fmt.Errorf("%s:%d: more than %d lines and list entries, too many for such a file", file, line, maxYAMLItems)
		}
	}
	return nil
}

// syntaxError gives the parser's complaint as one line with its place.
func syntaxError(file string, err error) error {
	var pos interface {
		GetToken() *token.Token
		GetMessage() string
	}
	if errors.As(err, &pos) {
		return fmt.Errorf("%s: %s", place(file, pos.GetToken()), oneLine(pos.GetMessage()))
	}
	return fmt.Errorf("%s: %s", file, oneLine(err.Error()))
}

// oneLine shortens a foreign message or value to one line.
func oneLine(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if len(s) > 160 {
		s = strings.ToValidUTF8(s[:160], "") + "…"
	}
	return s
}

// start is the first token of a node; a block of keys starts at its first key.
func start(n ast.Node) *token.Token {
	switch m := n.(type) {
	case *ast.MappingNode:
		if !m.IsFlowStyle && len(m.Values) > 0 {
			return m.Values[0].Key.GetToken()
		}
	case *ast.MappingValueNode:
		return m.Key.GetToken()
	}
	return n.GetToken()
}

// place is file:line:column of a token.
func place(file string, t *token.Token) string {
	if t == nil || t.Position == nil {
		return file
	}
	return fmt.Sprintf("%s:%d:%d", file, t.Position.Line, t.Position.Column)
}

func (d *document) fail(n ast.Node, path, format string, args ...any) error {
	if path != "" {
		path += ": "
	}
	return fmt.Errorf("%s: %s%s", place(d.file, start(n)), path, fmt.Sprintf(format, args...))
}

// locate adds file, line and column to a fieldError: those of the field, or
// of its nearest parent in the file when the field itself is not written.
func (d *document) locate(err error) error {
	var fe *fieldError
	if err == nil || !errors.As(err, &fe) {
		return err
	}
	n := d.body
	if n == nil {
		return fmt.Errorf("%s: %w", d.file, err)
	}
	for _, step := range strings.FieldsFunc(fe.path, func(r rune) bool { return r == '.' || r == '[' || r == ']' }) {
		next := child(n, step)
		if next == nil {
			break
		}
		n = next
	}
	return fmt.Errorf("%s: %w", place(d.file, start(n)), err)
}

// child is the value under a key or index, nil when there is none.
func child(n ast.Node, step string) ast.Node {
	switch n := n.(type) {
	case ast.MapNode:
		for it := n.MapRange(); it.Next(); {
			if key, _ := scalar(it.Key()); key == step {
				if it.Value() == nil || it.Value().Type() == ast.NullType {
					return it.Key()
				}
				return it.Value()
			}
		}
	case *ast.SequenceNode:
		if i, err := strconv.Atoi(step); err == nil && i >= 0 && i < len(n.Values) {
			return n.Values[i]
		}
	}
	return nil
}
