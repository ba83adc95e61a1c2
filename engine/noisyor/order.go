package noisyor

import (
	"math"
	"math/bits"
	"slices"
)

// bitset is a set of present observations, one bit each.
type bitset []uint64

func (s bitset) add(i int)      { s[i>>6] |= 1 << (i & 63) }
func (s bitset) remove(i int)   { s[i>>6] &^= 1 << (i & 63) }
func (s bitset) has(i int) bool { return s[i>>6]>>(i&63)&1 != 0 }

// common returns how many members s and t have in common.
func (s bitset) common(t bitset) int {
	count := 0
	for w, x := range s {
		count += bits.OnesCount64(x & t[w])
	}
	return count
}

// fewToOpen is how many observations are still to open when the trees of others are
// put off until some are closed again.
const fewToOpen = 3

// orderer puts the trees in an order that keeps few observations open at once. It
// closes one observation after another: it opens what the trees of that one need and
// puts in each as soon as it needs no more. While few are open it puts in the trees of
// others too; once most are, those wait until one is closed.
type orderer struct {
	words   int
	reach   [][]int  // of each tree, by its root, the observations that it touches
	touches [][]int  // of each observation, its trees
	left    []int    // how many of them are still to come
	done    []bool   // by root: it is put in
	near    []uint64 // for each observation, all that it shares a tree with, words each
	sets    []uint64 // backing of the next two
	pending bitset   // observations not opened yet
	live    bitset   // opened and not closed
	sorted  []int    // the roots
}

func (o *orderer) nearOf(i int) bitset { return o.near[i*o.words:][:o.words] }

// order returns the roots of n in the order to work through them.
func (o *orderer) order(n *network) []int {
	o.reset(n)
	for i := o.target(); i >= 0; i = o.target() {
		o.open(i)
		o.ready(i)
		for other := range o.touches {
			if o.pending.has(other) && o.nearOf(i).has(other) {
				o.open(other)
				if o.nearOf(i).common(o.pending) > fewToOpen {
					o.ready(other)
				}
				o.ready(i)
			}
		}
		o.live.remove(i)
	}
	return o.sorted
}

// reset notes which trees and which other observations each observation has to do with.
func (o *orderer) reset(n *network) {
	observations := len(n.back)
	o.words = (observations + 63) / 64
	o.near, o.sets = zeros(o.near, observations*o.words), zeros(o.sets, 2*o.words)
	o.pending, o.live = o.sets[:o.words], o.sets[o.words:]
	o.left, o.done = zeros(o.left, observations), zeros(o.done, len(n.links))
	o.sorted, o.touches = o.sorted[:0], resize(o.touches, observations)
	for i := range o.touches {
		o.touches[i] = o.touches[i][:0]
	}
	o.reach = resize(o.reach, len(n.links))
	for _, r := range n.roots {
		o.reach[r] = n.reach(r, o.reach[r][:0])
		for _, i := range o.reach[r] {
			o.touches[i] = append(o.touches[i], r)
			o.left[i]++
			o.pending.add(i)
			for _, other := range o.reach[r] {
				o.nearOf(i).add(other)
			}
		}
	}
}

// zeros is resize with zeros for contents.
func zeros[T any](s []T, n int) []T {
	s = resize(s, n)
	clear(s)
	return s
}

// target returns the observation that can be closed after opening the fewest others, and
// of equals the one with the fewest trees to come: a live one if there is any, else a
// pending one, else -1.
func (o *orderer) target() int {
	from := o.live
	if o.live.common(o.live) == 0 {
		from = o.pending
	}
	best, fewest := -1, math.MaxInt
	for i, left := range o.left {
		if from.has(i) {
			if more := o.nearOf(i).common(o.pending)<<32 + left; more < fewest {
				best, fewest = i, more
			}
		}
	}
	return best
}

func (o *orderer) open(i int) {
	o.pending.remove(i)
	o.live.add(i)
}

// ready puts in the trees of an observation that need nothing opened any more.
func (o *orderer) ready(i int) {
	for _, r := range o.touches[i] {
		if o.done[r] || slices.ContainsFunc(o.reach[r], o.pending.has) {
			continue
		}
		o.done[r] = true
		o.sorted = append(o.sorted, r)
		for _, other := range o.reach[r] {
			o.left[other]--
		}
	}
}
