package access

import (
	"fmt"
	"strings"
)

// Status is who may enter ground. Planes hold it as one byte.
type Status uint8

// The statuses. Unknown is the zero value: ground in no polygon, or named so.
const (
	Unknown Status = iota
	Open
	Permit
	Private
	Closed
)

// statuses is how many there are.
const statuses = 5

var statusNames = [statuses]string{"unknown", "open", "permit", "private", "closed"}

var labels = [statuses]string{
	Unknown: "not known: ask the owner first",
	Open:    "open to the public; collecting may still need permission",
	Permit:  "permit or registration needed",
	Private: "private: ask the owner first",
	Closed:  "closed",
}

// String is the status in one word, as in a survey file.
func (s Status) String() string {
	if s < statuses {
		return statusNames[s]
	}
	return fmt.Sprintf("status %d", uint8(s))
}

// Label is the status in words for the visitor.
func (s Status) Label() string {
	if s < statuses {
		return labels[s]
	}
	return labels[Unknown]
}

// ParseStatus reads the word that String gives, whatever the case and the
// spaces around it.
func ParseStatus(word string) (Status, error) {
	for s, n := range statusNames {
		if fold(word) == n {
			return Status(s), nil
		}
	}
	return Unknown, fmt.Errorf("%q is no status; use one of %s", word, strings.Join(statusNames[:], ", "))
}

// ByCaution lists the statuses, the most cautious first: that is the order in
// which they win where ground is named twice. Unknown stands before private: of
// private ground it is known whom to ask.
func ByCaution() []Status { return []Status{Closed, Unknown, Private, Permit, Open} }

// caution is the place in the order of caution, 0 for Open.
func caution(s Status) int {
	for i, t := range ByCaution() {
		if s == t {
			return statuses - 1 - i
		}
	}
	return caution(Unknown)
}

// Order is the tier of ground in a shortlist, lower first: open 0, permit 1,
// private and unknown 2, closed 3.
func Order(s Status) int {
	switch s {
	case Open:
		return 0
	case Permit:
		return 1
	case Closed:
		return 3
	}
	return 2
}
