package habitat

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"sort"

	"github.com/paulmach/orb"

	"rillwood/habitat/access"
	"rillwood/habitat/approach"
	"rillwood/habitat/evidence"
	"rillwood/raster"
	"rillwood/raster/region"
	"rillwood/raster/terrain"
	"rillwood/vector"
)

// Candidate is a patch of ground to scout, with what is known of it. Areas and
// means are taken over its cells, whole, on the projected frame.
type Candidate struct {
	Rank  int
	Score float64 // mean suitability × chance of at least one find
	Cells int

	AreaHa     float64
	SMean      float64 // suitability
	SMax       float64
	BMean      float64    // bottomland probability
	HeightM    float64    // mean height above the stream its water reaches, NaN = not known
	SlopePct   float64    // mean slope
	Across     float64    // share of cells whose water leaves the map before a stream
	Trees      []float64  // expected trees by host, living and dead, in the order of the profile
	Dead       float64    // of these, dead or dying
	Finds      float64    // expected finds in season
	FindsSD    float64    // from the doubt in the hit rates
	Check95    int        // dead trees to check, likeliest hosts first, for a 95 % chance of one find; 0 = no number is enough
	HoldsCheck bool       // whether the patch is expected to hold that many
	Cover      CoverGroup // commonest, "" without a land-cover layer
	CoverShare float64
	Limit      Limit
	Stream     string // "" = no name
	Order      int    // 0 = not known
	StreamM    float64
	FirstHost  string // common name of the host that counts most
	Why        string

	FindsLow, FindsHigh float64 // between which nine of ten draws of the expected finds lie; NaN = not drawn
	RankShare           float64 // share of the draws in which it is among the ten best; NaN = not drawn
	Learning            bool    // kept for what a visit would teach
	Gain                float64 // of a learning visit: information in nats

	DeadBy   []float64      // dead or dying trees by host
	Evidence []string       // what layers of evidence say of most of the patch, in words
	SpeakFor []string       // those of Evidence that speak for bottomland
	Shift    float64        // mean log-odds by which they move it
	Access   access.Status  // the most cautious of its cells
	Land     []string       // names of the land units it lies in
	Walk     *approach.Walk // nil = no paths or roads are given
	Measured float64        // share of its cells where host trees were measured

	Middle orb.Point        // a cell of the patch, near its middle; frame CRS
	Shape  orb.MultiPolygon // frame CRS, exterior rings counter-clockwise

	patch region.Patch
}

// Shortlist is the candidates in order of rank, and what was left out.
type Shortlist struct {
	Candidates []Candidate // the best Top of them
	Found      int         // patches found
	FoundHa    float64
	AboveHa    float64 // ground at or above the threshold, before patches are made of it
	Threshold  float64
}

// choose makes candidates of the cells that reached the threshold.
func choose(ctx context.Context, in *Inputs, g *ground, j *judgement, worth *appraisal, spec ShortlistSpec, threshold float64, o runOptions) (*Shortlist, error) {
	report := o.stage("choosing patches")
	f := g.frame
	cells := func(ha float64) int { return int(math.Round(ha / f.CellHa())) }
	out := &Shortlist{Threshold: threshold}
	for _, r := range j.runs {
		out.AboveHa += float64(r.X1-r.X0) * f.CellHa()
	}
	patches := region.Scoutable(j.runs, region.Options{
		MinCells: max(1, cells(spec.MinHa)), MaxCells: cells(spec.MaxHa), MinHole: cells(spec.HoleHa), Forbidden: j.forbidden, Kinds: g.kinds()})
	report(0.5)
	m := &surveyor{in: in, g: g, j: j, p: in.Profile, legend: in.legend(), worth: worth}
	all, err := m.measure(ctx, patches, o)
	if err != nil {
		return nil, err
	}
	for i := range all {
		out.FoundHa += all[i].AreaHa
	}
	out.Found = len(all)
	// Open ground first: a good patch that no one may enter is no place to go.
	slices.SortFunc(all, func(a, b Candidate) int {
		return cmp.Or(cmp.Compare(access.Order(a.Access), access.Order(b.Access)), -cmp.Compare(a.Score, b.Score), -cmp.Compare(a.Finds, b.Finds), cmp.Compare(a.patch.ID, b.patch.ID))
	})
	if err := m.doubts(ctx, all, spec, o); err != nil {
		return nil, err
	}
	if spec.Explore > 0 {
		if all, err = m.explore(ctx, all, spec); err != nil {
			return nil, err
		}
	} else if spec.Top > 0 && len(all) > spec.Top {
		all = all[:spec.Top]
	}
	out.Candidates = all
	m.nearest(all)
	report(0.8)
	if err := outline(all, f); err != nil {
		return nil, err
	}
	m.joinLand(all)
	report(1) // finding ways in is a stage of its own
	if err := m.approach(ctx, all, o); err != nil {
		return nil, err
	}
	for i := range all {
		all[i].Rank = i + 1
		all[i].Why = m.why(&all[i])
	}
	return out, nil
}

