package compare

import (
	"encoding/json"
	"fmt"
	"maps"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
)

// treeDiffer walks two trees of settings side by side.
type treeDiffer struct {
	kind string
	out  []Change
}

func (d *treeDiffer) add(field, what string, before, after any) {
	d.out = append(d.out, Change{Kind: d.kind, Field: field, What: what, Before: before, After: after})
}

// value compares two values of one field. Nothing, nought and an empty list
// are alike: what an earlier version did not record counts as not given.
func (d *treeDiffer) value(field, owner string, a, b any) {
	a, b = given(field, a), given(field, b)
	if reflect.DeepEqual(a, b) {
		return
	}
	ma, aIsMap := a.(map[string]any)
	mb, bIsMap := b.(map[string]any)
	la, aIsList := a.([]any)
	lb, bIsList := b.([]any)
	switch {
	case (aIsMap || a == nil) && (bIsMap || b == nil):
		keys := map[string]bool{}
		for k := range ma {
			keys[k] = true
		}
		for k := range mb {
			keys[k] = true
		}
		for _, k := range slices.Sorted(maps.Keys(keys)) {
			if k == "source" && d.kind == "profile" {
				continue // words beside a figure
			}
			d.value(field+"."+k, owner, ma[k], mb[k])
		}
	case (aIsList || a == nil) && (bIsList || b == nil):
		d.list(field, owner, la, lb)
	default:
		d.add(field, plainName(field, owner), a, b)
	}
}

// list compares two lists: those of texts as sets, those of things by what
// they are called, the others whole.
func (d *treeDiffer) list(field, owner string, a, b []any) {
	if !all[map[string]any](a) || !all[map[string]any](b) {
		if all[string](a) && all[string](b) {
			gone, come := without(a, b), without(b, a)
			if len(gone)+len(come) > 0 {
				d.add(field, plainName(field, owner), joined(gone), joined(come))
				return
			}
		}
		d.add(field, plainName(field, owner), compact(a), compact(b))
		return
	}
	gone, come := without(a, b), without(b, a)
	if len(gone)+len(come) == 0 {
		d.add(field, plainName(field, owner)+", order", elementNames(a), elementNames(b))
		return
	}
	for _, x := range gone {
		name := elementName(x)
		i := slices.IndexFunc(come, func(y any) bool { return elementName(y) == name })
		if i < 0 {
			d.add(field, plainName(field, owner), name, nil)
			continue
		}
		d.value(field, strings.TrimSpace(owner+" "+name), x, come[i])
		come = slices.Delete(come, i, i+1)
	}
	for _, y := range come {
		d.add(field, plainName(field, owner), nil, elementName(y))
	}
}

func (d *treeDiffer) texts(field string, a, b map[string]string) {
	tree := func(m map[string]string) any {
		out := map[string]any{}
		for k, v := range m {
			out[k] = v
		}
		return out
	}
	d.value(field, "", tree(a), tree(b))
}

// given turns what says nothing into nil, and the path of a table into its
// name: where a file lies is no setting, and its content is among the inputs.
func given(field string, v any) any {
	switch v := v.(type) {
	case string:
		if v == "" {
			return nil
		}
		if strings.HasSuffix(field, ".table") || field == "survey.legend" {
			return filepath.Base(v)
		}
	case bool:
		if !v {
			return nil
		}
	case float64:
		if v == 0 {
			return nil
		}
	case []any:
		if len(v) == 0 {
			return nil
		}
		out := make([]any, len(v))
		for i, e := range v {
			out[i] = e
			if _, ok := e.(map[string]any); ok {
				if out[i] = given(field, e); out[i] == nil {
					out[i] = map[string]any{}
				}
			}
		}
		return out
	case map[string]any:
		out := map[string]any{}
		for k, e := range v {
			if e = given(field+"."+k, e); e != nil {
				out[k] = e
			}
		}
		if len(out) == 0 {
			return nil
		}
		return out
	}
	return v
}

func all[T any](list []any) bool {
	return !slices.ContainsFunc(list, func(v any) bool { _, ok := v.(T); return !ok })
}

// without is a less what b holds, each as often as it stands there.
func without(a, b []any) []any {
	rest := slices.Clone(b)
	var out []any
	for _, x := range a {
		if i := slices.IndexFunc(rest, func(y any) bool { return reflect.DeepEqual(given("", x), given("", y)) }); i >= 0 {
			rest = slices.Delete(rest, i, i+1)
			continue
		}
		out = append(out, x)
	}
	return out
}

// elementName is what one thing of a list is called.
func elementName(v any) string {
	m, _ := v.(map[string]any)
	for _, k := range []string{"name", "id", "host", "reason", "preset", "layer", "cover"} {
		if e := given("", m[k]); e != nil {
			return compactText(e)
		}
	}
	return "unnamed"
}

func elementNames(list []any) string {
	var out []string
	for _, v := range list {
		out = append(out, elementName(v))
	}
	return strings.Join(out, ", ")
}

func joined(list []any) any {
	if len(list) == 0 {
		return nil
	}
	var out []string
	for _, v := range list {
		out = append(out, fmt.Sprint(v))
	}
	return strings.Join(out, ", ")
}

func compact(list []any) any {
	if len(list) == 0 {
		return nil
	}
	return compactText(list)
}

func compactText(v any) string {
	if s, ok := v.(string); ok {
		return s
	}
	data, err := json.Marshal(v)
	if err != nil {
		return fmt.Sprint(v)
	}
	return string(data)
}
