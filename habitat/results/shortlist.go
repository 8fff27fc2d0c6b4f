package results

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
)

// figure is a number that may be null or missing: then it is NaN.
type figure struct{ v float64 }

func (f *figure) UnmarshalJSON(data []byte) error {
	if string(data) == "null" {
		f.v = math.NaN()
		return nil
	}
	return json.Unmarshal(data, &f.v)
}

// properties are those of one candidate as shortlist.geojson has them.
type properties struct {
	Rank          int      `json:"rank"`
	Score         figure   `json:"score"`
	AreaHa        figure   `json:"area_ha"`
	SMean         figure   `json:"suitability_mean"`
	SMax          figure   `json:"suitability_max"`
	BMean         figure   `json:"bottomland_mean"`
	Finds         figure   `json:"expected_finds"`
	FindsSD       figure   `json:"expected_finds_sd"`
	FindsLow      figure   `json:"expected_finds_low"`
	FindsHigh     figure   `json:"expected_finds_high"`
	Confidence    figure   `json:"rank_confidence"`
	Learning      bool     `json:"learning_visit"`
	FirstHost     string   `json:"first_host"`
	Check95       int      `json:"trees_to_check_95"`
	Holds         bool     `json:"holds_that_many"`
	Dead          figure   `json:"dead_trees"`
	Trees         trees    `json:"trees"`
	HeightM       figure   `json:"height_m"`
	SlopePct      figure   `json:"slope_pct"`
	Stream        string   `json:"stream"`
	Order         int      `json:"stream_order"`
	StreamM       figure   `json:"stream_m"`
	Cover         string   `json:"cover"`
	CoverShare    figure   `json:"cover_share"`
	Limiting      string   `json:"limiting"`
	Outside       figure   `json:"outside_drainage_share"`
	Evidence      []string `json:"evidence"`
	EvidenceShift figure   `json:"evidence_shift"`
	Measured      figure   `json:"measured_share"`
	Access        string   `json:"access"`
	AccessNote    string   `json:"access_note"`
	Land          []string `json:"land"`
	Lon           figure   `json:"lon"`
	Lat           figure   `json:"lat"`
	Why           string   `json:"why"`

	WalkNote  *string  `json:"walk_note"`
	WalkM     *figure  `json:"walk_m"`
	PathM     figure   `json:"walk_path_m"`
	OffPathM  figure   `json:"walk_off_path_m"`
	ClimbM    figure   `json:"climb_m"`
	DescentM  figure   `json:"descent_m"`
	Crossings int      `json:"water_crossings"`
	StartKind string   `json:"start_kind"`
	Start     string   `json:"start"`
	StartLon  figure   `json:"start_lon"`
	StartLat  figure   `json:"start_lat"`
	EntryLon  figure   `json:"entry_lon"`
	EntryLat  figure   `json:"entry_lat"`
	Mind      []string `json:"walk_cautions"`
}

// trees keeps the order in which the file names the hosts.
type trees []TreeCount

func (t *trees) UnmarshalJSON(data []byte) error {
	d := json.NewDecoder(bytes.NewReader(data))
	open, err := d.Token()
	if err != nil || open == nil {
		return err
	}
	if open != json.Delim('{') {
		return &json.UnmarshalTypeError{Value: "list or text", Type: reflect.TypeFor[trees]()}
	}
	seen := map[string]bool{}
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return err
		}
		host := name.(string) // keys are texts
		n := struct{ Expected, Low, High figure }{figure{math.NaN()}, figure{math.NaN()}, figure{math.NaN()}}
		if err := d.Decode(&n); err != nil {
			return err
		}
		if seen[host] {
			continue
		}
		seen[host] = true
		*t = append(*t, TreeCount{host, n.Expected.v, n.Low.v, n.High.v})
	}
	return nil
}

// readShortlist reads the candidates by rank.
func (r *Run) readShortlist() error {
	path, err := r.file("shortlist.geojson")
	if err != nil {
		return err
	}
	data, err := ReadFile(path)
	if err != nil {
		return err
	}
	if err := r.parseShortlist(data); err != nil {
		return fmt.Errorf("shortlist.geojson: %w", err)
	}
	return nil
}