// surveyor measures patches.
type surveyor struct {
	in     *Inputs
	g      *ground
	j      *judgement
	p      *Profile
	legend *Legend
	worth  *appraisal
}

// measure sums up the planes over each patch.
func (m *surveyor) measure(ctx context.Context, patches []region.Patch, o runOptions) ([]Candidate, error) {
	out := make([]Candidate, len(patches))
	const batch = 16
	err := raster.Parallel(ctx, o.workers, (len(patches)+batch-1)/batch, func(_, b int) error {
		t := tally{worth: m.worth.reader()}
		for i := b * batch; i < min(len(patches), (b+1)*batch); i++ {
			c, err := m.one(patches[i], &t)
			if err != nil {
				return err
			}
			out[i] = c
		}
		return nil
	})
	return out, err
}

// tally holds one patch's sums and the rows they are read into.
type tally struct {
	bottom, height []uint16
	cover, conf    []uint8
	z              [3][]float32
	slope          []float32
	covers         [256]int
	limits         [4]int
	trees, dead    []float64
	worth          *appraiser
	shift          []int8
	land           []uint8
	items          [][]uint8 // by layer of evidence
}

func (m *surveyor) one(p region.Patch, t *tally) (Candidate, error) {
	c := Candidate{patch: p, Cells: p.Cells()}
	f := m.g.frame
	ha := f.CellHa()
	c.AreaHa = float64(c.Cells) * ha
	t.covers, t.limits = [256]int{}, [4]int{}
	hosts := len(m.worth.tables.any().Hosts)
	t.trees = append(t.trees[:0], make([]float64, hosts)...)
	t.dead = append(t.dead[:0], make([]float64, hosts)...)
	words := m.newWords()
	measured, shift := 0, 0.0
	var lands [landKinds]int
	var s, b, h, sl, findsVar float64
	var nh, nsl, across int
	var sx, sy float64
	for _, r := range p.Runs {
		n := int(r.X1 - r.X0)
		if err := m.read(t, int(r.X0), int(r.Y), n); err != nil {
			return c, err
		}
		for i := range n {
			slot := NoClass
			if m.g.cover != nil {
				slot = t.cover[i]
			}
			q, z := bottomStep(t.bottom[i]), t.z[1][i+1]
			worth := t.worth.at(i, z, q, slot)
			v := float64(worth.S)
			if v != v {
				continue // a filled hole without data
			}
			s += v
			c.SMax = max(c.SMax, v)
			b += float64(t.bottom[i]) / bottomUnit
			c.Finds += float64(worth.E)
			findsVar += float64(worth.ESD)
			c.Dead += float64(worth.Dead)
			t.worth.stand(i, m.worth.tables.at(z), Key(q, slot))
			for k := range hosts {
				t.trees[k] += t.worth.trees[k]
				t.dead[k] += t.worth.dead[k]
			}
			if t.worth.known(i) {
				measured++
			}
			t.covers[slot]++
			t.limits[worth.Limit]++
			if m.g.evidence != nil {
				shift += float64(t.shift[i]) / evidence.ShiftUnit
				words.add(t.items, i)
			}
			if m.g.access != nil {
				lands[t.land[i]]++
			}
			if t.height[i] != storedNone {
				h += float64(t.height[i]) / heightUnit
				nh++
			}
			if v := float64(t.slope[i]); v == v {
				sl += 100 * v
				nsl++
			}
			if t.conf[i] == confAcross {
				across++
			}
		}
		sx += float64(n) * (float64(r.X0) + float64(n)/2)
		sy += float64(n) * (float64(r.Y) + 0.5)
	}
	cells := float64(c.Cells)
	c.SMean, c.BMean, c.Across = s/cells, b/cells, float64(across)/cells
	c.HeightM, c.SlopePct = h/float64(nh), sl/float64(nsl)
	c.Finds *= ha
	c.FindsSD = findsVar * ha // one doubt for all cells: it does not average out
	c.Dead *= ha
	for k := range hosts {
		c.Trees = append(c.Trees, t.trees[k]*ha)
		c.DeadBy = append(c.DeadBy, t.dead[k]*ha)
	}
	c.Measured, c.Shift = float64(measured)/cells, shift/cells
	c.Evidence, c.SpeakFor = words.words()
	c.Access = mostCautious(lands)
	c.Score = c.SMean * -math.Expm1(-c.Finds)
	m.effort(&c)
	most := 0
	for slot, n := range t.covers {
		if n > most && m.legend != nil {
			class, _ := m.legend.Class(uint8(slot))
			most, c.Cover, c.CoverShare = n, class.Group, float64(n)/cells
		}
	}
	for l := 1; l < len(t.limits); l++ {
		if t.limits[l] > t.limits[c.Limit] {
			c.Limit = Limit(l)
		}
	}
	c.Middle = middle(p, sx/cells, sy/cells, f)
	return c, nil
}

