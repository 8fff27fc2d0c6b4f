package habitat

import (
	"math"

	"rillwood/habitat/inventory"
)

// appraisal is what ground is worth: by the host tables, and where host trees
// were measured, by those.
type appraisal struct {
	tables   *HostTables
	measured []inventory.Measured
	rate, sd []float64 // hit rate of each host and its doubt
}

func newAppraisal(p *Profile, tables *HostTables, measured []inventory.Measured) *appraisal {
	a := &appraisal{tables: tables, measured: measured}
	for _, h := range p.Hosts {
		beta := h.HitRate.Beta()
		a.rate, a.sd = append(a.rate, beta.Mean()), append(a.sd, beta.SD())
	}
	return a
}

// site is what one cell is worth; the fields are those of HostTable.
type site struct {
	S, E, ESD, L, Dead float32
	Limit              uint8
}

// appraiser appraises stretches of rows. It belongs to one goroutine.
type appraiser struct {
	*appraisal
	rows        []measuredRow
	trees, dead []float64 // per hectare by host, of the cell last asked for
}

type measuredRow struct {
	trees  []uint16
	dead   []uint8 // empty = the profile's
	weight []uint8
}

func (a *appraisal) reader() *appraiser {
	n := len(a.tables.any().Hosts)
	return &appraiser{appraisal: a, rows: make([]measuredRow, len(a.measured)), trees: make([]float64, n), dead: make([]float64, n)}
}

// load fetches what was measured on n cells of a row; nothing where nothing was.
func (r *appraiser) load(x, y, n int) error {
	for k, m := range r.measured {
		row := &r.rows[k]
		if len(row.weight) < n {
			*row = measuredRow{trees: make([]uint16, n), weight: make([]uint8, n)}
			if m.DeadShare != nil {
				row.dead = make([]uint8, n)
			}
		}
		if err := m.Weight.Read(x, y, n, 1, row.weight[:n]); err != nil {
			return err
		}
		if err := m.TreesHa.Read(x, y, n, 1, row.trees[:n]); err != nil {
			return err
		}
		if m.DeadShare != nil {
			if err := m.DeadShare.Read(x, y, n, 1, row.dead[:n]); err != nil {
				return err
			}
		}
	}
	return nil
}

// known tells whether anything was measured at cell i of the loaded stretch.
func (r *appraiser) known(i int) bool {
	for k := range r.rows {
		if r.rows[k].weight[i] > 0 {
			return true
		}
	}
	return false
}

// at appraises cell i of the loaded stretch.
func (r *appraiser) at(i int, z float32, q, slot uint8) site {
	t, key := r.tables.at(z), Key(q, slot)
	if len(r.rows) == 0 || q > BottomSteps || !r.known(i) {
		return site{t.S[key], t.E[key], t.ESD[key], t.L[key], t.Dead[key], t.Limit[key]}
	}
	r.stand(i, t, key)
	var finds, variance, dead float64
	for k, d := range r.dead {
		f := t.rateFactor(k, int(q))
		finds += d * r.rate[k] * f
		variance += d * d * r.sd[k] * r.sd[k] * f * f
		dead += d
	}
	b, l := float64(q)/BottomSteps, min(1, finds/t.EMax)
	bare, cover := t.index(b, l), t.cover[slot]
	return site{
		S: float32(bare * cover), E: float32(finds), ESD: float32(math.Sqrt(variance)), L: float32(l), Dead: float32(dead),
		Limit: uint8(r.limiting(t, b, l, bare, cover)),
	}
}

// suitability is at(…).S, quick where nothing was measured on the map.
func (r *appraiser) suitability(i int, z float32, q, slot uint8) float32 {
	if len(r.rows) == 0 {
		return r.tables.at(z).S[Key(q, slot)]
	}
	return r.at(i, z, q, slot).S
}

// limiting is HostTable.limiting for measured ground: hosts are mended to the
// best there are.
func (r *appraiser) limiting(t *HostTable, b, l, bare, cover float64) Limit {
	if cover == 0 {
		return LimitCover
	}
	gains := [...]float64{
		LimitNone:       0,
		LimitBottomland: (t.index(1, l) - bare) * cover,
		LimitHosts:      (t.index(b, 1) - bare) * cover,
		LimitCover:      bare * (1 - cover),
	}
	most := LimitBottomland
	for _, f := range []Limit{LimitHosts, LimitCover} {
		if gains[f] > gains[most] {
			most = f
		}
	}
	if gains[most] < t.limitingGain && bare*cover >= t.threshold {
		return LimitNone
	}
	return most
}

// stand works out the trees of cell i by host into r.trees and r.dead: those
// of the table, and where they were measured a mean of both by the weight of
// the measurement.
func (r *appraiser) stand(i int, t *HostTable, key int) {
	for k := range t.Hosts {
		h := &t.Hosts[k]
		r.trees[k] = h.DensityHa * float64(t.H[k][key]) / BottomSteps
		r.dead[k] = r.trees[k] * h.DeadShare
	}
	for m := range r.rows {
		row := &r.rows[m]
		if row.weight[i] == 0 {
			continue
		}
		k := r.measured[m].Host
		w := float64(row.weight[i]) / inventory.WeightUnit
		found, share := float64(row.trees[i])/inventory.TreesUnit, t.Hosts[k].DeadShare
		if len(row.dead) > 0 && row.dead[i] != inventory.ShareProfile {
			share = float64(row.dead[i]) / inventory.ShareUnit
			if t.Hosts[k].OfDead > 0 {
				share *= t.Hosts[k].OfDead
			}
		}
		r.trees[k] = inventory.Trees(r.trees[k], row.trees[i], row.weight[i])
		r.dead[k] += w * (found*share - r.dead[k])
	}
}

// likelihood is the likelihood of host k at cell i, in BottomSteps.
func (r *appraiser) likelihood(k, i int, z float32, q, slot uint8) uint8 {
	t, key := r.tables.at(z), Key(q, slot)
	if len(r.rows) == 0 || !r.known(i) {
		return t.H[k][key]
	}
	r.stand(i, t, key)
	if t.Hosts[k].DensityHa <= 0 {
		return 0
	}
	return uint8(math.Round(min(1, r.trees[k]/t.Hosts[k].DensityHa) * BottomSteps))
}