func (r *Run) parseShortlist(data []byte) error {
	run, patches, err := DecodeShortlist(data, unknown)
	if err != nil {
		return err
	}
	if err := r.same(run); err != nil {
		return err
	}
	for _, q := range patches {
		c, err := q.Properties.candidate()
		if err != nil {
			return fmt.Errorf("candidate %d: %w; the file is damaged, make the map again", q.Rank, err)
		}
		c.Shape = q.Shape
		r.Candidates = append(r.Candidates, c)
	}
	r.Found = max(r.Found, len(r.Candidates))
	return nil
}

// same demands that a file is of the record's run; files of earlier versions
// do not tell.
func (r *Run) same(run string) error {
	if run == "" || run == r.ID {
		return nil
	}
	return fmt.Errorf("is of run %q, run.json of run %q; files of two runs lie in one folder, make the map again", Clip(run, 40), Clip(r.ID, 40))
}

// unknown are properties of which nothing is told.
var unknown = func() (p properties) {
	nan := figure{math.NaN()}
	for _, f := range []*figure{&p.Score, &p.AreaHa, &p.SMean, &p.SMax, &p.BMean, &p.Finds, &p.FindsSD, &p.FindsLow, &p.FindsHigh, &p.Confidence, &p.Dead,
		&p.HeightM, &p.SlopePct, &p.StreamM, &p.CoverShare, &p.Outside, &p.EvidenceShift, &p.Measured, &p.Lon, &p.Lat,
		&p.PathM, &p.OffPathM, &p.ClimbM, &p.DescentM, &p.StartLon, &p.StartLat, &p.EntryLon, &p.EntryLat} {
		*f = nan
	}
	return p
}()

func (p *properties) candidate() (Candidate, error) {
	c := Candidate{
		Rank: p.Rank, Score: p.Score.v, AreaHa: p.AreaHa.v, SMean: p.SMean.v, SMax: p.SMax.v, BMean: p.BMean.v,
		Finds: p.Finds.v, FindsSD: p.FindsSD.v, FindsLow: p.FindsLow.v, FindsHigh: p.FindsHigh.v, RankConfidence: p.Confidence.v, Learning: p.Learning,
		FirstHost: p.FirstHost, Check95: max(0, p.Check95), HoldsCheck: p.Holds, DeadTrees: p.Dead.v, Trees: p.Trees,
		HeightM: p.HeightM.v, SlopePct: p.SlopePct.v, Stream: p.Stream, StreamOrder: max(0, p.Order), StreamM: p.StreamM.v,
		Cover: p.Cover, CoverShare: p.CoverShare.v, Limiting: p.Limiting, OutsideShare: p.Outside.v, Evidence: p.Evidence, EvidenceShift: p.EvidenceShift.v,
		MeasuredShare: p.Measured.v, Access: p.Access, AccessNote: p.AccessNote, Land: p.Land, Lon: p.Lon.v, Lat: p.Lat.v, Why: p.Why,
	}
	if !onEarth(c.Lon, c.Lat) {
		return c, fmt.Errorf("lon and lat are no longitude and latitude")
	}
	if p.WalkNote == nil {
		return c, nil
	}
	c.Walk = &Walk{Note: *p.WalkNote}
	if p.WalkM == nil || math.IsNaN(p.WalkM.v) {
		return c, nil
	}
	*c.Walk = Walk{OK: true, Note: *p.WalkNote, DistanceM: p.WalkM.v, PathM: p.PathM.v, OffPathM: p.OffPathM.v, ClimbM: p.ClimbM.v, DescentM: p.DescentM.v,
		Crossings: max(0, p.Crossings), StartKind: p.StartKind, Start: p.Start, StartLon: p.StartLon.v, StartLat: p.StartLat.v, EntryLon: p.EntryLon.v, EntryLat: p.EntryLat.v, Cautions: p.Mind}
	if !onEarth(c.Walk.EntryLon, c.Walk.EntryLat) || !onEarth(c.Walk.StartLon, c.Walk.StartLat) {
		return c, fmt.Errorf("start or entry are no longitude and latitude")
	}
	return c, nil
}

// Candidate finds a candidate by rank, nil when there is none.
func (r *Run) Candidate(rank int) *Candidate {
	for i := range r.Candidates {
		if r.Candidates[i].Rank == rank {
			return &r.Candidates[i]
		}
	}
	return nil
}
