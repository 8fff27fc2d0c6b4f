package approach

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// Network is the paths and roads with the least effort from any start to each
// of their points. It may be used by several goroutines at once.
type Network struct {
	o       Options
	ground  Ground
	starts  []Start
	nodes   []orb.Point // vertices of ways, then the starts
	starts0 int32       // node of the first start
	pieces  []piece
	arcs    arcs
	touch   []uint8             // streams that a node lies on
	ids     map[orb.Point]int32 // while building only

	effort []float64 // least effort to each node, +Inf when none leads there
	origin []int32   // its start
	before []int32   // the piece one comes by, -1 at a start

	tree tree
}

// piece is one straight edge of the network.
type piece struct {
	u, v      int32
	crossings int32
	flags     uint8
	length    float64 // m
}

const (
	leaveMiddle uint8 = 1 << iota // one may leave it anywhere
	leaveU                        // this piece offers its first node as a place to leave
	leaveV                        // and its second
	offPath                       // over open ground from a start
	bridged                       // from a start to a road or bridge: no stream is crossed
)

func (p piece) other(node int32) int32 { return p.u ^ p.v ^ node }

// Build makes the network and follows it from all starts. The warnings are
// plain lines for the user. It is an error to give options that make no sense, no
// Ground, or more than memory can number; ctx may stop it.
func Build(ctx context.Context, ways []Way, starts []Start, g Ground, o Options) (*Network, []string, error) {
	o, err := o.complete()
	if err != nil {
		return nil, nil, err
	}
	if g == nil {
		return nil, nil, errors.New("approach: no ground given, so open water would not be seen: give a Ground")
	}
	l, warnings, err := clean(ways)
	if err != nil {
		return nil, nil, err
	}
	joints, err := l.level(ctx, o.Workers)
	if err != nil {
		return nil, nil, err
	}
	loose, refused, err := l.loose(ctx, g, o.SnapM, o.Workers)
	if err != nil {
		return nil, nil, err
	}
	if refused > 0 {
		warnings = append(warnings, fmt.Sprintf("%d loose ends of paths and roads not joined: water or closed ground lies between", refused))
	}
	parked, more, err := l.park(ctx, starts, g, o.SnapM, o.Workers)
	if err != nil {
		return nil, nil, err
	}
	warnings = append(warnings, more...)
	joints.append(loose)
	joints.append(parked)
	joints.settle()
	cuts, err := l.cutWays(ctx, joints.splits, g, o)
	if err != nil {
		return nil, nil, err
	}
	n := &Network{o: o, ground: g, starts: slices.Clone(starts)}
	shut := n.number(l, cuts)
	if m := shut[tooWet]; m > 0 {
		warnings = append(warnings, fmt.Sprintf("%.1f km of paths run in open water for more than %g m with no bridge and are not walked", m/1000, o.WetPathM))
	}
	if m := shut[tooPrivate]; m > 0 {
		warnings = append(warnings, fmt.Sprintf("%.1f km of paths run in ground closed to the public for more than %g m and are not walked; roads there are taken to be public", m/1000, o.ClosedPathM))
	}
	if len(n.nodes)+len(starts) > math.MaxInt32/4 {
		return nil, nil, fmt.Errorf("paths and roads make a network of %d points, which is too many: give those within reach of the area only", len(n.nodes))
	}
	if err := n.connect(ctx, joints.links); err != nil {
		return nil, nil, err
	}
	if err := n.follow(ctx); err != nil {
		return nil, nil, err
	}
	warnings = append(warnings, n.unreached()...)
	n.plant()
	return n, warnings, nil
}

// unreached warns of ways that no start leads to.
func (n *Network) unreached() []string {
	if len(n.starts) == 0 {
		return []string{"no parking place is known: no walk can be worked out"}
	}
	var all, lost float64
	for _, p := range n.pieces {
		all += p.length
		if math.IsInf(n.effort[p.u], 1) && math.IsInf(n.effort[p.v], 1) {
			lost += p.length
		}
	}
	if lost == 0 {
		return nil
	}
	return []string{fmt.Sprintf("%.1f km of %.1f km of paths and roads are joined to no parking place", lost/1000, all/1000)}
}

// Size is the number of points and of straight pieces of the network, starts
// and the legs from them included.
func (n *Network) Size() (points, pieces int) { return len(n.nodes), len(n.pieces) }

// All works out the walk to each target on several workers.
func (n *Network) All(ctx context.Context, targets []Target) ([]Walk, error) {
	walks := make([]Walk, len(targets))
	err := raster.Parallel(ctx, n.o.Workers, len(targets), func(_, i int) error {
		walks[i] = n.To(targets[i])
		return nil
	})
	return walks, err
}
