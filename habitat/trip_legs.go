package habitat

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/paulmach/orb"

	"rillwood/habitat/access"
	"rillwood/habitat/daylight"
	"rillwood/habitat/orient"
	"rillwood/habitat/trip"
	"rillwood/raster"
	"rillwood/vector"
)

// measureLegs fills the table of minutes between start and stops. Legs that no
// day has time for are left at infinity.
func (t *tripPlanner) measureLegs(ctx context.Context) error {
	n := len(t.sites) + 1
	nodes := []int32{t.node}
	for _, s := range t.sites {
		nodes = append(nodes, s.node)
	}
	t.legs = make([][]float64, n)
	stage := t.ro.stage("measuring walks")
	done := make(chan struct{}, n)
	err := raster.Parallel(ctx, t.ro.workers, n, func(_, i int) error {
		r, err := t.net.From(ctx, nodes[i], false, t.day.minutes*60, nodes)
		if err != nil {
			return err
		}
		row := make([]float64, n)
		for j, v := range nodes {
			row[j] = r.Seconds(v) / 60
			if i != j && (i == 0 || j == 0) {
				row[j] += t.gap
			}
		}
		row[i] = 0
		t.legs[i] = row
		done <- struct{}{}
		stage(0.1 + 0.9*float64(len(done))/float64(n))
		return nil
	})
	return err
}

// plan puts the chosen stops on the clock.
func (t *tripPlanner) plan(ctx context.Context, best, more orient.Plan) (*trip.Plan, error) {
	hour := max(0, more.Value-best.Value) / 2
	p := &trip.Plan{
		Format: trip.Format, Caution: tripSafety(t.run.Help.PoisonLine), Run: t.run.ID, Name: t.run.Name,
		Date: fmt.Sprintf("%04d-%02d-%02d", t.o.Year, t.o.Month, t.o.Day), Zone: t.zone(), Start: t.start,
		Settings: trip.Settings{PathKmh: t.o.Pace.PathKmh, OffKmh: t.o.Pace.OffKmh, TreeMinutes: t.o.TreeMinutes, SpareMin: t.o.SpareMin, Wade: t.o.Wade, Private: t.o.Private},
		Leave:    t.day.leave, BackBy: t.day.by, Stops: []trip.Stop{}, LeftOut: append([]trip.LeftOut{}, t.leftOut...), Reserve: []trip.Reserve{},
		Known: t.ground.known, NotKnown: t.ground.notKnown,
		Search: trip.Search{Considered: len(t.sites), Proven: best.Proven, Bound: best.Bound, Gap: best.Gap(), HourGives: hour},
	}
	p.Daylight = lightOf(t.day.light)
	for _, c := range t.run.Cautions {
		if c.Short {
			p.Warnings = append(p.Warnings, trip.Warning{Title: c.Title, Text: c.Text})
		}
	}
	back, err := vector.ToWGS84(t.ground.Frame.WKT)
	if err != nil {
		return nil, err
	}
	now, from := t.day.leave, t.node
	for k, i := range best.Order {
		s := &t.sites[i]
		way, err := t.leg(ctx, from, s.node, k == 0, false, back)
		if err != nil {
			return nil, err
		}
		now = now.Add(inMinutes(way.Minutes))
		stop := t.stop(s, best.Minutes[k], hour/60)
		stop.Way, stop.Arrive = *way, now
		now = now.Add(inMinutes(stop.Minutes))
		stop.Depart = now
		at, err := back.Point(t.net.Point(s.node))
		if err != nil {
			return nil, err
		}
		stop.Lon, stop.Lat = decimal(at[0]), decimal(at[1])
		p.Stops = append(p.Stops, stop)
		from = s.node
		p.Totals.Finds += stop.Finds
		p.Totals.Trees += stop.Trees
		p.Totals.StayingMin += stop.Minutes
		t.add(&p.Totals, way)
	}
	if len(p.Stops) > 0 {
		if p.Home, err = t.leg(ctx, from, t.node, false, true, back); err != nil {
			return nil, err
		}
		now = now.Add(inMinutes(p.Home.Minutes))
		t.add(&p.Totals, p.Home)
	}
	for k, i := range more.Order {
		if s := &t.sites[i]; !slices.Contains(best.Order, i) && more.Minutes[k] > 1 {
			stop := t.stop(s, more.Minutes[k], hour/60)
			p.Reserve = append(p.Reserve, trip.Reserve{Label: stop.Label(), Trees: stop.Trees, Finds: stop.Finds, Access: stop.Access})
		}
	}
	p.Back = now
	p.Totals.SpareMin = t.day.by.Sub(now).Minutes()
	p.Cautions = t.cautions(p)
	return p, nil
}

func inMinutes(m float64) time.Duration { return time.Duration(math.Round(m*60)) * time.Second }

func decimal(v float64) float64 { return math.Round(v*1e6) / 1e6 }

func (t *tripPlanner) add(sum *trip.Totals, l *trip.Leg) {
	sum.Metres += l.Metres
	sum.ClimbM += l.UpM
	sum.WalkingMin += l.Minutes
	sum.Crossings += l.Crossings
}

