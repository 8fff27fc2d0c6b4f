package habitat

import (
	"fmt"
	"strings"

	"rillwood/habitat/access"
)

// summariseLayers says what the further layers did, and what a missing one
// means.
func (p *publication) summariseLayers(s *Summary) {
	g := p.ground
	s.Evidence, s.Measured, s.Access, s.KeptOut = []string{}, []string{}, []string{}, []string{}
	for _, item := range g.items {
		cells, up := int64(0), 0
		for _, c := range item.Classes {
			cells += c.Cells
			if c.Shift > 0 {
				up++
			}
		}
		s.Evidence = append(s.Evidence, fmt.Sprintf("%s, %s: says something on %s", item.Layer, item.Field, hectares(float64(cells)*g.frame.CellHa())))
	}
	if len(g.items) > 0 {
		s.Evidence = append(s.Evidence, fmt.Sprintf("together they speak for bottomland on %s and against it on %s", hectares(float64(g.shifts.Up)*g.frame.CellHa()), hectares(float64(g.shifts.Down)*g.frame.CellHa())))
	}
	if g.flatness != nil {
		s.Evidence = append(s.Evidence, "valley flatness, from the elevation")
	}
	s.Measured = p.measuredLines()
	if g.access != nil {
		var ha [landKinds]float64
		for i := range p.short.Candidates {
			ha[p.short.Candidates[i].Access] += p.short.Candidates[i].AreaHa
		}
		for st := range access.Status(landKinds) {
			if ha[st] > 0 {
				s.Access = append(s.Access, fmt.Sprintf("%s %s", st, hectares(ha[st])))
			}
		}
	}
	if g.keepOut != nil {
		for i, r := range g.keepOut.Reasons {
			s.KeptOut = append(s.KeptOut, fmt.Sprintf("%s %s", r, hectares(float64(p.judged.kept[i+1])*g.frame.CellHa())))
		}
	}
	switch {
	case !p.in.Survey.Approach.given():
		s.Approach = "not known: no paths or roads are named"
	default:
		n := 0
		for i := range p.short.Candidates {
			if w := p.short.Candidates[i].Walk; w != nil && w.OK {
				n++
			}
		}
		s.Approach = fmt.Sprintf("found for %d of %d patches", n, len(p.short.Candidates))
	}
}

// measuredLines tell the inventory: hosts of one source and extent together.
func (p *publication) measuredLines() []string {
	type from struct {
		what  string
		cells int64
	}
	var order []from
	hosts := map[from][]string{}
	for _, m := range p.ground.measured {
		f := from{m.From, m.Cells}
		if hosts[f] == nil {
			order = append(order, f)
		}
		hosts[f] = append(hosts[f], p.table.any().Hosts[m.Host].Common)
	}
	lines := []string{}
	for _, f := range order {
		who := strings.Join(hosts[f], ", ")
		if n := len(hosts[f]); n > 3 {
			who = fmt.Sprintf("%d hosts", n)
		}
		lines = append(lines, fmt.Sprintf("%s on %s (%s)", who, hectares(float64(f.cells)*p.ground.frame.CellHa()), f.what))
	}
	return lines
}

// layerLines are the lines of the summary on the further layers.
func (s Summary) layerLines() [][2]string {
	or := func(list []string, none string) string {
		if len(list) == 0 {
			return none
		}
		text := list[0]
		for _, l := range list[1:] {
			text += "; " + l
		}
		return text
	}
	lines := [][2]string{
		{"evidence", or(s.Evidence, "none beside the terrain: no shift")},
		{"inventory", or(s.Measured, "no trees measured: all by the profile")},
		{"access", or(s.Access, "not known anywhere: ask the owner first")},
		{"kept out", or(s.KeptOut, "no ground to keep out of is named")},
		{"ways in", s.Approach},
	}
	return lines
}
