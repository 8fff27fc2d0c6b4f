package habitat

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"reflect"
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

// textSetter is a value with its own way of being written as one YAML scalar.
type textSetter interface{ setText(string) error }

// readLimited reads a whole file, refusing more than maxYAMLBytes.
func readLimited(path string) ([]byte, error) {
	st, err := os.Stat(path)
	if err != nil {
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
	parsed, err := parser.ParseBytes(data, 0)
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

// decode fills the struct that into points to. Keys not in the file keep the
// value they have; an empty value (`area:`) counts as not written.
func (d *document) decode(into any) error {
	if d.body == nil {
		return nil
	}
	return d.value(d.body, reflect.ValueOf(into).Elem(), "", false)
}

func (d *document) fail(n ast.Node, path, format string, args ...any) error {
	if path != "" {
		path += ": "
	}
	return fmt.Errorf("%s: %s%s", place(d.file, start(n)), path, fmt.Sprintf(format, args...))
}

// value decodes one node. auto allows the word "auto" where a number stands
// for itself and zero means "choose for me".
func (d *document) value(n ast.Node, v reflect.Value, path string, auto bool) error {
	switch n := n.(type) {
	case *ast.NullNode:
		return nil
	case *ast.AnchorNode, *ast.AliasNode, *ast.TagNode:
		return d.fail(n, path, "YAML anchors, aliases and tags are not used in this file; write the value out")
	}
	if v.Kind() == reflect.Pointer {
		if text, ok := scalar(n); ok && text == "auto" {
			v.SetZero()
			return nil
		}
		v.Set(reflect.New(v.Type().Elem()))
		return d.value(n, v.Elem(), path, auto)
	}
	if s, ok := v.Addr().Interface().(textSetter); ok {
		text, ok := scalar(n)
		if !ok {
			return d.fail(n, path, "expected one value, found %s", kindOf(n))
		}
		if err := s.setText(text); err != nil {
			return d.fail(n, path, "%v", err)
		}
		return nil
	}
	switch v.Kind() {
	case reflect.Struct:
		return d.mapping(n, v, path)
	case reflect.Map:
		return d.table(n, v, path)
	case reflect.Slice, reflect.Array:
		return d.list(n, v, path)
	}
	return d.single(n, v, path, auto)
}

// single decodes text, numbers and yes/no.
func (d *document) single(n ast.Node, v reflect.Value, path string, auto bool) error {
	text, ok := scalar(n)
	if !ok {
		return d.fail(n, path, "expected %s, found %s", wanted(v.Kind()), kindOf(n))
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(text)
		return nil
	case reflect.Bool:
		if b, ok := n.(*ast.BoolNode); ok {
			v.SetBool(b.Value)
			return nil
		}
	case reflect.Int, reflect.Int64:
		if auto && text == "auto" {
			v.SetInt(0)
			return nil
		}
		if i, err := strconv.ParseInt(text, 10, 64); err == nil {
			v.SetInt(i)
			return nil
		}
	case reflect.Float64:
		if auto && text == "auto" {
			v.SetFloat(0)
			return nil
		}
		if f, err := strconv.ParseFloat(text, 64); err == nil && f-f == 0 {
			v.SetFloat(f)
			return nil
		}
	}
	return d.fail(n, path, "expected %s, found %q", wanted(v.Kind()), oneLine(text))
}

// mapping decodes keys into the fields of a struct; a key no field answers to
// is refused with the nearest known one.
func (d *document) mapping(n ast.Node, v reflect.Value, path string) error {
	seen := map[string]bool{}
	return d.pairs(n, path, func(key string, kn, vn ast.Node) error {
		full := join(path, key)
		f, opts, ok := fieldFor(v, key)
		if !ok {
			return d.fail(kn, full, "unknown key; %s", suggest(key, keysOf(v.Type())))
		}
		if seen[key] {
			return d.fail(kn, full, "written twice")
		}
		seen[key] = true
		return d.value(vn, f, full, strings.Contains(opts, "auto"))
	})
}

// table decodes free keys with one kind of value.
func (d *document) table(n ast.Node, v reflect.Value, path string) error {
	if v.IsNil() {
		v.Set(reflect.MakeMap(v.Type()))
	}
	seen := map[string]bool{}
	return d.pairs(n, path, func(key string, kn, vn ast.Node) error {
		if seen[key] {
			return d.fail(kn, join(path, key), "written twice")
		}
		seen[key] = true
		if _, ok := vn.(*ast.NullNode); ok {
			return d.fail(kn, join(path, key), "empty")
		}
		e := reflect.New(v.Type().Elem()).Elem()
		if err := d.value(vn, e, join(path, key), false); err != nil {
			return err
		}
		v.SetMapIndex(reflect.ValueOf(key).Convert(v.Type().Key()), e)
		return nil
	})
}

func (d *document) pairs(n ast.Node, path string, each func(key string, kn, vn ast.Node) error) error {
	m, ok := n.(ast.MapNode)
	if !ok {
		return d.fail(n, path, "expected keys and values, found %s", kindOf(n))
	}
	for it := m.MapRange(); it.Next(); {
		kv := it.KeyValue()
		key, ok := scalar(kv.Key)
		if !ok || kv.Key.IsMergeKey() {
			return d.fail(kv, path, "a key must be plain text")
		}
		if kv.Value == nil {
			continue
		}
		if err := each(key, kv.Key, kv.Value); err != nil {
			return err
		}
	}
	return nil
}

// list decodes a sequence; where text is listed, one bare text is a list of one.
func (d *document) list(n ast.Node, v reflect.Value, path string) error {
	seq, ok := n.(*ast.SequenceNode)
	if !ok {
		if v.Kind() == reflect.Slice && v.Type().Elem().Kind() == reflect.String {
			if text, ok := scalar(n); ok {
				v.Set(reflect.ValueOf([]string{text}).Convert(v.Type()))
				return nil
			}
		}
		return d.fail(n, path, "expected a list, found %s", kindOf(n))
	}
	if v.Kind() == reflect.Array {
		if len(seq.Values) != v.Len() {
			return d.fail(n, path, "expected %d values, found %d", v.Len(), len(seq.Values))
		}
	} else if len(seq.Values) == 0 {
		v.SetZero()
	} else {
		v.Set(reflect.MakeSlice(v.Type(), len(seq.Values), len(seq.Values)))
	}
	for i, item := range seq.Values {
		at := fmt.Sprintf("%s[%d]", path, i)
		if _, ok := item.(*ast.NullNode); ok || item == nil {
			return d.fail(n, at, "empty")
		}
		if err := d.value(item, v.Index(i), at, false); err != nil {
			return err
		}
	}
	return nil
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

// scalar gives a scalar as it was written, without quotes.
func scalar(n ast.Node) (string, bool) {
	switch n := n.(type) {
	case *ast.StringNode:
		return n.Value, true
	case *ast.LiteralNode:
		return n.Value.Value, true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return n.GetToken().Value, true
	}
	return "", false
}

func kindOf(n ast.Node) string {
	switch n.(type) {
	case ast.MapNode:
		return "keys and values"
	case *ast.SequenceNode:
		return "a list"
	}
	if text, ok := scalar(n); ok {
		return strconv.Quote(oneLine(text))
	}
	return "something else"
}

func wanted(k reflect.Kind) string {
	switch k {
	case reflect.Bool:
		return "true or false"
	case reflect.Int, reflect.Int64:
		return "a whole number"
	case reflect.Float64:
		return "a number"
	}
	return "text"
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// fieldFor finds the struct field with a yaml key, and the options of its tag.
func fieldFor(v reflect.Value, key string) (reflect.Value, string, bool) {
	for i := range v.NumField() {
		name, opts, _ := strings.Cut(v.Type().Field(i).Tag.Get("yaml"), ",")
		if name == key && name != "" && name != "-" {
			return v.Field(i), v.Type().Field(i).Tag.Get("read") + opts, true
		}
	}
	return reflect.Value{}, "", false
}

func keysOf(t reflect.Type) []string {
	var keys []string
	for i := range t.NumField() {
		if name, _, _ := strings.Cut(t.Field(i).Tag.Get("yaml"), ","); name != "" && name != "-" {
			keys = append(keys, name)
		}
	}
	return keys
}
