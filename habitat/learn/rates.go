package learn

import (
	"errors"
	"fmt"
)

// Group is the trees of one host and condition.
type Group struct {
	Key   string // of the group, for messages
	Kin   string // groups of one kin learn from each other; "" is alone
	Prior Beta   // what the profile believes beforehand
	Sites []Count
}

// Pooling says how groups and sites hang together. Take DefaultPooling and
// change what must be.
type Pooling struct {
	// KinSD is the sd of the shift, in log-odds, that all groups of one kin
	// share. 0: groups know nothing of each other.
	KinSD float64
	// Rho is the prior of the overdispersion ρ between sites: the correlation
	// of two trees of one site, 1/(a+b+1) of the Beta the sites' rates follow.
	// The zero Beta: ρ is nought.
	Rho Beta
	// Level of the intervals.
	Level float64
}

// DefaultPooling is a kin shift of sd 0.5, about a factor 1.6 in a small rate,
// ρ about 0.1 (Beta(1, 9)) and intervals of 90 %. Common practice, no source.
func DefaultPooling() Pooling {
	return Pooling{KinSD: 0.5, Rho: Beta{A: 1, B: 9}, Level: 0.9}
}

// Interval is an uncertain number: its mean, and between Low and High it lies
// with the chance asked for.
type Interval struct {
	Mean, Low, High float64
}

// Rate is what is believed of one group after its finds and those of its kin.
type Rate struct {
	Key         string
	Interval         // of the group's rate, the mean over all sites
	Beta        Beta // of the same mean and variance, for a profile
	Prior       Beta
	X, N, Sites int // finds, trees and sites with trees that entered
}

// Rates is the answer of PooledRates, groups in the order given.
type Rates struct {
	Groups []Rate
	Rho    Interval
	// RhoTold is false where no site has two trees, or ρ was held at nought:
	// then Rho is the prior's.
	RhoTold bool
	Level   float64
	How     string // one sentence for people
}

const howRates = "Rates by Bayes' rule on grids: sites of a group scatter around its rate as a beta-binomial with one overdispersion for all groups; groups of one kin share a shift of their log-odds; shift and overdispersion are integrated over, not fixed at a best value."

// PooledRates learns hit rates. The model, for site s of group k of kin f:
//
//	x_s ~ beta-binomial(n_s, p_k, ρ),  logit p_k = logit q_k + δ_f,
//	q_k ~ the group's prior Beta,  δ_f ~ N(0, KinSD²),  ρ ~ Rho.
//
// δ is nought for a kin of one group, so a group alone has just its prior. p,
// δ and ρ (0.0001–0.99) are integrated over grids. With ρ and KinSD nought it
// is the conjugate rule, Beta(a+x, b+n−x), to the last digit. Two groups at
// one site count as two sites. A group without trees moves with its kin.
func PooledRates(groups []Group, how Pooling) (Rates, error) {
	if err := checkGroups(groups, how); err != nil {
		return Rates{}, err
	}
	kin := map[string]int{}
	for _, g := range groups {
		kin[g.Kin]++
	}
	p := newPool(groups, how, kin)
	out := Rates{Level: how.Level, How: howRates}
	nodes := p.weighRho()
	out.Rho, out.RhoTold = p.rho(nodes)
	for k := range p.members {
		out.Groups = append(out.Groups, p.rate(k, nodes))
	}
	return out, nil
}

func checkGroups(groups []Group, how Pooling) error {
	if !(how.KinSD >= 0 && how.KinSD <= 5) {
		return fmt.Errorf("the sd between kin is %g; give 0 to 5 in log-odds", how.KinSD)
	}
	if !(how.Level > 0 && how.Level < 1) {
		return fmt.Errorf("the level of intervals is %g; give a chance between 0 and 1, such as 0.9", how.Level)
	}
	if len(groups) == 0 {
		return errors.New("no groups; give each host and condition of the profile, even those without finds")
	}
	if how.Rho != (Beta{}) {
		if err := how.Rho.check("overdispersion"); err != nil {
			return err
		}
	}
	for _, g := range groups {
		what := fmt.Sprintf("group %q", g.Key)
		if err := g.Prior.check(what); err != nil {
			return err
		}
		for _, s := range g.Sites {
			if err := s.check(what); err != nil {
				return err
			}
		}
	}
	return nil
}
