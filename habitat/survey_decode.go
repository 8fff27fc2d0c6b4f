package habitat

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
)

// textSetter is a value with its own way of being written as one YAML scalar.
type textSetter interface{ setText(string) error }

// decode fills the struct that into points to. Keys not in the file keep the
// value they have; an empty value (`area:`) counts as not written.
func (d *document) decode(into any) error {
	if d.body == nil {
		return nil
	}
	return d.value(d.body, reflect.ValueOf(into).Elem(), "", false)
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
		if v.IsNil() {
			v.Set(reflect.MakeMap(v.Type()))
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
		if opts == "inline" {
			if f, inner, ok := fieldFor(v.Field(i), key); ok {
				return f, inner, true
			}
			continue
		}
		if name == key && name != "" && name != "-" {
			return v.Field(i), v.Type().Field(i).Tag.Get("read") + opts, true
		}
	}
	return reflect.Value{}, "", false
}

func keysOf(t reflect.Type) []string {
	var keys []string
	for i := range t.NumField() {
		name, opts, _ := strings.Cut(t.Field(i).Tag.Get("yaml"), ",")
		if opts == "inline" {
			keys = append(keys, keysOf(t.Field(i).Type)...)
		} else if name != "" && name != "-" {
			keys = append(keys, name)
		}
	}
	return keys
}
