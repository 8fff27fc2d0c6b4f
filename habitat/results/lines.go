package results

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// readWays reads the ways in; a run without them has none.
func (r *Run) readWays(path string) error {
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	data, err := ReadFile(path)
	if err != nil {
		return err
	}
	if err := r.parseWays(data); err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(path), err)
	}
	return nil
}

func (r *Run) parseWays(data []byte) error {
	var raw struct {
		Run      string `json:"run"`
		Features []struct {
			Geometry *struct {
				Type        string      `json:"type"`
				Coordinates [][]float64 `json:"coordinates"`
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
	if raw.Run != "" && raw.Run != r.ID {
		return fmt.Errorf("is of run %q, run.json of run %q; files of two runs lie in one folder, make the map again", Clip(raw.Run, 40), r.ID)
	}
	r.Ways = map[int]orb.LineString{}
	for i, f := range raw.Features {
		if f.Geometry == nil || f.Properties == nil || f.Geometry.Type != "LineString" || len(f.Geometry.Coordinates) < 2 {
			return fmt.Errorf("feature %d is no line with a rank; the file is damaged, make the map again", i+1)
		}
		line, err := positions(f.Geometry.Coordinates)
		if err != nil {
			return fmt.Errorf("feature %d: %w; the file is damaged, make the map again", i+1, err)
		}
		c := r.Candidate(f.Properties.Rank)
		if c == nil || r.Ways[c.Rank] != nil {
			return fmt.Errorf("feature %d has rank %d, which is no candidate without a way; the file is damaged, make the map again", i+1, f.Properties.Rank)
		}
		r.Ways[c.Rank] = line
		if c.Walk != nil {
			c.Walk.Cautions = f.Properties.Cautions
		}
	}
	return nil
}

// readStreams takes streams and the outline of the area; without them less is
// drawn, and a note says so.
func (r *Run) readStreams(path string) {
	if _, err := os.Stat(path); err != nil {
		r.Notes = append(r.Notes, "no "+filepath.Base(path)+": streams and the outline of the area are not drawn; make the map again with output.report true")
		return
	}
	ctx := context.Background()
	lines, err := vector.Read(ctx, vector.Query{Path: path, Layer: "streams", Fields: []string{"name", "stream_order"}, Kind: vector.Lines}, raster.WGS84())
	if err != nil && !errors.Is(err, vector.ErrEmpty) {
		r.Notes = append(r.Notes, fmt.Sprintf("not shown: %v", err))
	}
	for _, f := range lines.Features {
		s := Stream{Name: f.Values[0].String()}
		if v, ok := f.Values[1].Float(); ok && v >= 1 && v < 100 {
			s.Order = int(v)
		}
		switch l := f.Geometry.(type) {
		case orb.LineString:
			s.Line = orb.MultiLineString{l}
		case orb.MultiLineString:
			s.Line = l
		}
		r.Streams = append(r.Streams, s)
	}
	area, err := vector.Read(ctx, vector.Query{Path: path, Layer: "area", Kind: vector.Polygons}, raster.WGS84())
	if err != nil && !errors.Is(err, vector.ErrEmpty) {
		r.Notes = append(r.Notes, fmt.Sprintf("not shown: %v", err))
	}
	for _, f := range area.Features {
		switch g := f.Geometry.(type) {
		case orb.Polygon:
			r.Area = append(r.Area, g)
		case orb.MultiPolygon:
			r.Area = append(r.Area, g...)
		}
	}
}
