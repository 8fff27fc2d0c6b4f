package habitat

import (
	"context"
	"path/filepath"

	"rillwood/habitat/access"
	"rillwood/habitat/evidence"
	"rillwood/raster"
)

// evidenceLayer writes what the layers of evidence add to the log-odds of
// bottomland before the certainty rule: bytes, value = (stored − 127)/16.
func (p *publication) evidenceLayer(ctx context.Context, folder string, names *[]string) error {
	const none = 255
	noByte := float64(none)
	o := p.tags("shift of the log-odds of bottomland by the layers of evidence", "log-odds")
	o.NoData, o.Scale, o.Offset = &noByte, 1.0/evidence.ShiftUnit, -127.0/evidence.ShiftUnit
	*names = append(*names, "evidence.tif")
	w := p.ground.window
	return raster.WriteCOG(ctx, filepath.Join(folder, "evidence.tif"), p.frame(), o, func(y, n int, dst []uint8) error {
		shift, status := make([]int8, w.W), make([]uint8, w.W)
		for r := range n {
			if err := p.ground.evidence.Read(w.X, w.Y+y+r, w.W, 1, shift); err != nil {
				return err
			}
			if err := p.ground.status.Read(w.X, w.Y+y+r, w.W, 1, status); err != nil {
				return err
			}
			for i, s := range shift {
				dst[r*w.W+i] = uint8(int(s) + 127)
				if status[i] == confOutside {
					dst[r*w.W+i] = none
				}
			}
		}
		return nil
	})
}

// flatnessLayer writes the valley flatness as it is stored, inside the area.
func (p *publication) flatnessLayer(ctx context.Context, folder string, names *[]string) error {
	noByte := float64(flatnessNone)
	o := p.tags("multiresolution valley bottom flatness", "index")
	o.NoData, o.Scale = &noByte, 1.0/flatnessUnit
	*names = append(*names, "valley-flatness.tif")
	return raster.WriteCOG(ctx, filepath.Join(folder, "valley-flatness.tif"), p.frame(), o, p.insideRows(p.ground.flatness))
}

// insideRows gives rows of a plane of bytes, 255 = none outside the area.
func (p *publication) insideRows(plane *raster.Plane[uint8]) func(y, n int, dst []uint8) error {
	w := p.ground.window
	return func(y, n int, dst []uint8) error {
		if err := plane.Read(w.X, w.Y+y, w.W, n, dst); err != nil {
			return err
		}
		status := make([]uint8, len(dst))
		if err := p.ground.status.Read(w.X, w.Y+y, w.W, n, status); err != nil {
			return err
		}
		for i, s := range status {
			if s == confOutside {
				dst[i] = 255
			}
		}
		return nil
	}
}

func accessLabels() map[int]string {
	labels := map[int]string{}
	for s := range access.Status(landKinds) {
		labels[int(s)] = s.Label()
	}
	return labels
}

func (p *publication) keepOutLabels() map[int]string {
	labels := map[int]string{0: "no reason to keep out is mapped"}
	for i, r := range p.ground.keepOut.Reasons {
		labels[i+1] = r
	}
	return labels
}
