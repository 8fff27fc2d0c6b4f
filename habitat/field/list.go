package field

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Tally is what a store holds, counted.
type Tally struct {
	Rows, Trips, Stops int
	First, Last        string // days, "" when there are none
	Minutes            float64
	Trees, Finds       int // inspected; with finds, as told
	Confirmed          int // of the finds
	Refuted            int
	Hosts              []HostTally // most trees first
	Flags              []FlagTally // most rows first
}

// HostTally counts the rows of one host.
type HostTally struct {
	Host                        string
	Stops, Absent, Trees, Finds int // Absent: stops where it was looked for and not there
	Confirmed                   int // finds with a spore print that says yes
}

// FlagTally counts the rows that carry one flag.
type FlagTally struct {
	Flag string
	Rows int
}

// Count tallies records. A trip is a day and an observer, a stop a day and its name.
func Count(records []Record) Tally {
	var t Tally
	trips, stops, flags := map[string]bool{}, map[string]bool{}, map[string]int{}
	hosts := map[string]*HostTally{}
	hostStops, absent := map[string]map[string]bool{}, map[string]map[string]bool{}
	for _, r := range records {
		stop := digest(r.Day(), r.Stop)
		t.Rows++
		trips[digest(r.Day(), r.Observer)], stops[stop] = true, true
		if d := r.Day(); t.First == "" || d < t.First {
			t.First = d
		}
		t.Last = max(t.Last, r.Day())
		t.Minutes += r.Minutes
		t.Trees, t.Finds = t.Trees+r.Inspected, t.Finds+r.Found
		for _, f := range r.Flags {
			flags[f]++
		}
		h := hosts[r.Host]
		if h == nil {
			h = &HostTally{Host: r.Host}
			hosts[r.Host], hostStops[r.Host], absent[r.Host] = h, map[string]bool{}, map[string]bool{}
		}
		hostStops[r.Host][stop] = true
		if r.Absent() {
			absent[r.Host][stop] = true
		}
		h.Trees, h.Finds = h.Trees+r.Inspected, h.Finds+r.Found
		switch r.Confirmed {
		case "yes":
			h.Confirmed, t.Confirmed = h.Confirmed+r.Found, t.Confirmed+r.Found
		case "no":
			t.Refuted += r.Found
		}
	}
	t.Trips, t.Stops = len(trips), len(stops)
	for id, h := range hosts {
		h.Stops, h.Absent = len(hostStops[id]), len(absent[id])
		t.Hosts = append(t.Hosts, *h)
	}
	slices.SortFunc(t.Hosts, func(a, b HostTally) int {
		return cmp.Or(cmp.Compare(b.Trees, a.Trees), cmp.Compare(b.Stops, a.Stops), cmp.Compare(a.Host, b.Host))
	})
	for f, n := range flags {
		t.Flags = append(t.Flags, FlagTally{f, n})
	}
	slices.SortFunc(t.Flags, func(a, b FlagTally) int {
		return cmp.Or(cmp.Compare(b.Rows, a.Rows), cmp.Compare(a.Flag, b.Flag))
	})
	return t
}

// Text is the tally for a person, no line wider than 80 columns.
func (t Tally) Text() string {
	var b strings.Builder
	if t.Rows == 0 {
		return "No records yet.\n"
	}
	fmt.Fprintf(&b, "%s, %s, %s, from %s to %s\n", counted(t.Trips, "trip"), counted(t.Stops, "stop"), counted(t.Rows, "row"), t.First, t.Last)
	if t.Minutes > 0 {
		fmt.Fprintf(&b, "%s at the stops\n", hours(t.Minutes))
	}
	fmt.Fprintf(&b, "%s inspected, %d with finds\n%d of these confirmed by spore print", counted(t.Trees, "tree"), t.Finds, t.Confirmed)
	if t.Refuted > 0 {
		fmt.Fprintf(&b, ", %d not it", t.Refuted)
	}
	if n := t.Finds - t.Confirmed - t.Refuted; n > 0 {
		fmt.Fprintf(&b, ", %d not confirmed", n)
	}
	b.WriteString("\n\n  host                       stops  absent   trees   finds  confirmed\n")
	for _, h := range t.Hosts {
		name := h.Host
		if name == "" {
			name = "not told"
		}
		if r := []rune(name); len(r) > 25 {
			name = string(r[:24]) + "…"
		}
		fmt.Fprintf(&b, "  %-25s  %5d  %6d  %6d  %6d  %9d\n", name, h.Stops, h.Absent, h.Trees, h.Finds, h.Confirmed)
	}
	if len(t.Flags) > 0 {
		b.WriteString("\nFlagged\n")
		for _, f := range t.Flags {
			name := f.Flag
			if r := []rune(name); len(r) > 60 {
				name = string(r[:59]) + "…"
			}
			fmt.Fprintf(&b, "  %s: %s\n", counted(f.Rows, "row"), name)
		}
	}
	b.WriteString("\n" + SafetyLine + "\n")
	return b.String()
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func hours(minutes float64) string {
	if minutes < 60 {
		return fmt.Sprintf("%.0f min", minutes)
	}
	return fmt.Sprintf("%d h %02d min", int(minutes)/60, int(minutes)%60)
}
