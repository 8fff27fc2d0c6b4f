package approach

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

type place struct {
	X, Y   float64
	NX, SP float64 // least distance by networkx and by scipy, −1 = none
}

// The network itself, held against GEOS (lines noded by unary union) and
// networkx and scipy (shortest ways): roads alone, so that effort is length.
func TestNodedNetworkAgainstGEOS(t *testing.T) {
	type county struct {
		Lines  []orb.LineString
		Starts []orb.Point
	}
	var in []county
	var networks []*Network
	for seed := range uint64(8) {
		r := rand.New(rand.NewPCG(31, seed))
		var ways []Way
		var lines []orb.LineString
		for i := range 25 {
			l := wander(r, 1000, 90, 1+r.IntN(8))
			if i%3 == 0 { // on a lattice: shared vertices, ends on other ways, overlaps
				l = orb.LineString{}
				for range 3 {
					l = append(l, orb.Point{float64(100 * r.IntN(10)), float64(100 * r.IntN(10))})
				}
			}
			ways = append(ways, Way{Line: l, Kind: Road})
			if l = slices.Compact(slices.Clone(l)); len(l) > 1 {
				lines = append(lines, l)
			}
		}
		ways = append(ways, Way{Line: orb.LineString{{0, 0}, {1000, 1000}}, Kind: Road, Closed: true})
		var starts []Start
		var points []orb.Point
		for range 3 {
			l := lines[r.IntN(len(lines))]
			p := l[r.IntN(len(l))]
			starts, points = append(starts, Start{Point: p}), append(points, p)
		}
		n, _ := build(t, ways, starts, meadow(), Options{SnapM: 1e-4})
		in, networks = append(in, county{lines, points}), append(networks, n)
	}
	var want [][]place
	judge(t, "shapely, networkx, scipy, numpy", `
import numpy as np, networkx as nx
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra
from shapely.geometry import LineString
from shapely.ops import unary_union
key = lambda p: (round(p[0], 5), round(p[1], 5))
def ways(data):
    net = unary_union([LineString(l) for l in data["Lines"]])
    g = nx.Graph()
    for l in getattr(net, "geoms", [net]):
        c = list(l.coords)
        for a, b in zip(c, c[1:]):
            if key(a) != key(b):
                g.add_edge(key(a), key(b), weight=float(np.hypot(a[0]-b[0], a[1]-b[1])))
    starts = {key(p) for p in data["Starts"]}
    near = nx.multi_source_dijkstra_path_length(g, starts)
    at = {n: i for i, n in enumerate(g)}
    e = [(at[a], at[b], w) for a, b, w in g.edges(data="weight")]
    m = csr_matrix(([w for *_, w in e], ([a for a, *_ in e], [b for _, b, _ in e])), (len(at),)*2)
    d = dijkstra(m, directed=False, indices=[at[s] for s in starts], min_only=True)
    return [dict(X=n[0], Y=n[1], NX=near.get(n, -1), SP=float(d[i]) if np.isfinite(d[i]) else -1) for n, i in at.items()]
print(json.dumps([ways(d) for d in json.load(sys.stdin)]))
`, in, &want)
	for seed, n := range networks {
		reached := 0
		for _, w := range want[seed] {
			best, at := math.Inf(1), -1
			for i, p := range n.nodes[:n.starts0] {
				if d := distance(p, orb.Point{w.X, w.Y}); d < best {
					best, at = d, i
				}
			}
			if best > 1e-4 {
				t.Fatalf("seed %d: GEOS has a node at %g, %g, we have none nearer than %g m", seed, w.X, w.Y, best)
			}
			got := n.effort[at]
			if math.IsInf(got, 1) {
				got = -1
			} else {
				reached++
			}
			if math.Abs(got-w.NX) > 1e-3 || math.Abs(got-w.SP) > 1e-3 {
				t.Errorf("seed %d: %g m to %g, %g; networkx says %g, scipy %g", seed, got, w.X, w.Y, w.NX, w.SP)
			}
		}
		if len(want[seed]) < 60 || reached < 20 {
			t.Errorf("seed %d: %d nodes, %d reached: the test is not sharp", seed, len(want[seed]), reached)
		}
	}
}

