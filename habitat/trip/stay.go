package trip

import (
	"math"
	"slices"
	"strings"

	"rillwood/habitat/orient"
)

// Trees are the dead or dying trees of one host that a patch is expected to
// hold.
type Trees struct {
	Host   string
	N      float64
	Rate   float64 // chance that one carries the target
	Weight float64 // trees that the rate is believed as
}

// Look is how one searches a patch.
type Look struct {
	TreeMinutes float64 // at each tree
	OffKmh      float64 // walking between them
}

// TourFactor: the shortest way through n places strewn over an area A is about
// 0.7124·√(n·A) (Beardwood, Halton, Hammersley 1959; the constant: Johnson,
// McGeoch, Rothberg 1996).
const TourFactor = 0.7124

// minutes to check n trees strewn over so many hectares.
func (l Look) minutes(n, ha float64) float64 {
	return n*l.TreeMinutes + TourFactor*math.Sqrt(n*ha*1e4)/(l.OffKmh*1000/60)
}

// Level is a way to search a whole patch: certain hosts, all their trees.
type Level struct {
	Hosts   []string // the likeliest first
	Minutes float64
	Trees   float64
	Finds   float64
	Weight  float64 // of the belief in the mean rate, trees
}

// Stay says how a patch may be searched: the likeliest hosts alone, or with
// more and more of the others, each level giving less a minute than the one
// before. Between two levels finds and trees run evenly; what no level of
// growing hosts makes better is left out (the concave hull).
type Stay []Level

// StayAt works a stay out. Hosts without trees or chance are left out.
func StayAt(list []Trees, ha float64, look Look) Stay {
	list = slices.Clone(list)
	list = slices.DeleteFunc(list, func(t Trees) bool { return !(t.N > 0) || !(t.Rate > 0) })
	slices.SortStableFunc(list, func(a, b Trees) int {
		switch {
		case a.Rate != b.Rate:
			if a.Rate > b.Rate {
				return -1
			}
			return 1
		}
		return strings.Compare(a.Host, b.Host)
	})
	var all Stay
	level, doubt := Level{}, 0.0
	for _, t := range list {
		level.Hosts = append(slices.Clone(level.Hosts), t.Host)
		level.Trees += t.N
		level.Finds += t.N * t.Rate
		level.Minutes = look.minutes(level.Trees, ha)
		// The doubts of the hosts' rates are taken to go together, which is the
		// careful way: standard deviations add.
		doubt += t.N * math.Sqrt(t.Rate*(1-min(t.Rate, 1))/(t.Weight+1))
		m := min(level.Finds/level.Trees, 1)
		level.Weight = max(0, m*(1-m)/math.Pow(doubt/level.Trees, 2)-1)
		all = append(all, level)
	}
	var out Stay
	last := Level{}
	for at := 0; at < len(all); {
		best := -1
		steep := 0.0
		for k := at; k < len(all); k++ {
			if s := (all[k].Finds - last.Finds) / (all[k].Minutes - last.Minutes); s > steep*(1+1e-12) {
				best, steep = k, s
			}
		}
		if best < 0 {
			break
		}
		last = all[best]
		out = append(out, last)
		at = best + 1
	}
	return out
}

// Site is the stay as the planner sees it.
func (s Stay) Site() orient.Site {
	var out orient.Site
	last := Level{}
	for _, l := range s {
		out = append(out, orient.Segment{Minutes: l.Minutes - last.Minutes, Value: l.Finds - last.Finds})
		last = l
	}
	return out
}

// After is how much of a patch is searched in so many minutes.
func (s Stay) After(minutes float64) Level {
	last := Level{}
	for _, l := range s {
		if minutes >= l.Minutes-1e-9 {
			last = l
			continue
		}
		f := (minutes - last.Minutes) / (l.Minutes - last.Minutes)
		part := l
		part.Minutes, part.Trees, part.Finds = minutes, last.Trees+f*(l.Trees-last.Trees), last.Finds+f*(l.Finds-last.Finds)
		return part
	}
	return last
}
