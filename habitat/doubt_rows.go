package habitat

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/mat"

	"rillwood/raster/terrain"
)

const (
	slopeUnit = 64    // stored slope = percent × slopeUnit
	doubtUnit = 16384 // stored standard deviation of suitability × doubtUnit
)

// termRows reads the terms of stretches of rows. It belongs to one goroutine.
type termRows struct {
	g     *ground
	j     *judgement
	z     [3][]float32
	slope []float32
	mean  []uint16
	brook []uint16
	far   []uint16
}

// load fetches n cells of a row.
func (r *termRows) load(x, y, n int) error {
	if cap(r.mean) < n {
		r.mean, r.brook, r.far, r.slope = make([]uint16, n), make([]uint16, n), make([]uint16, n), make([]float32, n)
		for k := range r.z {
			r.z[k] = make([]float32, n+2)
		}
	}
	r.mean, r.brook, r.far, r.slope = r.mean[:n], r.brook[:n], r.far[:n], r.slope[:n]
	if err := r.j.ratio.Read(x, y, n, 1, r.mean); err != nil {
		return err
	}
	if err := r.j.brook.Read(x, y, n, 1, r.brook); err != nil {
		return err
	}
	if err := r.j.far.Read(x, y, n, 1, r.far); err != nil {
		return err
	}
	return r.loadSlope(x, y, n)
}

func (r *termRows) loadSlope(x, y, n int) error {
	if cap(r.slope) < n {
		r.slope = make([]float32, n)
		for k := range r.z {
			r.z[k] = make([]float32, n+2)
		}
	}
	r.slope = r.slope[:n]
	for k := range r.z {
		r.z[k] = r.z[k][:n+2]
		if err := r.g.z.ReadPadded(x-1, y-1+k, n+2, 1, r.z[k], float32(math.NaN())); err != nil {
			return err
		}
	}
	terrain.GradientRow(r.z[0], r.z[1], r.z[2], r.g.frame.Cell, false, r.slope)
	return nil
}

// at gives the terms of cell i of the stretch; ok is false where they are not known.
func (r *termRows) at(i int) (t termVector, ok bool) {
	if r.mean[i] == storedNone || r.brook[i] == storedNone {
		return t, false
	}
	// A ratio of less than half a step is stored as nought.
	return termVector{1,
		math.Log(max(float64(r.mean[i]), 0.5) / ratioUnit), math.Log(max(float64(r.brook[i]), 0.5) / ratioUnit),
		math.Log1p(100 * max(0, float64(r.slope[i]))), float64(r.far[i]) / distanceUnit / 1000}, true
}

// slopeRows gives rows of the slope in percent.
func (p *publication) slopeRows(y, n int, dst []uint16) error {
	w := p.ground.window
	r := termRows{g: p.ground}
	status := make([]uint8, w.W)
	for k := range n {
		if err := r.loadSlope(w.X, w.Y+y+k, w.W); err != nil {
			return err
		}
		if err := p.ground.status.Read(w.X, w.Y+y+k, w.W, 1, status); err != nil {
			return err
		}
		for i, s := range r.slope {
			dst[k*w.W+i] = storedNone
			if s == s && status[i] != confOutside {
				dst[k*w.W+i] = stored(100*float64(s), slopeUnit)
			}
		}
	}
	return nil
}

// doubtRows gives rows of the standard deviation of suitability, by the delta
// method: the doubt of the weights through the log-odds of bottomland, that of
// the hit rates through the expected finds.
func (p *publication) doubtRows() func(y, n int, dst []uint16) error {
	w := p.ground.window
	cov := p.in.Profile.weightCovariance(p.ground.flatness != nil)
	type desk struct {
		terms  termRows
		bottom []uint16
		cover  []uint8
		worth  *appraiser
	}
	pool := sync.Pool{New: func() any {
		d := &desk{terms: termRows{g: p.ground, j: p.judged}, bottom: make([]uint16, w.W), cover: make([]uint8, w.W), worth: p.worth.reader()}
		for i := range d.cover {
			d.cover[i] = NoClass
		}
		return d
	}}
	return func(y, n int, dst []uint16) error {
		d := pool.Get().(*desk)
		defer pool.Put(d)
		for k := range n {
			row := w.Y + y + k
			if err := d.terms.load(w.X, row, w.W); err != nil {
				return err
			}
			if err := p.judged.bottom.Read(w.X, row, w.W, 1, d.bottom); err != nil {
				return err
			}
			if p.ground.cover != nil {
				if err := p.ground.cover.Read(w.X, row, w.W, 1, d.cover); err != nil {
					return err
				}
			}
			if err := d.worth.load(w.X, row, w.W); err != nil {
				return err
			}
			for i, b := range d.bottom {
				dst[k*w.W+i] = storedNone
				if b == storedNone {
					continue
				}
				dst[k*w.W+i] = stored(p.doubt(d.worth, &d.terms, cov, i, b, d.cover[i]), doubtUnit)
			}
		}
		return nil
	}
}

// doubt is the standard deviation of one cell's suitability.
func (p *publication) doubt(worth *appraiser, terms *termRows, cov *mat.SymDense, i int, b uint16, slot uint8) float64 {
	q := bottomStep(b)
	z := terms.z[1][i+1]
	here := worth.at(i, z, q, slot)
	if !(here.S > 0) {
		return 0
	}
	variance := 0.0
	if t, ok := terms.at(i); ok {
		// dS/dB from the table's neighbouring steps, dB/dlogit = B(1 − B).
		up, down := min(q+5, BottomSteps), max(int(q)-5, 0)
		high, low := worth.at(i, z, up, slot), worth.at(i, z, uint8(down), slot)
		slope := float64(high.S-low.S) / (float64(int(up)-down) / BottomSteps)
		prob := float64(b) / bottomUnit
		change := slope * prob * (1 - prob)
		variance += change * change * quadratic(cov, t)
	}
	if here.E > 0 {
		// S goes with finds to the power of the hosts' weight, until they are as many as anywhere.
		table := worth.tables.any()
		rel := float64(here.ESD) / float64(here.E) * table.wh / (table.wb + table.wh)
		variance += float64(here.S) * float64(here.S) * rel * rel
	}
	return math.Sqrt(variance)
}
