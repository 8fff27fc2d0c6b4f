package results

import (
	"context"
	"errors"

	"github.com/paulmach/orb"
)

var errTodo = errors.New("not written")

// Open reads a run's folder. A run record, shortlist or suitability raster
// that is missing, damaged or of another run is an error of one line; what
// else is missing is a note.
func Open(folder string) (*Run, error) { return nil, errTodo }

// Overview is the whole map warped to Web Mercator, with at most side cells a
// side; averages of what lies under each cell.
func (r *Run) Overview(ctx context.Context, side int) (*Ground, error) { return nil, errTodo }

// Crop is the cells of the frame that meet a bound (frame's grid, metres).
func (r *Run) Crop(ctx context.Context, b orb.Bound) (*Ground, error) { return nil, errTodo }

// Histogram counts the ground by suitability in n equal bins from 0 to 1.
func (r *Run) Histogram(ctx context.Context, n int) ([]Bin, error) { return nil, errTodo }

// AccessAreas traces who may enter, inside a bound (frame's grid, metres);
// none when the run has no access layer. Ground of unknown status is left out.
func (r *Run) AccessAreas(ctx context.Context, b orb.Bound) ([]AccessArea, error) { return nil, errTodo }
