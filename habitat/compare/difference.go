package compare

import (
	"context"
	"fmt"
	"math"

	"rillwood/raster"
)

// Difference says how suitability changed, B less A, over the cells that both
// runs know. Areas are in hectares.
type Difference struct {
	ComparedHa float64 `json:"compared_ha"`
	OnlyAHa    float64 `json:"only_a_ha"` // known in A alone, within the ground both maps cover
	OnlyBHa    float64 `json:"only_b_ha"`
	Mean       float64 `json:"mean"`
	MeanAbs    float64 `json:"mean_absolute"`
	Least      float64 `json:"least"`
	Most       float64 `json:"most"`
	RaisedHa   float64 `json:"raised_ha"`  // by Notable or more
	LoweredHa  float64 `json:"lowered_ha"` // by Notable or more
	GainedHa   float64 `json:"gained_ha"`  // reaches B's threshold, did not reach A's
	LostHa     float64 `json:"lost_ha"`

	frame raster.Frame
	a, b  string
	runs  string
}

// Notable is the change of suitability that counts as raised or lowered.
const Notable = 0.05

func (d *Difference) same() bool {
	return d.MeanAbs == 0 && d.OnlyAHa == 0 && d.OnlyBHa == 0
}

const (
	noData    = -9999
	bandRows  = 256
	roundUnit = 1 << 20 // sums of differences are whole numbers of 1/2^20
)

// differ measures the difference where the frames can be laid on each other;
// note says why not, or over which part.
func differ(ctx context.Context, a, b *Run, workers int) (d *Difference, note string, err error) {
	if a.info == nil || b.info == nil {
		return nil, "", nil // noted when the runs were opened
	}
	fa, err := a.frame()
	if err != nil {
		return nil, "", err
	}
	fb, err := b.frame()
	if err != nil {
		return nil, "", err
	}
	f, note, ok := common(fa, fb)
	if !ok {
		return nil, note, nil
	}
	d = &Difference{frame: f, a: a.layer("suitability"), b: b.layer("suitability"), runs: a.record.Run + " to " + b.record.Run}
	return d, note, d.measure(ctx, a.record.threshold(), b.record.threshold(), workers)
}

type partial struct {
	n, onlyA, onlyB, up, down, gain, loss int
	sum, abs                              int64
	least, most                           float64
}

func (d *Difference) measure(ctx context.Context, ta, tb float64, workers int) error {
	f := d.frame
	parts := make([]partial, (f.H+bandRows-1)/bandRows)
	err := raster.Parallel(ctx, max(1, workers), len(parts), func(_, i int) error {
		a, b, err := d.band(ctx, i*bandRows, min(bandRows, f.H-i*bandRows))
		if err != nil {
			return err
		}
		p := &parts[i]
		p.least, p.most = math.Inf(1), math.Inf(-1)
		for k := range a {
			p.add(float64(a[k]), float64(b[k]), ta, tb)
		}
		return nil
	})
	if err != nil {
		return err
	}
	all := partial{least: math.Inf(1), most: math.Inf(-1)}
	for _, p := range parts {
		all.n, all.onlyA, all.onlyB = all.n+p.n, all.onlyA+p.onlyA, all.onlyB+p.onlyB
		all.up, all.down, all.gain, all.loss = all.up+p.up, all.down+p.down, all.gain+p.gain, all.loss+p.loss
		all.sum, all.abs = all.sum+p.sum, all.abs+p.abs
		all.least, all.most = min(all.least, p.least), max(all.most, p.most)
	}
	ha := func(n int) float64 { return tidy(float64(n)*f.CellHa(), 4) }
	d.ComparedHa, d.OnlyAHa, d.OnlyBHa = ha(all.n), ha(all.onlyA), ha(all.onlyB)
	d.RaisedHa, d.LoweredHa, d.GainedHa, d.LostHa = ha(all.up), ha(all.down), ha(all.gain), ha(all.loss)
	if all.n > 0 {
		d.Mean, d.MeanAbs = float64(all.sum)/roundUnit/float64(all.n), float64(all.abs)/roundUnit/float64(all.n)
		d.Least, d.Most = all.least, all.most
	}
	return nil
}

// add counts a cell. NaN is a cell that is not known.
func (p *partial) add(a, b, ta, tb float64) {
	switch {
	case a != a && b != b:
		return
	case b != b:
		p.onlyA++
		return
	case a != a:
		p.onlyB++
		return
	}
	v := b - a
	p.n++
	whole := int64(math.Round(v * roundUnit))
	p.sum += whole
	p.abs += max(whole, -whole)
	p.least, p.most = min(p.least, v), max(p.most, v)
	if v >= Notable {
		p.up++
	}
	if v <= -Notable {
		p.down++
	}
	if a < ta && b >= tb {
		p.gain++
	}
	if a >= ta && b < tb {
		p.loss++
	}
}

// band reads rows of both maps, NaN = not known.
func (d *Difference) band(ctx context.Context, y, n int) (a, b []float32, err error) {
	f := d.frame.Cut(0, y, d.frame.W, n)
	if a, err = readBand(ctx, d.a, f); err != nil {
		return nil, nil, err
	}
	b, err = readBand(ctx, d.b, f)
	return a, b, err
}

func readBand(ctx context.Context, path string, f raster.Frame) ([]float32, error) {
	p, err := raster.NewPlane[float32](f.W, f.H, nil)
	if err != nil {
		return nil, err
	}
	if _, err := raster.ReadSurface(ctx, raster.Source{Paths: []string{path}}, f, 1, 1, p, func(float64) {}); err != nil {
		return nil, err
	}
	return p.Mem(), nil
}

// Write writes the difference as a Cloud Optimized GeoTIFF (OGC 21-026):
// float32, B less A, -9999 where one of the runs knows nothing.
func (d *Difference) Write(ctx context.Context, path string, workers int) error {
	none := float64(noData)
	o := raster.TIFFOptions{NoData: &none, Description: "suitability after less suitability before", Unit: "index", Workers: max(1, workers),
		Metadata: map[string]string{"RUNS": d.runs, "CAUTION": Caution, "AREA_OR_POINT": "Area"}}
	err := raster.WriteCOG(ctx, path, d.frame, o, func(y, n int, dst []float32) error {
		a, b, err := d.band(ctx, y, n)
		if err != nil {
			return err
		}
		for i := range a {
			dst[i] = b[i] - a[i]
			if dst[i] != dst[i] {
				dst[i] = noData
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("difference: %w", err)
	}
	return nil
}

func tidy(v float64, decimals int) float64 {
	p := math.Pow(10, float64(decimals))
	return math.Round(v*p) / p
}
