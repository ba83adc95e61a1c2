package noisyor

import "slices"

// network is a problem reduced to what still has to be worked out. Every pair of masses
// in it adds up to one: what contradicts has moved into the shares of its source, or into
// factor.
type network struct {
	ground scaled   // product of all that depends on no source
	factor scaled   // the same with what all trees weigh
	own    []scaled // of each source that is on: what its own answers weigh
	total  []scaled // of each source, on or off with all below it
	share  []pair   // of each source: its masses of on and off where what it lies under is on
	state  []state
	weight []scaled // of each source that is on: all that does not depend on how the present observations are explained
	back   []Yield  // of each present observation, with the certain sources
	doubt  []float64

	roots []int    // the live sources that lie under no live one, with something to explain in their tree
	busy  []bool   // by source: it or one below it has links
	under []int    // by source: the live source it lies under, or -1
	kids  [][]int  // of each source, the busy ones that lie directly under it
	below [][]int  // of each source, the live ones that lie directly under it
	links [][]link // of each source, those that can explain something
	aside []Yield  // of each source, what it yields where that explains nothing new
	noisy []bool   // by source: it or one below it may yield that

	many              []int // by source, how long a list may become
	allLinks          []link
	allKids, allBelow []int
}

// state is what is known of a source before the present observations are explained.
type state uint8

const (
	live    state = iota // it may be on or off
	dead                 // it is off, or what it lies under is
	certain              // it is on, with all that it lies under
)

// pair is the mass of the evidence with something on and with it off, up to a factor
// common to both.
type pair struct{ on, off float64 }

// link is what a live source does to one present observation.
type link struct {
	obs     int
	yes, no float64
}

// reduce folds p into the network. The factor is 0 if a source can be neither on nor off, or
// a background contradicts what was seen. With apart the certain sources stay sources,
// and what explains nothing new is noted in aside.
func (n *network) reduce(p *Problem, apart bool) {
	n.weighAll(p)
	n.factor, n.weight = n.ground, append(n.weight[:0], n.own...)
	n.total, n.share, n.state, n.under = resize(n.total, len(p.Sources)), resize(n.share, len(p.Sources)), resize(n.state, len(p.Sources)), resize(n.under, len(p.Sources))
	for s := len(p.Sources) - 1; s >= 0; s-- {
		from := &p.Sources[s]
		n.weigh(s, n.weight[s], from.masses())
		if from.Under >= 0 {
			n.weight[from.Under].join(n.total[s])
		} else {
			n.factor.join(n.total[s])
		}
	}
	for s := range p.Sources {
		n.state[s], n.under[s] = n.stateOf(s, p.Sources[s].Under, apart)
	}
	n.foldCertain(p)
	n.collect(p)
}

// masses are those of a source that is on and off.
func (s *Source) masses() pair {
	return pair{min(s.Chance, 1), max(0, 1-s.Chance)} // rounding may have put it a little above
}

// weigh gives source s its share and total from what weighs on it where it is on.
func (n *network) weigh(s int, on scaled, m pair) {
	on.mul(m.on)
	n.total[s] = on
	n.total[s].add(m.off)
	n.share[s] = pair{on.over(n.total[s]), scaled{part: m.off}.over(n.total[s])}
}

// weighAll multiplies what the absent observations and contradictions make of every
// source that is on, and of the background.
func (n *network) weighAll(p *Problem) {
	n.ground, n.own = one(), resize(n.own, len(p.Sources))
	for s := range n.own {
		n.own[s] = one()
	}
	for i := range p.Absent {
		o := &p.Absent[i]
		n.ground.mul(o.Background.No)
		for _, l := range o.Links {
			n.own[l.Source].mul(l.No)
		}
	}
	for i := range p.Present {
		o := &p.Present[i]
		n.ground.mul(o.Background.Yes + o.Background.No)
		for _, l := range o.Links {
			n.own[l.Source].mul(l.Yes + l.No)
		}
	}
}

// stateOf gives the state of source s, and the live source that it lies under.
func (n *network) stateOf(s, under int, apart bool) (state, int) {
	above := certain
	if under >= 0 {
		above = n.state[under]
	}
	switch m := n.share[s]; {
	case above == dead || m.on == 0:
		return dead, -1
	case above == live:
		return live, under
	case m.off == 0 && !apart:
		return certain, -1
	}
	return live, -1
}

