package access

import (
	"fmt"
	"slices"
	"strings"
)

// Values says what the values of a column mean. Keys are matched whatever
// their case and the spaces around them; whole numbers are written as usual, "1".
type Values map[string]Status

// ProtectedAreas is the public access of the US inventory of protected areas:
// the codes of its column Pub_Access, and the same spelt out. Source: the
// inventory's data dictionary (codes read, the spelt-out words from memory).
func ProtectedAreas() Values {
	return Values{
		"oa": Open, "open access": Open, "open": Open,
		// Restricted: by permit or registration, or at very variable hours.
		"ra": Permit, "restricted access": Permit, "restricted": Permit,
		"xa": Closed, "closed access": Closed, "closed": Closed,
		"uk": Unknown, "unknown access": Unknown, "unknown": Unknown,
	}
}

// StreetMap is the tag access of open street maps (meanings from memory).
// Leave given to some only (customers, residents, deliveries, farm and forest
// work) is private to everyone else. Keys are in lower case.
func StreetMap() Values {
	return Values{
		"yes": Open, "public": Open, "designated": Open, "permissive": Open,
		"permit":  Permit,
		"private": Private, "customers": Private, "destination": Private, "residents": Private, "delivery": Private,
		"members": Private, "employees": Private, "agricultural": Private, "forestry": Private,
		"no": Closed, "military": Closed, "emergency": Closed,
		"unknown": Unknown, "discouraged": Unknown,
	}
}

// both are the values that are known without a table; the two tables
// do not contradict each other.
func both() Values {
	v := ProtectedAreas()
	for k, s := range StreetMap() {
		v[k] = s
	}
	return v
}

// overBuiltIn is a user's table laid over the built-in ones, folded: a value the
// user names wins, all others keep their meaning, so that closed ground stays
// closed when the table does not speak of it.
func (v Values) overBuiltIn() (Values, error) {
	own, err := v.folded()
	if err != nil {
		return nil, err
	}
	all := both()
	for k, s := range own {
		all[k] = s
	}
	return all, nil
}

func fold(s string) string { return strings.ToLower(strings.TrimSpace(s)) }

// folded gives the table with its keys folded. Keys that become the same must
// mean the same.
func (v Values) folded() (Values, error) {
	keys := make([]string, 0, len(v))
	for k := range v {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	out := make(Values, len(v))
	from := make(map[string]string, len(v))
	for _, k := range keys {
		if v[k] >= statuses {
			return nil, fmt.Errorf("value %q means %v; use one of %s", k, v[k], strings.Join(statusNames[:], ", "))
		}
		if s, known := out[fold(k)]; known && s != v[k] {
			return nil, fmt.Errorf("values %q and %q are the same but for case or spaces, yet one means %v and the other %v; leave one out", from[fold(k)], k, s, v[k])
		}
		out[fold(k)], from[fold(k)] = v[k], k
	}
	return out, nil
}

// status looks a text up in a folded table. A list joined by semicolons, as
// street maps have it, means the most cautious of its parts. What is not in
// the table is unknown, never open.
func (v Values) status(text string) (s Status, known bool) {
	if s, known = v[fold(text)]; known || !strings.Contains(text, ";") {
		return s, known
	}
	known = true
	for i, part := range strings.Split(text, ";") {
		p, ok := v[fold(part)]
		known = known && ok
		if i == 0 || caution(p) > caution(s) {
			s = p
		}
	}
	return s, known
}
