package inventory

import (
	"strings"

	"rillwood/vector"
)

// Codes of the US forest inventory for trees named to the genus only: elm spp.,
// ash spp., cottonwood and poplar spp., willow spp. Source: USDA Forest Service,
// species crosswalk of the Forest Vegetation Simulator; 920 from memory. Some
// public tables exchange 971, 972 and 975: here 971 is winged elm, 972
// American elm, 975 slippery elm.
var genusCodes = map[int]string{970: "ulmus", 540: "fraxinus", 740: "populus", 920: "salix"}

// wingedElm is the code that tables with exchanged elms give to another elm.
const wingedElm = 971

// genusWords are everyday names for a genus or a part of one (common practice,
// no source). Maple is not among them: most maples named just so are sugar
// maples, which are no host.
var genusWords = map[string]string{"elm": "ulmus", "ash": "fraxinus", "poplar": "populus", "cottonwood and poplar": "populus", "willow": "salix", "aspen": "populus", "cottonwood": "populus"}

// part is what one record gives to a host: a whole tree, or a share of one.
type part struct {
	host  int
	share float64
}

// speciesTable finds the hosts a record's species stands for.
type speciesTable struct {
	codes  map[int][]part
	names  map[string][]part // ids, common and scientific names, as plainName gives them
	genera map[string][]part // genus → its hosts by their densities
	words  map[string][]part // everyday names for several hosts
}

func newSpeciesTable(hosts []Host) *speciesTable {
	t := &speciesTable{codes: map[int][]part{}, names: map[string][]part{}, genera: map[string][]part{}, words: map[string][]part{}}
	byGenus := map[string][]int{}
	for i, h := range hosts {
		one := []part{{i, 1}}
		if _, taken := t.codes[h.FIA]; h.FIA > 0 && !taken {
			t.codes[h.FIA] = one
		}
		for _, name := range []string{h.ID, h.Common, h.Scientific} {
			if name = plainName(name); name == "" {
				continue
			}
			if _, taken := t.names[name]; !taken {
				t.names[name] = one
			}
		}
		if genus, _, _ := strings.Cut(plainName(h.Scientific), " "); genus != "" {
			byGenus[genus] = append(byGenus[genus], i)
		}
	}
	for genus, list := range byGenus {
		t.genera[genus] = shareOut(hosts, list)
	}
	for code, genus := range genusCodes {
		if _, taken := t.codes[code]; !taken && t.genera[genus] != nil {
			t.codes[code] = t.genera[genus]
		}
	}
	for word, genus := range genusWords {
		// "aspen" is shared over the aspens, not over the cottonwood beside them.
		var named []int
		for _, i := range byGenus[genus] {
			if strings.HasSuffix(" "+plainName(hosts[i].Common), " "+word) {
				named = append(named, i)
			}
		}
		if t.words[word] = shareOut(hosts, named); named == nil {
			t.words[word] = t.genera[genus]
		}
	}
	return t
}

// shareOut divides one tree over hosts in proportion to their densities, or
// evenly when none has one.
func shareOut(hosts []Host, list []int) []part {
	sum := 0.0
	for _, i := range list {
		sum += hosts[i].DensityHa
	}
	var out []part
	for _, i := range list {
		share := 1 / float64(len(list))
		if sum > 0 {
			share = hosts[i].DensityHa / sum
		}
		out = append(out, part{i, share})
	}
	return out
}

// find gives the hosts of a species field: a code, a host's id, a common name
// (also "elm, American") or a scientific name with or without its author. nil
// means no host.
func (t *speciesTable) find(v vector.Value) []part {
	if code, ok := v.Int(); ok {
		return t.codes[int(code)]
	}
	name := plainName(v.String())
	if p := t.names[name]; p != nil {
		return p
	}
	words := strings.Fields(name)
	if len(words) == 0 {
		return nil
	}
	if len(words) > 1 {
		if p := t.names[words[0]+" "+words[1]]; p != nil && t.genera[words[0]] != nil {
			return p // an author, a variety or a common name follows
		}
	}
	whole := strings.Join(words, " ")
	switch words[len(words)-1] {
	case "sp", "spp", "species":
		whole = strings.Join(words[:len(words)-1], " ")
	}
	if p := t.genera[whole]; p != nil && genusIsShared(whole) {
		return p
	}
	return t.words[whole]
}

// genusIsShared tells whether trees known by genus only may be shared out over
// its hosts; the same genera by name as by code.
func genusIsShared(genus string) bool {
	for _, g := range genusCodes {
		if g == genus {
			return true
		}
	}
	return false
}

// plainName makes names comparable: lower case, hyphens and dots as spaces,
// "elm, American" turned round.
func plainName(s string) string {
	if last, first, ok := strings.Cut(s, ","); ok && len(strings.Fields(last)) == 1 {
		s = first + " " + last
	}
	s = strings.Map(func(r rune) rune {
		switch r {
		case '-', '_', '.', ',', '\u00a0':
			return ' '
		}
		return r
	}, strings.ToLower(s))
	return strings.Join(strings.Fields(s), " ")
}
