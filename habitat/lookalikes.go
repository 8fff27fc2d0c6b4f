package habitat

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// Lookalikes says what may be taken for the target, and how to tell. Each
// target has its own; the cautions of every map carry them.
type Lookalikes struct {
	Title  string `yaml:"title"`  // a few words
	Text   string `yaml:"text"`   // which ones, how grave, how to tell them
	Check  string `yaml:"check"`  // what to do with every find before anything is eaten
	Source string `yaml:"source"` // of these facts
}

// OwnCaution is a warning that a target needs beside those that every map has.
type OwnCaution struct {
	Key    string `yaml:"key"` // stable name, small letters and dashes
	Title  string `yaml:"title"`
	Text   string `yaml:"text"`
	Source string `yaml:"source"`
}

// Profiles written before look-alikes had a section all looked for this target.
const firstTarget = "Flammulina"

// Amatoxins in Galerina: naturalist and state mycology pages; spore colour:
// CRC handbook; the rest: practice of mycological societies, from memory.
var firstLookalikes = Lookalikes{
	Title: "A deadly twin",
	Text:  "Deadly Galerina grows on the same dead wood in the same months, even on the same log, and cooking, drying or freezing does not make it safe. It leaves a rusty-brown spore print and may have a ring, which often wears off; velvet-stemmed Flammulina prints white and never has a ring.",
	Check: "Check every single cap and make a spore print of every cluster, half on white and half on dark paper. Have an expert confirm the first finds, eat none raw, keep a sample, and when in doubt throw it out.",
}

// lookalikes are those of the profile.
func (p *Profile) lookalikes() Lookalikes {
	if p.Lookalikes == nil {
		return firstLookalikes
	}
	return *p.Lookalikes
}

// Bounds of a warning in characters: one that says nothing is none, and one
// that goes on for pages is not read.
const leastWarning, mostWarning = 60, 600

// checkLookalikes refuses a target that no one is warned of.
func (p *Profile) checkLookalikes() error {
	l := p.Lookalikes
	if l == nil {
		if !strings.Contains(p.Target.Scientific, firstTarget) {
			return wrong("lookalikes", "missing; say with title, text and check what may be taken for %q and how to tell", oneLine(p.Target.Scientific))
		}
	} else {
		for _, f := range []struct {
			path, text  string
			least, most int
		}{
			{"lookalikes.title", l.Title, 3, 60},
			{"lookalikes.text", l.Text, leastWarning, mostWarning},
			{"lookalikes.check", l.Check, leastWarning, mostWarning},
		} {
			if err := warningLength(f.path, f.text, f.least, f.most); err != nil {
				return err
			}
		}
	}
	return checkOwnCautions(p.OwnCautions)
}

func checkOwnCautions(list []OwnCaution) error {
	const most = 10
	if len(list) > most {
		return wrong("cautions", "%d of them, more than the %d allowed", len(list), most)
	}
	taken := map[string]bool{}
	for _, key := range commonKeys {
		taken[key] = true
	}
	for i, c := range list {
		at := fmt.Sprintf("cautions[%d]", i)
		if err := checkName(at+".key", c.Key); err != nil {
			return err
		}
		if taken[c.Key] {
			return wrong(at+".key", "a caution called %s is there already", c.Key)
		}
		taken[c.Key] = true
		if err := warningLength(at+".title", c.Title, 3, 60); err != nil {
			return err
		}
		if err := warningLength(at+".text", c.Text, 20, mostWarning); err != nil {
			return err
		}
	}
	return nil
}

func warningLength(path, text string, least, most int) error {
	if n := utf8.RuneCountInString(strings.TrimSpace(text)); n < least || n > most {
		return wrong(path, "expected %d to %d characters, found %d", least, most, n)
	}
	return nil
}
