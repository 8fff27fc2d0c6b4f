package habitat

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"rillwood/habitat/field"
	"rillwood/habitat/score"
)

// scoreSeed is that of the random folds and of the background.
const scoreSeed = 11

// backgroundCells is about how many cells of the map as a whole are looked at
// beside those with records.
const backgroundCells = 2000

// Scored is how good a run's map has been by field records: where bottomland
// hosts stood, and which trees carried the target.
type Scored struct {
	Run   string        `json:"run"`
	Used  int           `json:"records_used"`
	Left  []string      `json:"left_out"`
	Hosts *score.Report `json:"hosts,omitempty"`
	Finds *score.Report `json:"finds,omitempty"`
}

// ScoreRecords scores the map of a run, and what learning makes of it, on
// blocks of ground that the learning has not seen, beside random folds and
// beside two naive maps: all cover that bears the first host, and ground less
// than 5 m above its stream.
func ScoreRecords(ctx context.Context, run *Run, p *Profile, recs []field.Record, o LearnOptions) (*Scored, error) {
	if err := run.Need(append(run.judgedBy(), "height")...); err != nil {
		return nil, err
	}
	d, err := prepare(run, p, recs, o)
	if err != nil {
		return nil, err
	}
	out := &Scored{Run: run.Record.Run, Used: d.used, Left: orEmpty(d.left)}
	if d.used == 0 {
		return out, nil
	}
	var ground []Terms
	cells := run.lattice()
	if ground, err = run.TermsOf(ctx, cells); err != nil {
		return nil, err
	}
	ground = slices.DeleteFunc(ground, func(t Terms) bool { return !t.OK })
	if len(d.stops) > 0 {
		if out.Hosts, err = scoreHosts(ctx, run, p, d.stops, d.flatness, ground); err != nil {
			return nil, err
		}
	}
	if len(d.rows) > 0 {
		if out.Finds, err = scoreFinds(ctx, run, p, d.rows, ground); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// lattice is cells of the map at even distances.
func (r *Run) lattice() []int {
	step := max(1, int(math.Sqrt(float64(r.Frame.Cells())/backgroundCells)))
	var cells []int
	for y := step / 2; y < r.Frame.H; y += step {
		for x := step / 2; x < r.Frame.W; x += step {
			cells = append(cells, y*r.Frame.W+x)
		}
	}
	return cells
}

// place is the middle of a cell, metres.
func (r *Run) place(cell int) orb.Point {
	x, y := r.Frame.Center(cell%r.Frame.W, cell/r.Frame.W)
	return orb.Point{x, y}
}

// naive are the two maps as simple as can be, for places and then the
// background.
func naive(ctx context.Context, run *Run, p *Profile, places, ground []Terms) ([]score.Naive, error) {
	var cells []int
	for _, list := range [][]Terms{places, ground} {
		for _, t := range list {
			cells = append(cells, t.Cell)
		}
	}
	layers := []string{"height"}
	host := "host-" + p.Hosts[0].ID
	if run.Has(host) {
		layers = append(layers, host)
	}
	order := make([]int, len(cells))
	for i := range order {
		order[i] = i
	}
	values, err := run.values(ctx, cells, order, layers)
	if err != nil {
		return nil, err
	}
	yesNo := func(is bool) float64 {
		if is {
			return 1
		}
		return 0
	}
	low := score.Naive{Name: "less than 5 m above its stream"}
	for _, h := range values[0] {
		low.Values = append(low.Values, yesNo(h < 5))
	}
	out := []score.Naive{low}
	if len(layers) > 1 {
		cover := score.Naive{Name: "all cover that bears " + p.Hosts[0].Common}
		for i, h := range values[1] {
			// The likelihood is nought where bottomland is nearly nought too.
			var t *Terms
			if i < len(places) {
				t = &places[i]
			} else {
				t = &ground[i-len(places)]
			}
			cover.Values = append(cover.Values, yesNo(h > 0 || t.B < 0.02))
		}
		out = append([]score.Naive{cover}, out...)
	}
	return out, nil
}

// scoreHosts asks whether hosts of the bottoms stood where the map has
// bottomland.
func scoreHosts(ctx context.Context, run *Run, p *Profile, stops []fieldStop, flat bool, ground []Terms) (*score.Report, error) {
	s := score.Study{What: "a host of the bottoms stands there", Seed: scoreSeed}
	terms := make([]Terms, len(stops))
	for i, st := range stops {
		terms[i] = st.terms
		s.Points = append(s.Points, run.place(st.cell))
		s.Records.Yes, s.Records.No = append(s.Records.Yes, st.yes), append(s.Records.No, st.no)
	}
	s.Records.Background = len(ground)
	logit := func(row int) *Terms {
		if row < len(stops) {
			return &terms[row]
		}
		return &ground[row-len(stops)]
	}
	s.Models = []score.Model{
		{Name: "map with learned weights", Fit: func(train []int) (func(int) float64, error) {
			some := fieldData{flatness: flat}
			for _, i := range train {
				some.stops = append(some.stops, stops[i])
			}
			l := &Learned{Profile: cloneProfile(p)}
			if err := l.weights(p, &some); err != nil {
				return nil, err
			}
			now, was := l.Profile.Bottomland.weights(flat), p.Bottomland.weights(flat)
			return func(row int) float64 {
				t := logit(row)
				x := t.vector()
				out := t.Logit
				for k, v := range x {
					out += (now[k].Value - was[k].Value) * v
				}
				return Logistic(out)
			}, nil
		}},
		{Name: "map as it is", Fit: func([]int) (func(int) float64, error) {
			return func(row int) float64 { return Logistic(logit(row).Logit) }, nil
		}},
	}
	var b, back []float64
	for i := range stops {
		b = append(b, terms[i].B)
	}
	for i := range ground {
		back = append(back, ground[i].B)
	}
	s.AtRecords, s.AtBackground = b, back
	var err error
	if s.Naive, err = naive(ctx, run, p, terms, ground); err != nil {
		return nil, err
	}
	return score.Evaluate(s)
}

// scoreFinds asks which trees carried the target.
func scoreFinds(ctx context.Context, run *Run, p *Profile, rows []fieldRow, ground []Terms) (*score.Report, error) {
	s := score.Study{What: "a dead or dying tree carries the target", Seed: scoreSeed}
	terms := make([]Terms, len(rows))
	for i, r := range rows {
		terms[i] = r.terms
		s.Points = append(s.Points, run.place(r.cell))
		s.Records.Yes, s.Records.No = append(s.Records.Yes, float64(r.found)), append(s.Records.No, float64(r.inspected-r.found))
	}
	predict := func(p *Profile) func(row int) float64 {
		rates := p.Rates()
		return func(row int) float64 {
			r := &rows[row]
			x := min(max(r.terms.Logit, -rateReach), rateReach)
			rate := rates[r.host]
			if rate <= 0 || rate >= 1 {
				return rate
			}
			return Logistic(math.Log(rate/(1-rate)) + p.RateByBottomland.Value*(x-rateLogit))
		}
	}
	s.Models = []score.Model{
		{Name: "map with learned rates", Fit: func(train []int) (func(int) float64, error) {
			var some fieldData
			for _, i := range train {
				some.rows = append(some.rows, rows[i])
			}
			l := &Learned{Profile: cloneProfile(p)}
			if err := l.rates(p, &some); err != nil {
				return nil, err
			}
			return predict(l.Profile), nil
		}},
		{Name: "map as it is", Fit: func([]int) (func(int) float64, error) { return predict(p), nil }},
	}
	var b, back []float64
	for i := range rows {
		b = append(b, terms[i].Suitability)
	}
	for i := range ground {
		back = append(back, ground[i].Suitability)
	}
	s.AtRecords, s.AtBackground = b, back
	var err error
	if s.Naive, err = naive(ctx, run, p, terms, nil); err != nil {
		return nil, err
	}
	return score.Evaluate(s)
}

func cloneProfile(p *Profile) *Profile {
	q := *p
	q.Hosts, q.Provenance = slices.Clone(p.Hosts), slices.Clone(p.Provenance)
	return &q
}

// Text is the scores for a person, no line wider than 80 columns.
func (s *Scored) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "\nScores of run %s by %d records\n", s.Run, s.Used)
	for _, left := range s.Left {
		wrapInto(&b, "  left out  ", left)
	}
	if s.Used == 0 {
		b.WriteString("No record can be used: how good the map has been is not known.\n")
	}
	for _, r := range []*score.Report{s.Hosts, s.Finds} {
		if r != nil {
			b.WriteString("\n" + r.Text())
		}
	}
	return b.String()
}
