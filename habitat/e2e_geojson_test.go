package habitat

import (
	"encoding/json"
	"os"
	"strings"
	"testing"
)

// shortlistFile is shortlist.geojson as another program would read it.
// Positions stay text, so that their decimals can be counted.
type shortlistFile struct {
	Type     string             `json:"type"`
	CRS      json.RawMessage    `json:"crs"`
	BBox     []float64          `json:"bbox"`
	Features []shortlistFeature `json:"features"`
}

type shortlistFeature struct {
	Type     string    `json:"type"`
	BBox     []float64 `json:"bbox"`
	Geometry struct {
		Type        string          `json:"type"`
		Coordinates json.RawMessage `json:"coordinates"`
	} `json:"geometry"`
	Properties struct {
		Rank   int     `json:"rank"`
		AreaHa float64 `json:"area_ha"`
		Mean   float64 `json:"suitability_mean"`
		Score  float64 `json:"score"`
		Lon    float64 `json:"lon"`
		Lat    float64 `json:"lat"`

		Land     json.RawMessage `json:"land"`
		Evidence json.RawMessage `json:"evidence"`
	} `json:"properties"`
}

func readJSON(t *testing.T, path string, into any) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, into); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
}

// polygons reads the rings of a feature.
func (f *shortlistFeature) polygons(t *testing.T) [][][][2]json.Number {
	t.Helper()
	var many [][][][2]json.Number
	var one [][][2]json.Number
	var err error
	switch f.Geometry.Type {
	case "Polygon":
		err = json.Unmarshal(f.Geometry.Coordinates, &one)
		many = append(many, one)
	case "MultiPolygon":
		err = json.Unmarshal(f.Geometry.Coordinates, &many)
	default:
		t.Fatalf("rank %d: geometry of type %q", f.Properties.Rank, f.Geometry.Type)
	}
	if err != nil {
		t.Fatalf("rank %d: %v", f.Properties.Rank, err)
	}
	return many
}

// checkRFC7946 holds a shortlist against the rules of RFC 7946: positions in
// longitude and latitude (4), closed rings, exteriors counter-clockwise and
// holes clockwise (3.1.6), bounding boxes (5), no crs member (4); and at most
// seven decimals, a centimetre (11.2 says why no more).
func checkRFC7946(t *testing.T, path string) {
	var list shortlistFile
	readJSON(t, path, &list)
	if list.Type != "FeatureCollection" || list.CRS != nil {
		t.Errorf("type %q, crs member %s", list.Type, list.CRS)
	}
	all := newBox()
	for i := range list.Features {
		f := &list.Features[i]
		rank := f.Properties.Rank
		if f.Type != "Feature" || rank != i+1 {
			t.Errorf("feature %d has type %q and rank %d", i+1, f.Type, rank)
		}
		if i > 0 && f.Properties.Score > list.Features[i-1].Properties.Score {
			t.Errorf("rank %d scores above rank %d", rank, rank-1)
		}
		box := newBox()
		for _, poly := range f.polygons(t) {
			for k, ring := range poly {
				area := ringArea(t, ring, box)
				if k == 0 && !(area > 0) {
					t.Errorf("rank %d: exterior ring is not counter-clockwise (signed area %g)", rank, area)
				}
				if k > 0 && !(area < 0) {
					t.Errorf("rank %d: hole %d is not clockwise (signed area %g)", rank, k, area)
				}
			}
		}
		if len(f.BBox) != 4 || [4]float64(f.BBox) != *box {
			t.Errorf("rank %d: bbox %v, its positions span %v", rank, f.BBox, *box)
		}
		if p := f.Properties; p.Lon < box[0] || p.Lon > box[2] || p.Lat < box[1] || p.Lat > box[3] {
			t.Errorf("rank %d: lon %g, lat %g lie outside its box", rank, p.Lon, p.Lat)
		}
		// Not of the standard: an empty list beside filled ones crashes fiona 1.9 on GDAL 3.6.
		if string(f.Properties.Land) == "[]" || string(f.Properties.Evidence) == "[]" {
			t.Errorf("rank %d: an empty list; null is meant", rank)
		}
		all[0], all[1], all[2], all[3] = min(all[0], box[0]), min(all[1], box[1]), max(all[2], box[2]), max(all[3], box[3])
	}
	if len(list.Features) > 0 && (len(list.BBox) != 4 || [4]float64(list.BBox) != *all) {
		t.Errorf("bbox %v, the features span %v", list.BBox, *all)
	}
}

func newBox() *[4]float64 { return &[4]float64{180, 90, -180, -90} }

// ringArea is the signed area of a ring in square degrees (shoelace formula);
// box grows by its positions.
func ringArea(t *testing.T, ring [][2]json.Number, box *[4]float64) float64 {
	t.Helper()
	if len(ring) < 4 || ring[0] != ring[len(ring)-1] {
		t.Errorf("ring of %d positions is not closed", len(ring))
	}
	var area float64
	var last, first [2]float64
	for i, pos := range ring {
		var p [2]float64
		for k, number := range pos {
			v, err := number.Float64()
			if err != nil {
				t.Fatal(err)
			}
			if _, decimals, _ := strings.Cut(number.String(), "."); len(decimals) > 7 || strings.ContainsAny(decimals, "eE") {
				t.Errorf("position %s has more than seven decimals", number)
			}
			if limit := []float64{180, 90}[k]; v < -limit || v > limit {
				t.Errorf("position %s is out of range", number)
			}
			p[k] = v
		}
		box[0], box[1], box[2], box[3] = min(box[0], p[0]), min(box[1], p[1]), max(box[2], p[0]), max(box[3], p[1])
		if i == 0 {
			first, last = p, p
		}
		// From the first position on, so that the numbers stay small.
		area += (last[0]-first[0])*(p[1]-first[1]) - (p[0]-first[0])*(last[1]-first[1])
		last = p
	}
	return area / 2
}