// leg is the walk between two nodes; the first and the last of a day reach to
// the start itself.
func (t *tripPlanner) leg(ctx context.Context, from, to int32, first, last bool, back *vector.Transformer) (*trip.Leg, error) {
	r, err := t.net.From(ctx, from, false, math.Inf(1), []int32{to})
	if err != nil {
		return nil, err
	}
	w, ok := r.Walk(to)
	if !ok {
		return nil, fmt.Errorf("a way that was there is gone") // the same search found it
	}
	l := &trip.Leg{Minutes: w.Seconds / 60, PathM: w.PathM, OffM: w.OffM, UpM: w.UpM, DownM: w.DownM, Crossings: w.Crossings}
	line := w.Line
	if first {
		line = append(orb.LineString{t.at}, line...)
	}
	if last {
		line = append(line.Clone(), t.at)
	}
	if first || last {
		l.Minutes += t.gap
		l.OffM += t.gap / 60 * t.o.Pace.OffKmh * 1000
	}
	l.Metres = l.PathM + l.OffM
	l.UnknownM, l.PrivateM = t.ground.over(line, access.Unknown), t.ground.over(line, access.Private)
	for _, q := range line {
		g, err := back.Point(q)
		if err != nil {
			return nil, err
		}
		l.Line = append(l.Line, [2]float64{decimal(g[0]), decimal(g[1])})
	}
	return l, nil
}

// stop is what is done at a stop in so many minutes. Trees are whole ones; what
// a part of a tree would take is kept as time to spare.
func (t *tripPlanner) stop(s *tripSite, stay, rate float64) trip.Stop {
	level := s.stay.After(stay)
	out := trip.Stop{Rank: s.c.Rank, Part: s.part, Share: s.share, Access: s.c.Access, Note: s.c.AccessNote, Stream: s.c.Stream, Minutes: stay, Finds: level.Finds}
	out.Trees = int(math.Floor(level.Trees + 1e-6))
	if level.Trees > 0 {
		part := float64(out.Trees) / level.Trees
		out.Finds *= part
		out.Minutes = stay * part
		mean := level.Finds / level.Trees
		belief := trip.BeliefOf(mean, level.Weight, trip.BetweenPlaces)
		out.Chance = Beta(belief).ChanceOfFind(out.Trees)
		if k, ok := belief.GiveUp(out.Trees, level.Minutes/level.Trees, rate); ok && k < out.Trees {
			out.MoveOn = &k
		}
	}
	for _, id := range level.Hosts {
		h := t.run.HostByID(id)
		out.Hosts = append(out.Hosts, h.Common)
		out.Winter = append(out.Winter, h.Winter)
	}
	return out
}

func (t *tripPlanner) zone() string {
	offset := t.day.leave.Format("UTC-07:00")
	if t.o.ZoneName == "" {
		return offset
	}
	return t.o.ZoneName + ", " + offset
}

func lightOf(d daylight.Day) trip.Daylight {
	some := func(at time.Time) *time.Time {
		if at.IsZero() {
			return nil
		}
		at = at.Round(time.Minute)
		return &at
	}
	return trip.Daylight{Dawn: some(d.Dawn), Sunrise: some(d.Rise), Sunset: some(d.Set), Dusk: some(d.Dusk)}
}

// tripSafety goes with every file of a plan and with each of its places.
func tripSafety(poisonLine string) string {
	text := safetyLine + " A deadly brown-spored twin grows on the same wood: spore print of every cluster, an expert's word, nothing raw, nothing in doubt."
	if poisonLine != "" {
		text += " Poison line " + poisonLine + "."
	}
	return text
}

// cautions are those of this day, the gravest first.
func (t *tripPlanner) cautions(p *trip.Plan) []string {
	var out []string
	if p.Totals.Crossings > 0 {
		out = append(out, fmt.Sprintf("This day crosses water without a mapped bridge %d times. Never wade moving water (15 cm can knock you over) and never count on ice; when in doubt turn back.", p.Totals.Crossings))
	}
	if len(p.Stops) > 0 {
		out = append(out, fmt.Sprintf("Tell someone where you go and that you will be back by %s; turn for home in time, whatever is left of the list. Carry a light, a paper map and dry layers.", p.BackBy.Format("15:04")))
	}
	private, unknown := 0.0, 0.0
	for i := range p.Stops {
		private, unknown = private+p.Stops[i].Way.PrivateM, unknown+p.Stops[i].Way.UnknownM
	}
	if p.Home != nil {
		private, unknown = private+p.Home.PrivateM, unknown+p.Home.UnknownM
	}
	if private > 0 {
		out = append(out, fmt.Sprintf("%.1f km of the way lie on private ground: ask the owner before you go.", private/1000))
	}
	if unknown > 0 {
		out = append(out, fmt.Sprintf("Of %.1f km of the way it is not known who may enter; the plan gives no leave. Ask, and heed signs.", unknown/1000))
	}
	if !inSeason(t.run, t.o.Month) {
		out = append(out, "This month is not in the season of what is looked for; expected finds are those of the season.")
	}
	out = append(out, "Drawn from maps alone: streams too small or too new to be mapped, floods, ice, fences and locked gates are not known to it. Hunters are out in the same months: wear blaze orange.")
	return out
}
