package results

import (
	"encoding/json"
	"fmt"

	"github.com/paulmach/orb"
)

// readWays reads the ways in; a run without them has none.
func (r *Run) readWays() error {
	if !r.there("ways.geojson") {
		for i := range r.Candidates {
			if w := r.Candidates[i].Walk; w != nil && w.OK {
				r.note("no ways.geojson: ways in are not drawn, and their cautions are not told; make the map again")
				break
			}
		}
		return nil
	}
	path, err := r.file("ways.geojson")
	if err != nil {
		return err
	}
	data, err := ReadFile(path)
	if err != nil {
		return err
	}
	if err := r.parseWays(data); err != nil {
		return fmt.Errorf("ways.geojson: %w", err)
	}
	return nil
}

func (r *Run) parseWays(data []byte) error {
	var raw struct {
		Type     string `json:"type"`
		Run      string `json:"run"`
		Features *[]struct {
			Geometry *struct {
				Type        string          `json:"type"`
				Coordinates json.RawMessage `json:"coordinates"`
			} `json:"geometry"`
			Properties *struct {
				Rank     int      `json:"rank"`
				Cautions []string `json:"cautions"`
			} `json:"properties"`
		} `json:"features"`
	}
	if err := json.Unmarshal(data, &raw); err != nil {
		return Damaged(data, err)
	}
	if raw.Type != "FeatureCollection" || raw.Features == nil {
		return fmt.Errorf("type is %q, want a FeatureCollection with features; the file is damaged, make the map again", Clip(raw.Type, 40))
	}
	if err := r.same(raw.Run); err != nil {
		return err
	}
	byRank := map[int]*Candidate{}
	for i := range r.Candidates {
		byRank[r.Candidates[i].Rank] = &r.Candidates[i]
	}
	r.Ways = map[int]orb.LineString{}
	for i, f := range *raw.Features {
		if f.Geometry == nil || f.Properties == nil {
			return fmt.Errorf("feature %d has no geometry or no properties; the file is damaged, make the map again", i+1)
		}
		line, err := parseLine(f.Geometry.Type, f.Geometry.Coordinates)
		if err != nil {
			return fmt.Errorf("feature %d: %w; the file is damaged, make the map again", i+1, err)
		}
		c := byRank[f.Properties.Rank]
		if c == nil || c.Walk == nil || !c.Walk.OK || r.Ways[c.Rank] != nil {
			return fmt.Errorf("feature %d has rank %d, which is no candidate with one way in; the file is damaged, make the map again", i+1, f.Properties.Rank)
		}
		r.Ways[c.Rank] = line
		if len(f.Properties.Cautions) > 0 {
			c.Walk.Cautions = f.Properties.Cautions
		}
	}
	for i := range r.Candidates {
		if w := r.Candidates[i].Walk; w != nil && w.OK && len(w.Cautions) == 0 {
			r.note("the way in to candidate %d comes without its cautions; make the map again", r.Candidates[i].Rank)
		}
	}
	return nil
}
