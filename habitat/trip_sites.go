package habitat

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sort"

	"github.com/paulmach/orb"

	"rillwood/habitat/results"
	"rillwood/habitat/trip"
	"rillwood/habitat/walking"
	"rillwood/raster"
	"rillwood/vector"
)

// A patch that water divides is two stops, unless a part is smaller than this.
const leastPartHa = 0.3

// What the ground about start and patches is widened by, so that ways round
// things are on it.
const tripMarginM = 1000

// tripPlanner is a day being planned.
type tripPlanner struct {
	run      *results.Run
	profile  *Profile
	o        TripOptions
	day      dayFrame
	start    trip.Spot
	at       orb.Point // the start, frame CRS
	ro       runOptions
	progress Progress

	shapes  map[int]orb.Geometry // by rank, frame CRS
	ground  *tripGround
	net     *walking.Net
	node    int32   // of the start
	gap     float64 // minutes from the start to its node
	sites   []tripSite
	legs    [][]float64 // minutes; 0 is the start
	leftOut []trip.LeftOut
}

// tripSite is a part of a patch, as a stop.
type tripSite struct {
	c     *results.Candidate
	part  string
	share float64
	node  int32
	stay  trip.Stay
}

func (t *tripPlanner) leave(why string, rank int) {
	for i := range t.leftOut {
		if l := &t.leftOut[i]; l.Why == why {
			if !slices.Contains(l.Ranks, rank) {
				l.Ranks = append(l.Ranks, rank)
			}
			return
		}
	}
	t.leftOut = append(t.leftOut, trip.LeftOut{Why: why, Ranks: []int{rank}})
}

// readGround reads what lies between the start and the patches in reach.
func (t *tripPlanner) readGround(ctx context.Context, in *Inputs) error {
	to, err := vector.FromWGS84(t.run.Frame.WKT)
	if err != nil {
		return err
	}
	t.shapes = map[int]orb.Geometry{}
	box := orb.Bound{Min: t.at, Max: t.at}
	for i := range t.run.Candidates {
		c := &t.run.Candidates[i]
		switch {
		case len(t.o.Only) > 0 && !slices.Contains(t.o.Only, c.Rank):
			continue
		case c.Access == "closed":
			t.leave("closed ground", c.Rank)
			continue
		case c.Access == "private" && !t.o.Private:
			t.leave("private ground: ask the owner, then plan with --private", c.Rank)
			continue
		}
		g, err := to.Geometry(c.Shape.Clone())
		if err != nil {
			return fmt.Errorf("candidate %d: %w", c.Rank, err)
		}
		b := g.Bound()
		if awayFrom(b, t.at) > reachM(t.o.Pace, t.day.minutes) {
			t.leave("too far to be back in time", c.Rank)
			continue
		}
		t.shapes[c.Rank] = g
		box = box.Union(b)
	}
	for _, rank := range t.o.Only {
		if t.run.Candidate(rank) == nil {
			return fmt.Errorf("no candidate %d on the shortlist", rank)
		}
	}
	if t.ground, err = readTripGround(ctx, in, t.run, box.Pad(tripMarginM), t.ro, t.o.Private); err != nil {
		return err
	}
	if t.net, err = walking.New(t.ground.Ground, walking.Options{Pace: t.o.Pace, Wade: t.o.Wade}); err != nil {
		return err
	}
	node, metres, ok := t.net.Place(t.at)
	if !ok {
		return fmt.Errorf("no ground to walk on lies within 300 m of the start %.5f, %.5f: it is in water, or on closed or private ground; start elsewhere", t.start.Lat, t.start.Lon)
	}
	t.node, t.gap = node, metres/1000/t.o.Pace.OffKmh*60
	return nil
}

// findSites divides the patches by water, and keeps the parts that can be
// reached and left again in time, each entered where that takes least.
func (t *tripPlanner) findSites(ctx context.Context) error {
	stage := t.ro.stage("measuring walks")
	limit := (t.day.minutes - t.gap) * 60
	out, err := t.net.From(ctx, t.node, false, limit, nil)
	if err != nil {
		return err
	}
	stage(0.05)
	back, err := t.net.From(ctx, t.node, true, limit, nil)
	if err != nil {
		return err
	}
	stage(0.1)
	f := t.ground.Frame
	for i := range t.run.Candidates {
		c := &t.run.Candidates[i]
		g := t.shapes[c.Rank]
		if g == nil {
			continue
		}
		cells, err := cellsIn(f, g, orb.Point{c.East, c.North})
		if err != nil {
			return err
		}
		far, stood := false, false
		parts := 0
		for _, piece := range t.net.Pieces(cells) {
			share := float64(len(piece)) / float64(len(cells))
			if parts > 0 && share*c.AreaHa < leastPartHa {
				continue
			}
			stood = true
			door, best := int32(-1), math.Inf(1)
			for _, cell := range piece {
				if s := out.Seconds(int32(cell)) + back.Seconds(int32(cell)); s < best {
					door, best = int32(cell), s
				}
			}
			if door < 0 {
				continue
			}
			if best/60+2*t.gap >= t.day.minutes {
				far = true
				continue
			}
			stay := trip.StayAt(t.treesOf(c, share), c.AreaHa*share, trip.Look{TreeMinutes: t.o.TreeMinutes, OffKmh: t.o.Pace.OffKmh})
			if len(stay) == 0 {
				continue
			}
			part := ""
			if parts > 0 {
				part = string(rune('a' + min(parts, 25)))
			}
			parts++
			t.sites = append(t.sites, tripSite{c: c, part: part, share: share, node: door, stay: stay})
		}
		switch {
		case parts > 0:
		case far:
			t.leave("too far to be back in time", c.Rank)
		case !stood:
			t.leave("the patch itself is ground that this day keeps out of", c.Rank)
		case t.o.Wade:
			t.leave("no way there but over closed or private ground, or none within the time", c.Rank)
		default:
			t.leave("no way there without crossing water, closed or private ground, or none within the time", c.Rank)
		}
	}
	t.keepBest(out, back)
	return nil
}