// The search alone, on networks with crossings and legs over open ground.
func TestEffortAgainstScipy(t *testing.T) {
	type arc struct {
		U, V int32
		W    float64
	}
	type graph struct {
		N      int
		Arcs   []arc
		Starts []int32
	}
	var in []graph
	var networks []*Network
	for seed := range uint64(6) {
		n, _ := random(t, seed, 1)
		g := graph{N: len(n.nodes)}
		for _, p := range n.pieces {
			g.Arcs = append(g.Arcs, arc{p.u, p.v, n.weight(p, p.v)}, arc{p.v, p.u, n.weight(p, p.u)})
		}
		for i := range n.starts {
			g.Starts = append(g.Starts, n.starts0+int32(i))
		}
		in, networks = append(in, g), append(networks, n)
	}
	var want []struct{ NX, SP []float64 }
	judge(t, "networkx, scipy, numpy", `
import numpy as np, networkx as nx
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra
def ways(d):
    best = {}
    for a in d["Arcs"]:
        k = a["U"], a["V"]
        best[k] = min(best.get(k, a["W"]), a["W"])
    g = nx.DiGraph(); g.add_nodes_from(range(d["N"]))
    g.add_weighted_edges_from((u, v, w) for (u, v), w in best.items())
    near = nx.multi_source_dijkstra_path_length(g, set(d["Starts"]))
    m = csr_matrix((list(best.values()), ([k[0] for k in best], [k[1] for k in best])), (d["N"],)*2)
    sp = dijkstra(m, indices=d["Starts"], min_only=True)
    return dict(NX=[near.get(i, -1) for i in range(d["N"])], SP=[float(x) if np.isfinite(x) else -1 for x in sp])
print(json.dumps([ways(d) for d in json.load(sys.stdin)]))
`, in, &want)
	for seed, n := range networks {
		for v, got := range n.effort {
			if math.IsInf(got, 1) {
				got = -1
			}
			if math.Abs(got-want[seed].NX[v]) > 1e-6 || math.Abs(got-want[seed].SP[v]) > 1e-6 {
				t.Errorf("seed %d: effort %g to node %d; networkx says %g, scipy %g", seed, got, v, want[seed].NX[v], want[seed].SP[v])
			}
		}
	}
}

func TestBuildRefusals(t *testing.T) {
	ctx := t.Context()
	for _, c := range []struct {
		name string
		o    Options
		want string
	}{
		{"a factor below one", Options{StraightFactor: 0.5}, "StraightFactor is 0.5"},
		{"no number", Options{CrossingM: math.NaN()}, "CrossingM is NaN"},
		{"below nought", Options{SnapM: -1}, "SnapM is -1"},
		{"without end", Options{MaxStraightM: math.Inf(1)}, "MaxStraightM is +Inf"},
		{"a wide snap", Options{SnapM: 1000}, "SnapM is 1000"},
	} {
		if _, _, err := Build(ctx, nil, nil, meadow(), c.o); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	if _, _, err := Build(ctx, nil, nil, nil, Options{}); err == nil {
		t.Error("no ground: no error")
	}
	stopped, cancel := context.WithCancel(ctx)
	cancel()
	ways := []Way{{Line: orb.LineString{{0, 0}, {100, 0}}}}
	if _, _, err := Build(stopped, ways, []Start{{}}, meadow(), Options{}); err == nil {
		t.Error("a stopped context: no error")
	}
	n, warnings := build(t, append(ways, Way{Name: "Ox\nbow", Line: orb.LineString{{0, 0}, {math.NaN(), 1}}}),
		[]Start{{}, {Point: orb.Point{math.Inf(1), 0}, Name: "Elm"}, {Point: orb.Point{5000, 0}, Name: "Far"}}, meadow(), Options{})
	all := strings.Join(warnings, "\n")
	for _, want := range []string{`way 2 ("Ox\nbow"): vertex 2`, `start 2 ("Elm")`, `start 3 ("Far")`} {
		if !strings.Contains(all, want) {
			t.Errorf("warnings lack %q:\n%s", want, all)
		}
	}
	if len(warnings) != 3 {
		t.Errorf("warnings:\n%s", all)
	}
	if w := n.To(Target{Middle: orb.Point{50, 20}}); !w.OK || w.StraightM < 20 {
		t.Errorf("walk beside bad data: %+v", w)
	}
}
