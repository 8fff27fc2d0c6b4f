package access

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/raster/region"
	"rillwood/vector"
)

// MaxReasons is how many reasons a KeepOut can tell apart.
const MaxReasons = 250

// Barrier is a layer from which patches keep away: points, lines, polygons
// with their inside.
type Barrier struct {
	Query     vector.Query // Bounds are filled in by ReadKeepOut
	DistanceM float64      // metres; 0 for the ground itself, of lines and points the cells they pass through
	Reason    string       // in a few words, for the visitor: "railway"
}

// CoverBarrier is kinds of land cover from which patches keep away. Its cells
// come from the caller, who knows the legend.
type CoverBarrier struct {
	Groups    []string
	DistanceM float64
	Reason    string
}

// Check holds the barrier's groups against those there are.
func (b CoverBarrier) Check(groups []string) error {
	if len(b.Groups) == 0 {
		return fmt.Errorf("keep-out %q: no kind of land cover; name some of %s", b.Reason, strings.Join(groups, ", "))
	}
	for _, g := range b.Groups {
		if !slices.Contains(groups, g) {
			return fmt.Errorf("keep-out %q: no land cover %q; use some of %s", b.Reason, g, strings.Join(groups, ", "))
		}
	}
	return checkBarrier(b.DistanceM, b.Reason)
}

// KeepOut is the ground that patches keep out of.
type KeepOut struct {
	Reasons []string             // each once, in the order given
	Plane   *raster.Plane[uint8] // 0 for none, k for Reasons[k−1]; the first barrier given wins
	Cells   []int64              // for each of Reasons, the cells of the plane that have it

	frame   raster.Frame
	scratch *raster.Scratch
	workers int
}

// ReadKeepOut marks the cells whose centre lies within DistanceM of a feature
// of a barrier (vector.FillWithin: exact distances, the limit included).
// Features outside the frame count when they are near enough. A barrier
// without features is an error, one whose filter finds none a warning: nothing
// is kept out in silence. The plane goes to scratch when that is not nil; the
// caller closes the KeepOut. The result does not depend on workers.
func ReadKeepOut(ctx context.Context, barriers []Barrier, f raster.Frame, scratch *raster.Scratch, workers int) (*KeepOut, []string, error) {
	k := &KeepOut{frame: f, scratch: scratch, workers: workers}
	number := make([]uint8, len(barriers))
	for i, b := range barriers {
		if err := checkBarrier(b.DistanceM, b.Reason); err != nil {
			return nil, nil, err
		}
		var err error
		if number[i], err = k.number(b.Reason); err != nil {
			return nil, nil, err
		}
	}
	shapes, told := make([][]orb.Geometry, len(barriers)), make([][]string, len(barriers))
	err := raster.Parallel(ctx, workers, len(barriers), func(_, i int) (err error) {
		shapes[i], told[i], err = barriers[i].read(ctx, f)
		return err
	})
	if err != nil {
		return nil, nil, err
	}
	if k.Plane, err = raster.NewPlane[uint8](f.W, f.H, scratch); err != nil {
		return nil, nil, fmt.Errorf("keep-out: %w", err)
	}
	// Backwards, so that the first barrier has the last word.
	for i := len(barriers) - 1; i >= 0; i-- {
		b := barriers[i]
		if err = ctx.Err(); err == nil {
			_, err = vector.FillWithin(f, shapes[i], func(int) float64 { return b.DistanceM }, func(int) uint8 { return number[i] }, k.Plane)
		}
		if err != nil {
			k.Close()
			return nil, nil, fmt.Errorf("keep-out %q: %q: %w", b.Reason, b.Query.Path, err)
		}
		shapes[i] = nil
	}
	if err := k.count(ctx); err != nil {
		k.Close()
		return nil, nil, fmt.Errorf("keep-out: %w", err)
	}
	return k, slices.Concat(told...), nil
}

func checkBarrier(distM float64, reason string) error {
	if strings.TrimSpace(reason) == "" {
		return fmt.Errorf("keep-out: a barrier without a reason; say in a few words why")
	}
	if !(distM >= 0) || math.IsInf(distM, 1) {
		return fmt.Errorf("keep-out %q: a distance of %g m; give 0 or more", reason, distM)
	}
	return nil
}

