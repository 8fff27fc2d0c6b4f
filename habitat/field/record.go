package field

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Conditions of a host tree; "" is not told.
const (
	Alive        = "alive"
	Dying        = "dying"
	DeadStanding = "dead-standing"
	Fallen       = "fallen"
)

// NoHost is the Host of a stop where no host tree of any kind was met.
const NoHost = "none"

// Record is one row: the trees of one host, in one condition, at one stop.
//
// Only explicit rows count: a stop tells that a host was absent by a row of
// that host with Inspected 0, or that every host was by one with Host NoHost.
type Record struct {
	ID         string    // names the row, see Identify
	Date       time.Time // the day, at 0 h UTC
	Lon, Lat   float64   // WGS 84, degrees
	AccuracyM  float64   // radius of the position in metres, 0 = not known
	Candidate  int       // rank in a run, 0 = none
	Run        string    // that run's id
	Host       string    // profile id such as american-elm; "" not told, NoHost
	Condition  string    // alive, dying, dead-standing, fallen, "" not told
	Inspected  int       // trees looked at; 0 with a host = looked for, none there
	Found      int       // of them, trees that carried the target
	Minutes    float64   // time spent, told once a stop; 0 = not told
	Observer   string
	Confirmed  string // by spore print: "yes", "no", "" not told
	Note       string
	Stop       string // rows of one place and date belong together
	Flags      []string
	lineNumber int // of the file it came from, for messages
}

// Absent tells whether the row says that its host was looked for and not there.
func (r Record) Absent() bool { return r.Host == NoHost || r.Host != "" && r.Inspected == 0 }

// Day is the date as it is written, 2026-01-31.
func (r Record) Day() string { return r.Date.Format(time.DateOnly) }

// decimals of positions that are kept: about 0.1 m.
const decimals = 1e6

// settle brings a record into the form in which it is kept.
func (r *Record) settle() {
	y, m, d := r.Date.Date()
	r.Date = time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	r.Lon, r.Lat = math.Round(r.Lon*decimals)/decimals+0, math.Round(r.Lat*decimals)/decimals+0
	r.AccuracyM, r.Minutes = math.Round(r.AccuracyM*10)/10+0, math.Round(r.Minutes*10)/10+0
	for _, s := range []*string{&r.Run, &r.Host, &r.Condition, &r.Observer, &r.Confirmed, &r.Note, &r.Stop} {
		*s = Clean(*s)
	}
	for i, f := range r.Flags {
		r.Flags[i] = strings.ReplaceAll(Clean(f), ";", ",")
	}
	if r.Stop == "" {
		// A metre's difference is another reading of the same place at best,
		// but two waypoints of one stop share theirs exactly.
		r.Stop = "at-" + digest(r.Day(), number(math.Round(r.Lon*1e5)), number(math.Round(r.Lat*1e5)))[:10]
	}
}

// Identify settles the records of one file and gives them their ids.
//
// An id is the hash of what names a row: its day, stop, host, condition and
// observer, and of several such rows in one file (single trees) its place
// among them. Counts and notes are not part of it, so that the same trip read
// twice is known again and a corrected row is seen to be one.
func Identify(records []Record) {
	nth := map[string]int{}
	for i := range records {
		r := &records[i]
		r.settle()
		key := digest("1", r.Day(), r.Stop, r.Host, r.Condition, r.Observer)
		nth[key]++
		r.ID = digest(key, strconv.Itoa(nth[key]))[:16]
	}
}

// same tells whether two records say the same; flags are ours, not theirs.
func (r Record) same(o Record) bool { return slices.Equal(r.content(), o.content()) }

// content is all that was told of a row, as text.
func (r Record) content() []string {
	return []string{
		r.Day(), number(r.Lon), number(r.Lat), number(r.AccuracyM), r.Run, strconv.Itoa(r.Candidate), r.Host, r.Condition,
		strconv.Itoa(r.Inspected), strconv.Itoa(r.Found), number(r.Minutes), r.Observer, r.Confirmed, r.Stop, r.Note,
	}
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// digest hashes parts, each with its length so that no two lists are alike.
func digest(parts ...string) string {
	h := sha256.New()
	for _, p := range parts {
		fmt.Fprintf(h, "%d:%s", len(p), p)
	}
	return hex.EncodeToString(h.Sum(nil))
}
