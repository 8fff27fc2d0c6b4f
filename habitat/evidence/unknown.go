package evidence

import (
	"fmt"
	"strings"
)

// unknowns counts values that the table does not know, first seen first.
type unknowns struct {
	list []*unknownValue
	at   map[[2]string]*unknownValue
}

type unknownValue struct {
	field, text, what string
	n                 int64
}

func (u *unknowns) add(field, text string, n int64, what string) {
	key := [2]string{field, text}
	v := u.at[key]
	if v == nil {
		v = &unknownValue{field: field, text: text, what: what}
		if u.at == nil {
			u.at = map[[2]string]*unknownValue{}
		}
		u.at[key] = v
		u.list = append(u.list, v)
	}
	v.n += n
}

// String names the first few, "" where there are none.
func (u *unknowns) String() string {
	if len(u.list) == 0 {
		return ""
	}
	const most = 5
	var parts []string
	for i, v := range u.list {
		if i == most {
			parts = append(parts, fmt.Sprintf("and %d more", len(u.list)-most))
			break
		}
		parts = append(parts, fmt.Sprintf("%s %q (%s)", v.field, short(v.text), many(v.n, v.what)))
	}
	noun := "values"
	if len(u.list) == 1 {
		noun = "value"
	}
	return fmt.Sprintf("%s %s", noun, strings.Join(parts, ", "))
}

// many is a number with its noun: "1 cell", "2 cells".
func many(n int64, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
