package habitat

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sync"

	"rillwood/raster"
)

// noValue marks cells without data in the rasters that leave.
const noValue = -9999

// suitability writes the suitability: float32, 0 to 1, in steps of 1/1024,
// which any viewer reads as they are and which pack well.
func (p *publication) suitability(ctx context.Context, path string) error {
	none := float64(noValue)
	o := p.tags("suitability index, 0 to 1", "index")
	o.NoData = &none
	return raster.WriteCOG(ctx, path, p.frame(), o, siteRows(p, noValue, func(s site) float32 {
		return float32(math.Round(float64(s.S)*1024) / 1024)
	}))
}

// siteRows gives rows of the written window of a value that hangs on what a
// cell is worth; none where that is not known.
func siteRows[T uint8 | uint16 | float32](p *publication, none T, value func(s site) T) func(y, n int, dst []T) error {
	return lookupRows(p, none,
		func(t *HostTable, key int) T {
			return value(site{t.S[key], t.E[key], t.ESD[key], t.L[key], t.Dead[key], t.Limit[key]})
		},
		func(r *appraiser, i int, z float32, q, slot uint8) T { return value(r.at(i, z, q, slot)) })
}

// lookupRows gives rows of the written window, each cell looked up in a table
// of value by bottomland step and cover (and band of elevation, where hosts
// mind it); cells where host trees were measured are worked out by cell. The
// rows may be asked for on several goroutines at once.
func lookupRows[T uint8 | uint16 | float32](p *publication, none T, value func(t *HostTable, key int) T, cell func(r *appraiser, i int, z float32, q, slot uint8) T) func(y, n int, dst []T) error {
	tables := make([][]T, len(p.table.bands))
	for b, t := range p.table.bands {
		tables[b] = make([]T, 1<<16)
		for key := range tables[b] {
			if key>>8 > BottomSteps {
				tables[b][key] = none
				continue
			}
			tables[b][key] = value(t, key)
		}
	}
	w := p.ground.window
	type buffers struct {
		bottom []uint16
		cover  []uint8
		z      []float32
		worth  *appraiser
	}
	pool := sync.Pool{New: func() any {
		b := &buffers{make([]uint16, w.W), make([]uint8, w.W), make([]float32, w.W), p.worth.reader()}
		for i := range b.cover {
			b.cover[i] = NoClass
		}
		return b
	}}
	return func(y, n int, dst []T) error {
		b := pool.Get().(*buffers)
		defer pool.Put(b)
		for r := range n {
			bottom, err := p.judged.bottom.Row(w.X, w.Y+y+r, w.W, b.bottom)
			if err != nil {
				return err
			}
			cover := b.cover
			if p.ground.cover != nil {
				if cover, err = p.ground.cover.Row(w.X, w.Y+y+r, w.W, b.cover); err != nil {
					return err
				}
			}
			out := dst[r*w.W : (r+1)*w.W]
			z := b.z
			if p.table.one() {
				table := tables[0]
				for i, q := range bottom {
					out[i] = table[Key(bottomStep(q), cover[i])]
				}
			} else {
				if z, err = p.ground.z.Row(w.X, w.Y+y+r, w.W, b.z); err != nil {
					return err
				}
				for i, q := range bottom {
					out[i] = tables[p.table.band(z[i])][Key(bottomStep(q), cover[i])]
				}
			}
			if len(p.worth.measured) == 0 {
				continue
			}
			if err := b.worth.load(w.X, w.Y+y+r, w.W); err != nil {
				return err
			}
			for i, q := range bottom {
				if q != storedNone && b.worth.known(i) {
					out[i] = cell(b.worth, i, z[i], bottomStep(q), cover[i])
				}
			}
		}
		return nil
	}
}

// storedRows gives rows of a plane as they are stored.
func (p *publication) storedRows(plane *raster.Plane[uint16]) func(y, n int, dst []uint16) error {
	w := p.ground.window
	return func(y, n int, dst []uint16) error { return plane.Read(w.X, w.Y+y, w.W, n, dst) }
}

