package vector

import (
	"context"
	"fmt"
)

// Limits bound what Read keeps of one layer. A file may hold more features, of
// which Query.Where and Query.Bounds leave fewer.
type Limits struct{ Features, Points int }

// DefaultLimits are those of a context without its own: a county's parcels are
// a fifth of the features, and the points take half a gigabyte.
var DefaultLimits = Limits{Features: 1_000_000, Points: 30_000_000}

type limitsKey struct{}

// WithLimits makes Read keep to other limits; what is not above 0 stays at its
// default.
func WithLimits(ctx context.Context, l Limits) context.Context {
	if l.Features <= 0 {
		l.Features = DefaultLimits.Features
	}
	if l.Points <= 0 {
		l.Points = DefaultLimits.Points
	}
	return context.WithValue(ctx, limitsKey{}, l)
}

func limitsOf(ctx context.Context) Limits {
	if l, ok := ctx.Value(limitsKey{}).(Limits); ok {
		return l
	}
	return DefaultLimits
}

// expect refuses a batch whose points would lead beyond the limits, before its
// shapes are made.
func (r *reader) expect(ctx context.Context, batch []rawFeature) error {
	for _, f := range batch {
		r.points += len(f.wkb) / pointBytes
	}
	if most := limitsOf(ctx).Points; r.points > most {
		return fmt.Errorf("its shapes have more than %d points here; choose fewer with where, simplify them, or raise run.most_points", most)
	}
	return nil
}

// within refuses more features than are taken.
func (r *reader) within(ctx context.Context) error {
	if most := limitsOf(ctx).Features; len(r.out) > most {
		return fmt.Errorf("it has more than %d features here; choose fewer with where, or raise run.most_features", most)
	}
	return nil
}

// pointBytes is what a point takes in WKB, and in memory.
const pointBytes = 16