// effort says which host a visit should go by, and how many dead trees to
// look at when the likeliest hosts are looked at first.
func (m *surveyor) effort(c *Candidate) {
	best := 0.0
	for k, host := range m.worth.tables.any().Hosts {
		if finds := c.DeadBy[k] * host.HitRate.Hits / host.HitRate.Of; finds > best {
			best, c.FirstHost = finds, host.Common
		}
	}
	v := PlanVisit(c.DeadBy, m.p.Rates(), 0.95)
	c.Check95, c.HoldsCheck = v.Trees, v.Enough
}

// read fetches one run of cells from the planes.
func (m *surveyor) read(t *tally, x, y, n int) error {
	if cap(t.bottom) < n {
		t.bottom, t.height = make([]uint16, 2*n), make([]uint16, 2*n)
		t.cover, t.conf, t.slope = make([]uint8, 2*n), make([]uint8, 2*n), make([]float32, 2*n)
		for k := range t.z {
			t.z[k] = make([]float32, 2*n+2)
		}
	}
	t.bottom, t.height, t.cover, t.conf, t.slope = t.bottom[:n], t.height[:n], t.cover[:n], t.conf[:n], t.slope[:n]
	if err := m.j.bottom.Read(x, y, n, 1, t.bottom); err != nil {
		return err
	}
	if err := m.j.height.Read(x, y, n, 1, t.height); err != nil {
		return err
	}
	if err := m.g.status.Read(x, y, n, 1, t.conf); err != nil {
		return err
	}
	if m.g.cover != nil {
		if err := m.g.cover.Read(x, y, n, 1, t.cover); err != nil {
			return err
		}
	}
	if err := m.readLayers(t, x, y, n); err != nil {
		return err
	}
	for k := range t.z {
		t.z[k] = t.z[k][:n+2]
		if err := m.g.z.ReadPadded(x-1, y-1+k, n+2, 1, t.z[k], float32(math.NaN())); err != nil {
			return err
		}
	}
	terrain.GradientRow(t.z[0], t.z[1], t.z[2], m.g.frame.Cell, false, t.slope)
	return nil
}

