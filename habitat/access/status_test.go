package access

import (
	"strings"
	"testing"
)

func TestStatusWords(t *testing.T) {
	for _, c := range []struct {
		s     Status
		word  string
		label string
		order int
	}{
		{Unknown, "unknown", "not known: ask the owner first", 2},
		{Open, "open", "open to the public; collecting may still need permission", 0},
		{Permit, "permit", "permit or registration needed", 1},
		{Private, "private", "private: ask the owner first", 2},
		{Closed, "closed", "closed", 3},
		{Status(9), "status 9", "not known: ask the owner first", 2},
	} {
		if c.s.String() != c.word || c.s.Label() != c.label || Order(c.s) != c.order {
			t.Errorf("%d: %q, %q, order %d; want %q, %q, %d", c.s, c.s, c.s.Label(), Order(c.s), c.word, c.label, c.order)
		}
		got, err := ParseStatus("  " + strings.ToUpper(c.word) + "\t")
		if c.s < statuses && (err != nil || got != c.s) {
			t.Errorf("%q is read as %v, %v", c.word, got, err)
		}
		if c.s >= statuses && (err == nil || got != Unknown) {
			t.Errorf("%q is read as %v without an error", c.word, got)
		}
	}
	if Unknown != 0 {
		t.Error("ground in no polygon is 0 in a plane and must be unknown")
	}
}

func TestByCaution(t *testing.T) {
	all := ByCaution()
	if len(all) != statuses {
		t.Fatalf("%d statuses in the order of caution, want %d", len(all), statuses)
	}
	for i, s := range []Status{Closed, Unknown, Private, Permit, Open} {
		if all[i] != s || caution(s) != statuses-1-i {
			t.Errorf("place %d: %v, caution %d; want %v", i, all[i], caution(s), s)
		}
	}
}
