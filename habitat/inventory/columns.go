package inventory

import (
	"fmt"
	"strings"
)

// layout is where the fields of a record stand, by position; −1 for none.
type layout struct {
	x, y, species, diameter, status, expansion int

	speciesName string // that column's name

	lonLat    bool    // x and y are called longitude and latitude
	cm        float64 // centimetres per unit of the diameter column
	noColumns []string
}

// choose finds the columns of a source. withPlace asks for x and y too.
func (s TreeSource) choose(names []string, withPlace bool) (layout, error) {
	l := layout{x: -1, y: -1, cm: 1}
	if at(names, plotColumn) >= 0 {
		return l, fmt.Errorf("it has a column %q: these are plot samples (trees per acre), not a census of trees; make a raster of trees per hectare from them", names[at(names, plotColumn)])
	}
	var err error
	if withPlace {
		if l.x, l.y, l.lonLat, err = s.pickPlace(names); err != nil {
			return l, err
		}
	}
	for _, c := range []struct {
		to          *int
		field, want string
		usual       []string
	}{
		{&l.species, "species", s.Columns.Species, usual.species},
		{&l.diameter, "diameter", s.Columns.Diameter, usual.diameter},
		{&l.status, "status", s.Columns.Status, usual.status},
		{&l.expansion, "expansion", s.Columns.Expansion, usual.expansion},
	} {
		if *c.to, err = pick(c.field, c.want, c.usual, names); err != nil {
			return l, err
		}
	}
	for _, i := range []int{l.x, l.y, l.species, l.diameter, l.status, l.expansion} {
		if i >= 0 && at(names[i+1:], strings.TrimSpace(names[i])) >= 0 {
			return l, fmt.Errorf("column %s is there twice; give one of them another name", quote(names[i]))
		}
	}
	if l.species < 0 {
		return l, fmt.Errorf("species column is missing; found are %s: name the one to use", list(names))
	}
	l.speciesName = strings.TrimSpace(names[l.species])
	if l.diameter < 0 {
		l.noColumns = append(l.noColumns, "no diameter column: trees of every size count")
	} else if l.cm, err = s.diameterFactor(names[l.diameter]); err != nil {
		return l, err
	}
	if l.status < 0 {
		l.noColumns = append(l.noColumns, "no status column: the profile's dead share stays")
	}
	return l, nil
}

// pickPlace finds x and y, or longitude and latitude. Columns named by the user
// count as longitude and latitude when they are called so.
func (s TreeSource) pickPlace(names []string) (x, y int, lonLat bool, err error) {
	if (s.Columns.X == "") != (s.Columns.Y == "") {
		return -1, -1, false, fmt.Errorf("columns x and y: name both or neither")
	}
	if s.Columns.X != "" {
		if x, err = pick("x", s.Columns.X, nil, names); err != nil {
			return
		}
		if y, err = pick("y", s.Columns.Y, nil, names); err != nil {
			return
		}
		return x, y, at(usual.lon, names[x]) >= 0 && at(usual.lat, names[y]) >= 0, nil
	}
	x, y = first(names, usual.x), first(names, usual.y)
	lon, lat := first(names, usual.lon), first(names, usual.lat)
	plane, globe := x >= 0 && y >= 0, lon >= 0 && lat >= 0
	switch {
	case plane && (s.CRS != "" || !globe):
		return x, y, false, nil
	case globe:
		return lon, lat, true, nil
	}
	return -1, -1, false, fmt.Errorf("columns of the place are missing: neither x and y nor lon and lat; found are %s: name the ones to use", list(names))
}

// pick finds the column a field is read from; −1 when nothing was asked for
// and nothing usual is there.
func pick(field, want string, usual, names []string) (int, error) {
	if want == "" {
		return first(names, usual), nil
	}
	if i := at(names, want); i >= 0 {
		return i, nil
	}
	return -1, fmt.Errorf("%s column %q is missing; found are %s", field, want, list(names))
}

func first(names, usual []string) int {
	for _, u := range usual {
		if i := at(names, u); i >= 0 {
			return i
		}
	}
	return -1
}

func at(names []string, want string) int {
	for i, n := range names {
		if strings.EqualFold(strings.TrimSpace(n), want) {
			return i
		}
	}
	return -1
}

// list names columns for a message, the first dozen of them.
func list(names []string) string {
	var out []string
	for i, n := range names {
		if i == 12 {
			out = append(out, fmt.Sprintf("and %d more", len(names)-i))
			break
		}
		out = append(out, quote(n))
	}
	if len(out) == 0 {
		return "none"
	}
	return strings.Join(out, ", ")
}

// quote is a user's text for a message, cut short.
func quote(s string) string {
	if r := []rune(s); len(r) > 40 {
		s = string(r[:39]) + "…"
	}
	return fmt.Sprintf("%q", s)
}