// foldCertain starts each background and folds the certain sources into it.
func (n *network) foldCertain(p *Problem) {
	n.back = resize(n.back, len(p.Present))
	n.doubt = resize(n.doubt, len(p.Present))
	for i := range p.Present {
		o := &p.Present[i]
		y := o.Background.normal()
		for _, l := range o.Links {
			if n.state[l.Source] == certain {
				more := l.normal()
				y.Yes, y.No = y.Yes+y.No*more.Yes, y.No*more.No
			}
		}
		n.back[i], n.doubt[i] = y, o.Doubt
	}
}

// normal scales y to masses that add up to one.
func (y Yield) normal() Yield {
	switch total := y.Yes + y.No; total {
	case 0:
		return Yield{0, 1}
	case 1:
		return y
	default:
		return Yield{y.Yes / total, y.No / total}
	}
}

// collect lists by source the links that can still explain something, and the trees that
// have any.
func (n *network) collect(p *Problem) {
	n.aside, n.many = resize(n.aside, len(p.Sources)), zeros(n.many, len(p.Sources))
	for s := range n.aside {
		n.aside[s] = Yield{No: 1}
	}
	for i := range p.Present {
		for _, l := range p.Present[i].Links {
			n.many[l.Source]++
		}
	}
	n.links, n.allLinks = cut(n.links, n.allLinks, n.many)
	for i := range p.Present {
		for _, l := range p.Present[i].Links {
			if l.Yes == 0 || n.state[l.Source] != live {
				continue
			}
			y := l.normal()
			if n.back[i].No > 0 {
				n.links[l.Source] = append(n.links[l.Source], link{i, y.Yes, y.No})
				continue
			}
			aside := &n.aside[l.Source]
			aside.Yes, aside.No = aside.Yes+aside.No*y.Yes, aside.No*y.No
		}
	}
	n.grow()
}

// cut makes lists with room for so many each out of one array.
func cut[T any](lists [][]T, all []T, many []int) ([][]T, []T) {
	total := 0
	for _, k := range many {
		total += k
	}
	lists, all = resize(lists, len(many)), resize(all, total)
	at := 0
	for i, k := range many {
		lists[i] = all[at : at : at+k]
		at += k
	}
	return lists, all
}

// grow joins the sources with something to explain to trees.
func (n *network) grow() {
	n.roots, n.busy, n.noisy = n.roots[:0], zeros(n.busy, len(n.links)), zeros(n.noisy, len(n.links))
	n.many = zeros(n.many, len(n.links))
	for s := len(n.links) - 1; s >= 0; s-- {
		n.busy[s] = n.busy[s] || len(n.links[s]) > 0
		n.noisy[s] = n.noisy[s] || n.aside[s].Yes > 0
		if up := n.under[s]; up >= 0 {
			n.many[up]++
			n.busy[up] = n.busy[up] || n.busy[s]
			n.noisy[up] = n.noisy[up] || n.noisy[s]
		}
	}
	n.kids, n.allKids = cut(n.kids, n.allKids, n.many)
	n.below, n.allBelow = cut(n.below, n.allBelow, n.many)
	for s, busy := range n.busy {
		if n.under[s] >= 0 {
			n.below[n.under[s]] = append(n.below[n.under[s]], s)
		}
		switch {
		case !busy:
		case n.under[s] >= 0:
			n.kids[n.under[s]] = append(n.kids[n.under[s]], s)
		default:
			n.roots = append(n.roots, s)
		}
	}
}

// lengthen puts sources that answer nothing behind the others.
func (n *network) lengthen(sources []Source) {
	for s := len(n.share); s < len(sources); s++ {
		n.share, n.aside, n.links = append(n.share, sources[s].masses()), append(n.aside, Yield{No: 1}), append(n.links, nil)
		state, under := n.stateOf(s, sources[s].Under, true)
		n.state, n.under = append(n.state, state), append(n.under, under)
	}
	n.grow()
}

// reach appends to found the observations that the tree of s touches, each once.
func (n *network) reach(s int, found []int) []int {
	note := func(i int) {
		if !slices.Contains(found, i) {
			found = append(found, i)
		}
	}
	for _, l := range n.links[s] {
		note(l.obs)
	}
	for _, kid := range n.kids[s] {
		found = n.reach(kid, found)
	}
	return found
}