// keepBest keeps the stops that would give most on a day of their own.
func (t *tripPlanner) keepBest(out, back *walking.Reach) {
	if len(t.sites) <= t.o.Consider {
		return
	}
	alone := make([]float64, len(t.sites))
	order := make([]int, len(t.sites))
	for i, s := range t.sites {
		way := (out.Seconds(s.node)+back.Seconds(s.node))/60 + 2*t.gap
		first := s.stay[0]
		// Finds a minute of the first level with its own way, as far as time goes.
		stay := min(first.Minutes, t.day.minutes-way)
		alone[i] = s.stay.After(stay).Finds / (way/3 + stay) // ways are shared between stops
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return alone[order[a]] > alone[order[b]] })
	stays := map[int]bool{}
	for _, i := range order[:t.o.Consider] {
		stays[t.sites[i].c.Rank] = true
	}
	for _, i := range order[t.o.Consider:] {
		if stays[t.sites[i].c.Rank] {
			continue // by another part
		}
		t.leave(fmt.Sprintf("beyond the %d stops that promise most a minute (--consider)", t.o.Consider), t.sites[i].c.Rank)
	}
	kept := slices.Clone(order[:t.o.Consider])
	slices.Sort(kept)
	var sites []tripSite
	for _, i := range kept {
		sites = append(sites, t.sites[i])
	}
	t.sites = sites
}

// cellsIn are the cells of a frame whose centre lies in a shape; of a shape
// too small for one, the cell of a place in it.
func cellsIn(f raster.Frame, g orb.Geometry, middle orb.Point) ([]int, error) {
	b := g.Bound()
	x0, y0, _ := f.At(b.Min[0], b.Max[1])
	x1, y1, _ := f.At(b.Max[0], b.Min[1])
	x0, y0, x1, y1 = max(x0, 0), max(y0, 0), min(x1, f.W-1), min(y1, f.H-1)
	var out []int
	if x0 <= x1 && y0 <= y1 {
		cut := f.Cut(x0, y0, x1-x0+1, y1-y0+1)
		plane, err := raster.NewPlane[uint8](cut.W, cut.H, nil)
		if err != nil {
			return nil, err
		}
		if _, err := vector.FillPolygons(cut, []orb.Geometry{g}, 1, plane); err != nil {
			return nil, err
		}
		for i, v := range plane.Mem() {
			if v != 0 {
				out = append(out, (y0+i/cut.W)*f.W+x0+i%cut.W)
			}
		}
	}
	if x, y, ok := f.At(middle[0], middle[1]); len(out) == 0 && ok {
		out = []int{y*f.W + x}
	}
	return out, nil
}

// treesOf are the dead or dying trees of a share of a patch by host. The
// shortlist tells all trees of each host, and the dead of all hosts and the
// finds together; so the profile's dead shares are scaled to the dead, and its
// rates to the finds.
func (t *tripPlanner) treesOf(c *results.Candidate, share float64) []trip.Trees {
	var list []trip.Trees
	dead, finds := 0.0, 0.0
	for _, n := range c.Trees {
		for _, h := range t.profile.Hosts {
			if h.ID != n.Host || !(n.Expected > 0) {
				continue
			}
			b := h.HitRate.Beta()
			list = append(list, trip.Trees{Host: h.ID, N: n.Expected * h.DeadShare, Rate: b.Mean(), Weight: b.A + b.B})
			dead += n.Expected * h.DeadShare
			finds += n.Expected * h.DeadShare * b.Mean()
		}
	}
	byDead, byFinds := 1.0, 1.0
	if c.DeadTrees > 0 && dead > 0 {
		byDead = c.DeadTrees / dead
	}
	if c.Finds >= 0 && finds > 0 {
		byFinds = c.Finds / (finds * byDead)
	}
	for i := range list {
		list[i].N *= byDead * share
		list[i].Rate = min(list[i].Rate*byFinds, 0.99)
	}
	return list
}
