package noisyor

import "math"

// causeState says what is left to find out about a cause once the absent
// observations and its own contradictions are folded into its prior.
type causeState uint8

const (
	ruledOut  causeState = iota // cannot be present
	confirmed                   // cannot be absent
	unlinked                    // open, but explains no open observation
	single                      // open, explains exactly one open observation
	multiple                    // open, explains two or more
)

// network is a problem reduced to what still has to be worked out. Every pair
// of masses in it adds up to one: the missing mass of a contradiction has moved
// into the odds of its cause or into factor.
type network struct {
	factor scaled // product of everything that no longer depends on an open cause
	state  []causeState
	weight []scaled  // prior * No of absents * masses that do not contradict
	on     []float64 // of an open cause: share of presence
	off    []float64 // of an open cause: share of absence

	// Background of each present observation, confirmed causes folded in.
	// settled marks one that is explained already, whatever the open causes do.
	backYes []float64
	backNo  []float64
	doubt   []float64 // likelihood if nothing explains it, in the unit of yes
	settled []bool

	// Links of cause c are first[c] <= l < first[c+1]. yes is counted in units of
	// 2^unit[obs], no in ones.
	first []int
	obs   []int
	yes   []float64
	no    []float64
	unit  []int

	// Single-link causes of observation i are singles[singleFirst[i]:singleFirst[i+1]].
	singleFirst []int
	singles     []int
}

// reduce folds p into the network. It returns ErrImpossible when a cause can be
// neither present nor absent or a background contradicts what was seen.
func (n *network) reduce(p *Problem) error {
	n.reset(len(p.Prior), len(p.Present))
	n.weigh(p)
	n.foldConfirmed(p)
	if n.factor.part == 0 {
		return ErrImpossible
	}
	n.link(p)
	n.sortSingles()
	n.applyUnits()
	return nil
}

// reset sizes the scratch for the given number of causes and present observations.
func (n *network) reset(causes, present int) {
	n.factor = one()
	n.state = resize(n.state, causes)
	n.weight = resize(n.weight, causes)
	n.on = resize(n.on, causes)
	n.off = resize(n.off, causes)
	n.backYes = resize(n.backYes, present)
	n.backNo = resize(n.backNo, present)
	n.doubt = resize(n.doubt, present)
	n.settled = resize(n.settled, present)
	n.unit = resize(n.unit, present)
	n.first = resize(n.first, causes+2)
	n.singleFirst = resize(n.singleFirst, present+2)
}

// weigh multiplies into each cause's prior every mass that needs no bookkeeping,
// and sorts the causes into ruled out, confirmed and open.
func (n *network) weigh(p *Problem) {
	for c, prior := range p.Prior {
		n.weight[c] = one()
		if prior < 1 { // rounding may have put it a little above
			n.weight[c].mul(prior)
		}
	}
	for i := range p.Absent {
		n.factor.mul(p.Absent[i].Background.No)
		for _, l := range p.Absent[i].Links {
			n.weight[l.Cause].mul(l.No)
		}
	}
	for i := range p.Present {
		for _, l := range p.Present[i].Links {
			if total := l.Yes + l.No; total != 1 {
				n.weight[l.Cause].mul(total)
			}
		}
	}
	for c, prior := range p.Prior {
		off := 0.0
		if prior < 1 {
			off = 1 - prior
		}
		n.share(c, off)
	}
}

// share splits one cause into its shares of presence and absence.
func (n *network) share(c int, off float64) {
	on := n.weight[c].value()
	switch {
	case off == 0:
		n.state[c] = confirmed
		n.factor.mul(n.weight[c].part)
		n.factor.exp += n.weight[c].exp
	case on == 0:
		n.state[c] = ruledOut
		n.factor.mul(off)
	default:
		n.state[c] = unlinked
		n.on[c], n.off[c] = on, off
		if total := on + off; total != 1 {
			n.on[c], n.off[c] = on/total, off/total
			n.factor.mul(total)
		}
	}
}

