package habitat

import "fmt"

// Caution is one warning that goes with every map, in plain words.
type Caution struct {
	Key   string // stable name, for pages and tests
	Title string // a few words
	Text  string // one or two sentences
	Short bool   // belongs to the short list of the terminal
}

// Cautions are all warnings, the gravest first. The facts come from the
// sources named beside each; the words are ours. What may be taken for the
// target, what else its ground holds and the numbers to call come from the
// profile.
func Cautions(p *Profile) []Caution {
	call := fmt.Sprintf("%s or %s (%s)", p.Help.PoisonLine, p.Help.Emergency, p.Help.Where)
	if p.Help.Where == "" {
		call = fmt.Sprintf("%s or %s", p.Help.PoisonLine, p.Help.Emergency)
	}
	look := p.lookalikes()
	list := []Caution{
		// The first rule of the product.
		{"map", "The map is about trees", "A map says where to look, never what is safe to eat. Nothing here identifies a mushroom.", true},
		{"lookalike", look.Title, look.Text, true},
		{"print", "Print and ask", look.Check, true},
		// Course of amatoxin poisoning: Arora; atlas of emergency medicine. Number: US Poison Help.
		{"poison", "If someone ate the wrong one", "Call " + call + " at once, without waiting to feel ill: signs start 6 to 24 hours late, a better day may follow, and the liver fails after it. Take a sample along.", true},
		// Forestry safety; from memory.
		{"snags", "Dead trees fall", "Dead elm and ash drop limbs and tops without warning, ash most of all. Look up first, never shake a trunk, and stay out in wind, ice or thaw.", true},
		// National Weather Service flood and ice guidance; from memory.
		{"water", "Floods and ice", "See the river gauge and the forecast before you go. Never wade or drive through moving water (15 cm can knock you over) and never count on river ice; banks may be undercut.", true},
		// Common first-aid teaching; from memory.
		{"cold", "Cold and short days", "Being wet and in the wind is the fastest way to dangerous cold. Carry dry layers, a light and a paper map, and tell someone where you go and when you will be back.", true},
		// State hunting rules; from memory.
		{"hunting", "Hunting season", "Hunters are out in the same months. Wear blaze orange on head and body and learn the local dates.", true},
		// 36 CFR 2.1(c) for national parks; the rest from memory.
		{"access", "Whose land it is", "The map gives no leave to enter, nor to gather where entry is open. Ask the owner; public land is not always open to gathering, and railway land is private.", true},
		// Kalač 2010, Food Chemistry 122:2–15; from memory.
		{"ground", "What the ground holds", "Mushrooms take up heavy metals. Leave those by roads, railways, sprayed fields, treated timber, mines, works, dumps and dirty river mud.", true},
		// Plant-health rules against bark beetles and borers; from memory.
		{"wood", "Leave the wood", "Do not carry elm or ash wood away, since beetles and disease travel in it, and leave logs whole: they are home to others.", false},
	}
	for _, c := range p.OwnCautions {
		list = append(list, Caution{c.Key, c.Title, c.Text, true})
	}
	return list
}

// commonKeys are the names of the cautions that every map has.
var commonKeys = []string{"map", "lookalike", "print", "poison", "snags", "water", "cold", "hunting", "access", "ground", "wood"}

// ShortCautions are the ones to show at the end of a run.
func ShortCautions(p *Profile) []Caution {
	var short []Caution
	for _, c := range Cautions(p) {
		if c.Short {
			short = append(short, c)
		}
	}
	return short
}