// number gives the plane's value for a reason, a new one for a new reason.
func (k *KeepOut) number(reason string) (uint8, error) {
	if i := slices.Index(k.Reasons, reason); i >= 0 {
		return uint8(i + 1), nil
	}
	if len(k.Reasons) == MaxReasons {
		return 0, fmt.Errorf("keep-out %q: there are %d other reasons already, which is the most; use one reason for several barriers", reason, MaxReasons)
	}
	k.Reasons, k.Cells = append(k.Reasons, reason), append(k.Cells, 0)
	return uint8(len(k.Reasons)), nil
}

// read gives the shapes within the barrier's distance of the frame.
func (b Barrier) read(ctx context.Context, f raster.Frame) ([]orb.Geometry, []string, error) {
	q := b.Query
	w, s, e, n := f.Bounds()
	q.Bounds = &[4]float64{w - b.DistanceM, s - b.DistanceM, e + b.DistanceM, n + b.DistanceM}
	layer, err := vector.Read(ctx, q, f.WKT)
	switch {
	case errors.Is(err, vector.ErrEmpty):
		return nil, nil, fmt.Errorf("keep-out %q: %w, so that nothing would be kept out; name another layer or take the barrier away", b.Reason, err)
	case err != nil:
		return nil, nil, fmt.Errorf("keep-out %q: %w", b.Reason, err)
	case layer.Geometry == "None":
		return nil, nil, fmt.Errorf("keep-out %q: %q: layer %q is a table without shapes; name another layer", b.Reason, q.Path, layer.Layer)
	}
	shapes := make([]orb.Geometry, len(layer.Features))
	for i, ft := range layer.Features {
		shapes[i] = ft.Geometry
	}
	return shapes, layer.Warnings, nil
}

// Close frees the plane. A nil KeepOut may be closed.
func (k *KeepOut) Close() {
	if k != nil {
		k.Plane.Close()
	}
}

// AddCells keeps patches distM metres away from ground that the caller marks
// with 1 on a plane of the frame's size (land cover, say): a cell is kept out
// when its centre lies no farther than that from the centre of a marked one
// (region.Distance: exact to the rounding of float32). Cells that have a
// reason keep it.
func (k *KeepOut) AddCells(ctx context.Context, cells *raster.Plane[uint8], distM float64, reason string) error {
	if err := checkBarrier(distM, reason); err != nil {
		return err
	}
	v, err := k.number(reason)
	if err != nil {
		return err
	}
	if err := k.addCells(ctx, cells, distM, v); err != nil {
		return fmt.Errorf("keep-out %q: %w", reason, err)
	}
	return nil
}

func (k *KeepOut) addCells(ctx context.Context, cells *raster.Plane[uint8], distM float64, v uint8) error {
	// Read once and thrown away: it takes no room from what is read often.
	far, err := raster.NewPlane[float32](k.frame.W, k.frame.H, k.scratch.Cold())
	if err != nil {
		return err
	}
	defer far.Close()
	if err := region.Distance(ctx, cells, 1, k.frame.Cell, far, k.workers); err != nil {
		return err
	}
	w, limit := k.frame.W, float32(distM) // rounded as the distances are, so that a centre just at the limit counts
	row, marks := make([]float32, w), make([]uint8, w)
	for y := range k.frame.H {
		if err := ctx.Err(); err != nil {
			return err
		}
		dist, err := far.Row(0, y, w, row)
		if err != nil {
			return err
		}
		if err := k.Plane.Read(0, y, w, 1, marks); err != nil {
			return err
		}
		n := int64(0)
		for x, d := range dist {
			if d <= limit && marks[x] == 0 {
				marks[x] = v
				n++
			}
		}
		if n > 0 {
			if err := k.Plane.Write(0, y, w, 1, marks); err != nil {
				return err
			}
			k.Cells[v-1] += n
		}
	}
	return nil
}

// count fills Cells from the plane.
func (k *KeepOut) count(ctx context.Context) error {
	row := make([]uint8, k.frame.W)
	for y := range k.frame.H {
		if err := ctx.Err(); err != nil {
			return err
		}
		marks, err := k.Plane.Row(0, y, k.frame.W, row)
		if err != nil {
			return err
		}
		for _, v := range marks {
			if v > 0 {
				k.Cells[v-1]++
			}
		}
	}
	return nil
}
