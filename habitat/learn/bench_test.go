package learn

import (
	"math/rand/v2"
	"testing"
)

func manyRows(b *testing.B) ([]Group, []FindRow) {
	b.Helper()
	hosts := append([]Group(nil), threeHosts...)
	for _, key := range []string{"willow", "cottonwood", "silver-maple", "boxelder", "aspen", "birch", "beech"} {
		hosts = append(hosts, Group{Key: key, Kin: key, Prior: Beta{0.0075, 9.9925}})
	}
	rows, _, _, _ := drawn(rand.New(rand.NewPCG(17, 1)), hosts, 10_000, DefaultFinds())
	return hosts, rows
}

// Hundred thousand rows of ten hosts.
func BenchmarkPooledRates100000(b *testing.B) {
	hosts, rows := manyRows(b)
	for _, r := range rows {
		hosts[r.Host].Sites = append(hosts[r.Host].Sites, Count{r.X, r.N})
	}
	for b.Loop() {
		if _, err := PooledRates(hosts, DefaultPooling()); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFitFinds100000(b *testing.B) {
	hosts, rows := manyRows(b)
	for b.Loop() {
		if _, err := FitFinds(hosts, rows, DefaultFinds()); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLogistic100000(b *testing.B) {
	s := scatter(rand.New(rand.NewPCG(17, 2)), 100_000, 6, false)
	for b.Loop() {
		if _, err := Logistic(s.x, s.n, s.y, s.offset, s.prior); err != nil {
			b.Fatal(err)
		}
	}
}
