package field

import (
	"fmt"
	"slices"
	"strings"

	"rillwood/vector"
)

// Host is one entry of the host vocabulary, as a profile has it.
type Host struct{ ID, Common, Scientific, Kin string }

// Vocabulary resolves host words.
type Vocabulary struct {
	ids   map[string]string // plain word → host id
	known []string          // what to name to somebody who wrote an unknown word
}

// NewVocabulary takes ids, common and scientific names; of the words for a
// whole kin (elm, poplar, Ulmus) each means the first host of it in the list.
// The kin "other" is no word.
func NewVocabulary(hosts []Host) *Vocabulary {
	v := &Vocabulary{ids: map[string]string{}}
	put := func(word, id string) {
		if w := plain(word); w != "" && v.ids[w] == "" {
			v.ids[w] = id
		}
	}
	for _, w := range []string{NoHost, "no host", "no hosts", "nothing", "no trees"} {
		put(w, NoHost)
	}
	for _, h := range hosts {
		put(h.ID, h.ID)
		put(h.Common, h.ID)
		put(h.Scientific, h.ID)
		v.known = append(v.known, h.ID)
	}
	for _, h := range hosts {
		if h.Kin != "other" {
			put(h.Kin, h.ID)
		}
		genus, _, _ := strings.Cut(h.Scientific, " ")
		put(genus, h.ID)
		// The last word of a common name: "cottonwood", "sycamore", "aspen".
		if f := strings.Fields(h.Common); len(f) > 0 {
			put(f[len(f)-1], h.ID)
		}
	}
	return v
}

// plain brings a word to the form in which words are compared: small letters,
// words apart by single spaces whatever stood between them.
func plain(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return r == ' ' || r == '-' || r == '_' || r == '.' || r == '\t' || r == '\u00a0'
	}), " ")
}

// Host gives the id a word means; a plural with s is understood.
func (v *Vocabulary) Host(word string) (string, error) {
	if id, ok := v.host(word); ok {
		return id, nil
	}
	words := make([]string, 0, len(v.ids))
	for w := range v.ids {
		words = append(words, w)
	}
	return "", fmt.Errorf("%q is no host of the profile; %s", clipped(word), nearest(word, words, "its hosts are "+strings.Join(v.known, ", ")))
}

func (v *Vocabulary) host(word string) (string, bool) {
	w := plain(word)
	if id, ok := v.ids[w]; ok {
		return id, true
	}
	if id, ok := v.ids[strings.TrimSuffix(w, "s")]; ok {
		return id, true
	}
	id, ok := v.ids[strings.TrimSuffix(w, "es")]
	return id, ok && w != ""
}

// conditionWords are what people write for the state of a tree.
var conditionWords = map[string]string{
	"alive": Alive, "live": Alive, "living": Alive, "green": Alive, "healthy": Alive,
	"dying": Dying, "sick": Dying, "declining": Dying, "yellowing": Dying,
	"dead": DeadStanding, "dead standing": DeadStanding, "standing": DeadStanding, "snag": DeadStanding,
	"fallen": Fallen, "down": Fallen, "downed": Fallen, "log": Fallen, "dead fallen": Fallen, "dead down": Fallen, "windthrown": Fallen,
}

// confirmedWords tell whether a spore print was made and what it said.
var confirmedWords = map[string]string{
	"yes": "yes", "y": "yes", "ok": "yes", "print": "yes", "printed": "yes", "confirmed": "yes", "true": "yes", "white": "yes",
	"no": "no", "n": "no", "not": "no", "false": "no", "rusty": "no", "brown": "no", "wrong": "no",
}

// Condition gives the condition a word means; "" for "" and words such as "?".
func Condition(word string) (string, error) { return among(conditionWords, word, "a condition") }

// Confirmed gives what a word tells of the spore print; "" for "" and "?".
func Confirmed(word string) (string, error) {
	return among(confirmedWords, word, "an answer to: confirmed by spore print")
}

func among(words map[string]string, word, what string) (string, error) {
	w := plain(word)
	if w == "" || w == "?" || w == "unknown" || w == "unsure" {
		return "", nil
	}
	if v, ok := words[w]; ok {
		return v, nil
	}
	list := make([]string, 0, len(words))
	for k := range words {
		list = append(list, k)
	}
	slices.Sort(list)
	return "", fmt.Errorf("%q is not %s; %s", clipped(word), what, nearest(word, list, "known are "+strings.Join(list, ", ")))
}

// nearest proposes the known word that few letters part from the word, or else
// says otherwise.
func nearest(word string, known []string, otherwise string) string {
	if len([]rune(plain(word))) < 3 { // any other word of two letters is as near
		return otherwise
	}
	slices.Sort(known)
	if best, ok := vector.NearestName(plain(word), known); ok {
		return fmt.Sprintf("did you mean %q?", best)
	}
	return otherwise
}
