package inventory

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"rillwood/vector"
)

// Codes: case legends, fia_spcd (USDA Forest Service, species crosswalk of the
// Forest Vegetation Simulator; willows from memory).
func TestPublishedSpeciesCodes(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("..", "..", "fixtures", "cases", "legends.json"))
	if err != nil {
		t.Fatal(err)
	}
	var published struct {
		Codes map[string]int `json:"fia_spcd"`
	}
	if err := json.Unmarshal(b, &published); err != nil {
		t.Fatal(err)
	}
	if len(published.Codes) != 26 {
		t.Fatalf("%d codes in the case, want 26", len(published.Codes))
	}
	// A host for every species of the list, with its published code.
	var hosts []Host
	for name, code := range published.Codes {
		if _, genus := genusCodes[code]; !genus {
			hosts = append(hosts, Host{ID: "x", Scientific: name, FIA: code, DensityHa: 1})
		}
	}
	table := newSpeciesTable(hosts)
	for name, code := range published.Codes {
		byCode, byName := table.find(vector.IntValue(int64(code))), table.find(vector.TextValue(name))
		if len(byCode) == 0 || !cmp.Equal(byCode, byName, cmp.AllowUnexported(part{})) {
			t.Errorf("%s: by code %d %v, by name %v", name, code, byCode, byName)
		}
		if _, genus := genusCodes[code]; !genus && hosts[byCode[0].host].Scientific != name {
			t.Errorf("code %d: got %s, want %s", code, hosts[byCode[0].host].Scientific, name)
		}
	}
	for code, genus := range genusCodes {
		if _, ok := published.Codes[string(genus[0]-32)+genus[1:]+" spp."]; !ok {
			t.Errorf("genus code %d, %s: not in the published list", code, genus)
		}
	}
}

func TestSpeciesField(t *testing.T) {
	elms := []part{{0, 0.75}, {1, 0.25}}    // 30 and 10 trees per hectare
	poplars := []part{{2, 0.25}, {3, 0.75}} // 25 and 75
	one := func(h int) []part { return []part{{h, 1}} }
	table := newSpeciesTable(woods())
	for _, c := range []struct {
		name, text string
		want       []part
	}{
		{"code", "972", one(0)},
		{"code kept as a real", "972.0", one(0)},
		{"code with a fraction", "972.5", nil},
		{"code with blanks", " 975 ", one(1)},
		{"winged elm is no host", "971", nil},
		{"elm spp.", "970", elms},
		{"ash spp., one host", "540", one(5)},
		{"cottonwood and poplar spp.", "740", poplars},
		{"willow spp.", "920", one(4)},
		{"a code far off", "9223372036854775807", nil},
		{"host id", "american-elm", one(0)},
		{"common name", "American Elm", one(0)},
		{"common name turned round", "elm, American", one(0)},
		{"scientific name", "Ulmus americana", one(0)},
		{"scientific name with author", "Ulmus americana L.", one(0)},
		{"scientific name, author, place", "Ulmus americana L., 1753", one(0)},
		{"scientific name with a sort", "ULMUS AMERICANA 'Valley'", one(0)},
		{"both names", "Ulmus rubra - slippery elm", one(1)},
		{"another elm", "Ulmus pumila", nil},
		{"a cross", "Ulmus x hollandica", nil},
		{"genus", "Ulmus", elms},
		{"genus sp.", "Ulmus sp.", elms},
		{"genus spp", "ulmus spp", elms},
		{"elm", "elm", elms},
		{"elm spp.", "elm spp.", elms},
		{"aspen is the one aspen", "aspen", one(3)},
		{"cottonwood is the one cottonwood", "Cottonwood", one(2)},
		{"poplar is all of them", "poplar", poplars},
		{"cottonwood and poplar", "cottonwood and poplar spp.", poplars},
		{"maple alone is most often sugar maple", "maple", nil},
		{"the genus of the maples", "Acer spp.", nil},
		{"nothing", "", nil},
		{"only marks", ",-.", nil},
	} {
		if got := table.find(vector.TextValue(c.text)); !cmp.Equal(got, c.want, cmp.AllowUnexported(part{}), cmpopts.EquateApprox(0, 1e-12)) {
			t.Errorf("%s, %q: got %v, want %v", c.name, c.text, got, c.want)
		}
	}
	if got := table.find(vector.Value{}); got != nil {
		t.Errorf("NULL: got %v, want no host", got)
	}
}

func TestShareOutOfHostsWithoutDensity(t *testing.T) {
	got := shareOut([]Host{{}, {}}, []int{0, 1})
	if want := []part{{0, 0.5}, {1, 0.5}}; !cmp.Equal(got, want, cmp.AllowUnexported(part{})) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestStatusField(t *testing.T) {
	for text, want := range map[string]status{
		"1": statusAlive, "2": statusDead, "3": statusRemoved, "0": statusNone, "": statusNone, "4": statusOdd,
		"Alive": statusAlive, "dying": statusDead, "Declining": statusDead, "DEAD": statusDead, "snag": statusDead,
		"fallen": statusDead, "removed": statusRemoved, "standing-dead": statusDead, "poor": statusOdd, "2.0": statusDead,
	} {
		if got := readStatus(vector.TextValue(text)); got != want {
			t.Errorf("%q: got %d, want %d", text, got, want)
		}
	}
	if got := readStatus(vector.Value{}); got != statusNone {
		t.Errorf("NULL: got %d, want none", got)
	}
}
