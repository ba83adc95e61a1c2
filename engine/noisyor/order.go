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

// within reports whether every member of s is in t.
func (s bitset) within(t bitset) bool {
	for w, x := range s {
		if x&^t[w] != 0 {
			return false
		}
	}
	return true
}

// next returns the least member of s that is at least i, or -1.
func (s bitset) next(i int) int {
	for w := i >> 6; w < len(s); w++ {
		x := s[w]
		if w == i>>6 {
			x &^= 1<<(i&63) - 1
		}
		if x != 0 {
			return w<<6 + bits.TrailingZeros64(x)
		}
	}
	return -1
}

// orderer puts the sources in an order that keeps few observations open at once. It lays
// out a sequence of bags of observations (a path decomposition: each observation is in
// one unbroken run of bags), grown and shrunk by one observation at a time, and gives
// every source to the smallest bag that holds all of its observations.
type orderer struct {
	words   int
	group   []int    // of each source: sources with the same observations go together
	table   [256]int // group plus one by a hash of its observations
	masks   []uint64 // observations of each group, words each
	near    []uint64 // for each observation, all that it shares a source with
	sets    []uint64 // backing of the next two
	pending bitset   // observations not opened yet
	live    bitset   // opened and not closed
	open    int      // members of live
	bags    int
	count   []int // sources of each group
	size    []int // of the smallest bag that holds each group, so far
	bag     []int // that bag's number
	gain    []int // scratch, by observation
	counts  []int // scratch of the sort
	sorted  []int // the sources
}

func (o *orderer) mask(g int) bitset   { return o.masks[g*o.words:][:o.words] }
func (o *orderer) nearOf(i int) bitset { return o.near[i*o.words:][:o.words] }

// order returns the sources of n in the order to work through them.
func (o *orderer) order(n *network) []int {
	o.reset(n)
	for target := o.target(); target >= 0; target = o.target() {
		near := o.nearOf(target)
		for i := near.next(0); i >= 0; i = near.next(i + 1) {
			if o.pending.has(i) {
				o.pending.remove(i)
				o.live.add(i)
				o.open++
				o.newBag()
			}
		}
		for i := o.toClose(); i >= 0; i = o.toClose() {
			o.live.remove(i)
			o.open--
			o.newBag()
		}
	}
	return o.sortByBag(n)
}

// reset groups the sources of n and notes which observations share one.
func (o *orderer) reset(n *network) {
	observations := len(n.back)
	o.words = (observations + 63) / 64
	o.near, o.gain = zeros(o.near, observations*o.words), resize(o.gain, observations)
	o.sets = zeros(o.sets, 3*o.words)
	o.pending, o.live = o.sets[:o.words], o.sets[o.words:][:o.words]
	o.open, o.bags = 0, 0
	o.group, o.table = resize(o.group, len(n.sources)), [256]int{}
	o.masks, o.count, o.size, o.bag = o.masks[:0], o.count[:0], o.size[:0], o.bag[:0]
	for s, c := range n.sources {
		mask := bitset(o.sets[2*o.words:])
		clear(mask)
		for _, l := range n.links[c] {
			mask.add(l.obs)
		}
		o.group[s] = o.groupOf(mask)
		o.count[o.group[s]]++
	}
}

// groupOf returns the group of mask, new if need be. Where two hash alike one of them may
// have several groups, which costs nothing but time.
func (o *orderer) groupOf(mask bitset) int {
	at := &o.table[mask[0]*0x9E3779B97F4A7C15>>56] // 2^64 over the golden ratio
	if g := *at - 1; g >= 0 && slices.Equal(o.mask(g), mask) {
		return g
	}
	o.masks = append(o.masks, mask...)
	o.count, o.size, o.bag = append(o.count, 0), append(o.size, math.MaxInt), append(o.bag, 0)
	*at = len(o.count)
	for i := mask.next(0); i >= 0; i = mask.next(i + 1) {
		o.pending.add(i)
		for w, x := range mask {
			o.nearOf(i)[w] |= x
		}
	}
	return len(o.count) - 1
}

// zeros is resize with zeros for contents.
func zeros[T any](s []T, n int) []T {
	s = resize(s, n)
	clear(s)
	return s
}

// target returns the observation that can be closed after opening the fewest others: a
// live one if there is any, else a pending one, else -1.
func (o *orderer) target() int {
	from := o.live
	if o.open == 0 {
		from = o.pending
	}
	best, fewest := -1, math.MaxInt
	for i := from.next(0); i >= 0; i = from.next(i + 1) {
		if more := o.nearOf(i).common(o.pending); more < fewest {
			best, fewest = i, more
		}
	}
	return best
}

// toClose returns, of the open observations whose sources all have a bag, the one that
// touches the fewest sources which a smaller bag could still hold; -1 if there is none.
func (o *orderer) toClose() int {
	clear(o.gain)
	for g, size := range o.size {
		if mask := o.mask(g); size >= o.open && mask.within(o.live) {
			for i := mask.next(0); i >= 0; i = mask.next(i + 1) {
				o.gain[i] += o.count[g]
			}
		}
	}
	best, least := -1, math.MaxInt
	for i := o.live.next(0); i >= 0; i = o.live.next(i + 1) {
		if o.gain[i] < least && o.nearOf(i).common(o.pending) == 0 {
			best, least = i, o.gain[i]
		}
	}
	return best
}

// newBag makes the open observations the next bag and offers it to every source.
func (o *orderer) newBag() {
	for g, size := range o.size {
		if o.open < size && o.mask(g).within(o.live) {
			o.size[g], o.bag[g] = o.open, o.bags
		}
	}
	o.bags++
}

// sortByBag returns the sources by the number of their bag, stable.
func (o *orderer) sortByBag(n *network) []int {
	o.counts = zeros(o.counts, o.bags+1)
	for g, bag := range o.bag {
		o.counts[bag+1] += o.count[g]
	}
	for b := range o.bags {
		o.counts[b+1] += o.counts[b]
	}
	o.sorted = resize(o.sorted, len(o.group))
	for s, g := range o.group {
		at := &o.counts[o.bag[g]]
		o.sorted[*at] = n.sources[s]
		*at++
	}
	return o.sorted
}