// writeLayers writes the layers asked for into the folder and names them.
func (p *publication) writeLayers(ctx context.Context, folder string) ([]string, error) {
	if len(p.layers) == 0 {
		return nil, nil
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, fmt.Errorf("make %q: %w", folder, err)
	}
	var names []string
	none, noByte := float64(storedNone), 255.0
	// Whole numbers with a declared scale, which viewers apply: half the bytes
	// of floats and nothing lost, for these are what the run has worked with.
	scaled := func(name, what, unit string, perUnit float64, rows func(y, n int, dst []uint16) error) error {
		o := p.tags(what, unit)
		o.NoData, o.Scale = &none, 1/perUnit
		names = append(names, name+".tif")
		return raster.WriteCOG(ctx, filepath.Join(folder, name+".tif"), p.frame(), o, rows)
	}
	classes := func(name, what string, labels map[int]string, rows func(y, n int, dst []uint8) error) error {
		o := p.tags(what, "class")
		o.NoData, o.Classes, o.Nearest = &noByte, labels, true
		names = append(names, name+".tif")
		return raster.WriteCOG(ctx, filepath.Join(folder, name+".tif"), p.frame(), o, rows)
	}
	report := p.o.stage("writing layers")
	begin := layersDone(p.layers, len(p.table.any().Hosts), report)
	for _, layer := range p.layers {
		written := begin(layer)
		var err error
		switch layer {
		case "bottomland":
			err = scaled(layer, "bottomland probability, 0 to 1", "probability", bottomUnit, p.storedRows(p.judged.bottom))
		case "height":
			err = scaled(layer, "height above the nearest stream, down the water's way", "metre", heightUnit, p.storedRows(p.judged.height))
		case "relative-height":
			err = scaled(layer, "height above the streams in bankfull depths, geometric mean over the sizes of drainage", "bankfull depth", ratioUnit, p.storedRows(p.judged.ratio))
		case "expected-finds":
			err = scaled(layer, "expected finds per hectare in season", "finds per hectare", findsUnit, siteRows(p, storedNone, func(s site) uint16 { return stored(float64(s.E), findsUnit) }))
		case "limiting":
			labels := map[int]string{}
			for k, n := range LimitNames {
				labels[k] = n
			}
			err = classes(layer, "factor that holds suitability down", labels, siteRows(p, 255, func(s site) uint8 { return s.Limit }))
		case "confidence":
			err = classes(layer, "how the height above the streams is known",
				map[int]string{confUnknown: "no stream is known for it", confDrained: "down the water's way", confAcross: "water leaves the map first: nearest stream across the land"}, p.confidence)
		case "hosts":
			err = p.hostLayers(ctx, folder, &names, written)
		case "brook-height":
			err = scaled(layer, "height above streams of any size, in bankfull depths", "bankfull depth", ratioUnit, p.storedRows(p.judged.brook))
		case "stream-distance":
			err = scaled(layer, "distance to the stream that heights are measured from, in a straight line", "metre", distanceUnit, p.storedRows(p.judged.far))
		case "slope":
			err = scaled(layer, "slope (Horn)", "percent", slopeUnit, p.slopeRows)
		case "uncertainty":
			err = scaled(layer, "standard deviation of suitability, from the doubt in weights and hit rates", "index", doubtUnit, p.doubtRows())
		case "evidence":
			err = p.evidenceLayer(ctx, folder, &names)
		case "valley-flatness":
			err = p.flatnessLayer(ctx, folder, &names)
		case "access":
			err = classes(layer, "who may enter", accessLabels(), p.insideRows(p.ground.access.Status))
		case "keep-out":
			err = classes(layer, "why patches keep out", p.keepOutLabels(), p.insideRows(p.ground.keepOut.Plane))
		default:
			panic("habitat: no way to write layer " + layer) // the survey was checked against LayerNames
		}
		if err != nil {
			return nil, err
		}
	}
	report(1)
	slices.Sort(names)
	return names, nil
}

func (p *publication) confidence(y, n int, dst []uint8) error {
	w := p.ground.window
	if err := p.ground.status.Read(w.X, w.Y+y, w.W, n, dst); err != nil {
		return err
	}
	for i, c := range dst {
		if c == confOutside {
			dst[i] = 255
		}
	}
	return nil
}

// hostLayers writes one likelihood for each host: bytes, value = stored / 250.
func (p *publication) hostLayers(ctx context.Context, folder string, names *[]string, written func(share float64)) error {
	noByte := 255.0
	hosts := p.table.any().Hosts
	for k, h := range hosts {
		written(float64(k) / float64(len(hosts)))
		name := "host-" + h.ID + ".tif"
		o := p.tags("likelihood of "+h.Common+" ("+h.Scientific+"), 0 to 1", "likelihood")
		o.NoData, o.Scale = &noByte, 1.0/BottomSteps
		*names = append(*names, name)
		err := raster.WriteCOG(ctx, filepath.Join(folder, name), p.frame(), o, lookupRows(p, 255,
			func(t *HostTable, key int) uint8 { return t.H[k][key] },
			func(r *appraiser, i int, z float32, q, slot uint8) uint8 { return r.likelihood(k, i, z, q, slot) }))
		if err != nil {
			return err
		}
	}
	return nil
}

// tags are the words that go with every raster.
func (p *publication) tags(what, unit string) raster.TIFFOptions {
	return raster.TIFFOptions{
		Description: what, Unit: unit, Workers: p.o.workers,
		Metadata: map[string]string{
			"SOFTWARE":         "Rillwood " + Version,
			"RUN":              p.id,
			"SURVEY":           p.in.Survey.Name,
			"PROFILE":          p.in.Profile.Name,
			"BANKFULL_CURVE":   p.in.Curve.Name + ": " + p.in.Curve.Source,
			"CAUTION":          safetyLine,
			"AREA_OR_POINT":    "Area",
			"TIFFTAG_SOFTWARE": "Rillwood " + Version,
		},
	}
}

func (p *publication) frame() raster.Frame {
	w := p.ground.window
	return p.ground.frame.Cut(w.X, w.Y, w.W, w.H)
}