// middle is the centre of the patch's cell that lies nearest to the point.
func middle(p region.Patch, x, y float64, f raster.Frame) orb.Point {
	best, bx, by := math.Inf(1), 0, 0
	for _, r := range p.Runs {
		cx := min(max(int(x), int(r.X0)), int(r.X1)-1)
		d := math.Hypot(float64(cx)+0.5-x, float64(r.Y)+0.5-y)
		if d < best {
			best, bx, by = d, cx, int(r.Y)
		}
	}
	e, n := f.Center(bx, by)
	return orb.Point{e, n}
}

// nearest finds the stream each candidate lies by.
func (m *surveyor) nearest(cs []Candidate) {
	net := m.g.network
	lines := make([]orb.Geometry, len(net.Reaches))
	for i, r := range net.Reaches {
		lines[i] = r.Line
	}
	index := vector.NewIndex(lines)
	for i := range cs {
		k, d, ok := index.Nearest(cs[i].Middle)
		if !ok {
			cs[i].StreamM = math.NaN()
			continue
		}
		cs[i].Stream, cs[i].Order, cs[i].StreamM = net.Reaches[k].Name, net.Reaches[k].Order, d
	}
}

// outline draws the candidates' shapes: traced along cells, smoothed within
// half a cell, neighbours keeping one common border.
func outline(cs []Candidate, f raster.Frame) error {
	patches := make([]region.Patch, len(cs))
	for i := range cs {
		patches[i] = cs[i].patch
	}
	topo := region.Trace(patches)
	topo.Simplify(0.5)
	for i := range cs {
		shape := topo.Polygons(i)
		for _, poly := range shape {
			for _, ring := range poly {
				for k, p := range ring {
					e, n := f.Corner(p[0], p[1])
					ring[k] = orb.Point{e, n}
				}
			}
		}
		if len(shape) == 0 {
			return fmt.Errorf("candidate %d has no outline", i+1)
		}
		cs[i].Shape = shape
	}
	return nil
}

func (m *surveyor) why(c *Candidate) string {
	first, second := m.leading(c)
	return Why(Reasons{
		Winter: first.Winter, Second: second.Common, SecondWinter: second.Winter, Evidence: c.SpeakFor, Access: c.Access.Label(),
		HeightM: c.HeightM, SlopePct: c.SlopePct, Bottomland: c.BMean, Cover: c.Cover,
		Stream: c.Stream, StreamM: c.StreamM, Dead: c.Dead, Finds: c.Finds, Short: !c.HoldsCheck,
		Host: c.FirstHost, Limit: c.Limit, TreesFor95: c.Check95,
	})
}

// leading are the hosts that count most and second most for finds; a host
// that counts less than a tenth of the first is no second.
func (m *surveyor) leading(c *Candidate) (first, second Host) {
	hosts := m.worth.tables.any().Hosts
	best, next := 0.0, 0.0
	for k, h := range hosts {
		switch finds := c.DeadBy[k] * h.HitRate.Hits / h.HitRate.Of; {
		case finds > best:
			second, next = first, best
			first, best = h, finds
		case finds > next:
			second, next = h, finds
		}
	}
	if next < best/10 {
		second = Host{}
	}
	return first, second
}

// mainHosts lists the hosts of a candidate with at least one tree expected,
// most first.
func (m *HostTable) mainHosts(trees []float64) []int {
	var ks []int
	for k, n := range trees {
		if math.Round(n) >= 1 {
			ks = append(ks, k)
		}
	}
	sort.SliceStable(ks, func(a, b int) bool { return trees[ks[a]] > trees[ks[b]] })
	return ks
}