// foldConfirmed starts each background and folds the confirmed causes into it.
func (n *network) foldConfirmed(p *Problem) {
	for i := range p.Present {
		o := &p.Present[i]
		yes, no, total := o.Background.normal()
		n.factor.mul(total)
		for _, l := range o.Links {
			if n.state[l.Cause] != confirmed {
				continue
			}
			linkYes, linkNo, _ := l.normal()
			yes += no * linkYes
			no *= linkNo
		}
		n.backYes[i], n.backNo[i], n.doubt[i] = yes, no, o.Doubt
		n.settled[i] = no == 0
	}
}

// normal scales y to masses that add up to one and returns their former total.
func (y Yield) normal() (yes, no, total float64) {
	switch total = y.Yes + y.No; total {
	case 0:
		return 0, 1, 0
	case 1:
		return y.Yes, y.No, 1
	}
	return y.Yes / total, y.No / total, total
}

// link lists by cause the links that can still explain something.
func (n *network) link(p *Problem) {
	clear(n.first)
	for i := range p.Present {
		for _, l := range p.Present[i].Links {
			if n.useful(i, l) {
				n.first[l.Cause+2]++
			}
		}
	}
	for c := range n.state {
		n.state[c] = linkedState(n.state[c], n.first[c+2])
		n.first[c+2] += n.first[c+1]
	}
	total := n.first[len(n.state)+1]
	n.obs = resize(n.obs, total)
	n.yes = resize(n.yes, total)
	n.no = resize(n.no, total)
	for i := range p.Present {
		n.place(i, p.Present[i].Links)
	}
}

// place enters the useful links of observation i at their causes and chooses the unit
// of their yes masses.
func (n *network) place(i int, links []Link) {
	top := max(n.backYes[i], n.doubt[i])
	for _, l := range links {
		if !n.useful(i, l) {
			continue
		}
		at := n.first[l.Cause+1]
		n.first[l.Cause+1]++
		yes, no, _ := l.normal()
		n.obs[at], n.yes[at], n.no[at] = i, yes, no
		if yes > top {
			top = yes
		}
	}
	n.unit[i] = 0
	if top > 0 && top < rareYes {
		_, n.unit[i] = math.Frexp(top)
	}
}

// useful reports whether link l can change whether observation i is explained.
func (n *network) useful(i int, l Link) bool {
	return !n.settled[i] && l.Yes > 0 && n.state[l.Cause] >= unlinked
}

// linkedState refines the state of an open cause by its number of links.
func linkedState(state causeState, links int) causeState {
	if state != unlinked || links == 0 {
		return state
	}
	if links == 1 {
		return single
	}
	return multiple
}

// sortSingles lists the single-link causes by observation.
func (n *network) sortSingles() {
	clear(n.singleFirst)
	total := 0
	for c, state := range n.state {
		if state == single {
			n.singleFirst[n.obs[n.first[c]]+2]++
			total++
		}
	}
	for i := range n.backYes {
		n.singleFirst[i+2] += n.singleFirst[i+1]
	}
	n.singles = resize(n.singles, total)
	for c, state := range n.state {
		if state == single {
			i := n.obs[n.first[c]]
			n.singles[n.singleFirst[i+1]] = c
			n.singleFirst[i+1]++
		}
	}
}

// rareYes is the yes mass below which an observation counts in a unit of its own.
const rareYes = 0x1p-8

// applyUnits counts the yes masses of an observation that every source yields rarely in
// units of a power of two near the largest of them, so that they do not underflow.
func (n *network) applyUnits() {
	rare := false
	for i, unit := range n.unit {
		if unit == 0 {
			continue
		}
		rare = true
		n.factor.exp += unit
		n.backYes[i] = math.Ldexp(n.backYes[i], -unit)
		n.doubt[i] = math.Ldexp(n.doubt[i], -unit)
	}
	if !rare {
		return
	}
	for l, i := range n.obs {
		if unit := n.unit[i]; unit != 0 {
			n.yes[l] = math.Ldexp(n.yes[l], -unit)
		}
	}
}

// resize returns s with length n, reallocated only when its capacity is too small.
// The contents are unspecified.
func resize[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}
