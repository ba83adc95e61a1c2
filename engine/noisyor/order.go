package noisyor

import (
	"math"
	"math/bits"
)

// bitset is a set of present observations, one bit each.
type bitset []uint64

func (s bitset) add(i int)    { s[i>>6] |= 1 << (i & 63) }
func (s bitset) remove(i int) { s[i>>6] &^= 1 << (i & 63) }

// missing returns how many members of s are not in t.
func (s bitset) missing(t bitset) int {
	count := 0
	for w, x := range s {
		count += bits.OnesCount64(x &^ t[w])
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

// group is a set of multi-link causes that touch the same observations.
type group struct {
	count int // causes in it
	size  int // members of the smallest bag that holds it, so far
	bag   int // that bag's number
}

// orderer puts the multi-link causes in an order that keeps few observations open
// at once. It lays out a sequence of bags of observations (a path decomposition:
// each observation is in one unbroken run of bags), grown and shrunk by one
// observation at a time, and gives every cause to the smallest bag that holds all
// of its observations.
type orderer struct {
	words  int      // words per bitset
	masks  []uint64 // of every group, words each
	groups []group
	table  []int // hash table of group numbers plus one
	owner  []int // group of each multi-link cause
	causes []int // the multi-link causes
	sorted []int // the same, in the order found
	counts []int // scratch of the final counting sort

	sets    []uint64 // backing of the bitsets below
	near    []uint64 // for each observation, all observations it shares a cause with
	pending bitset   // observations not opened yet
	opened  bitset
	live    bitset // opened and not closed
	need    bitset // to be opened before the target can close
	open    int    // members of live
	bags    int
	gain    []int // scratch: weight by observation
}

func (o *orderer) mask(g int) bitset { return o.masks[g*o.words : (g+1)*o.words] }
func (o *orderer) nearOf(i int) bitset {
	return o.near[i*o.words : (i+1)*o.words]
}

// order returns the multi-link causes of n in the order to work through them.
func (o *orderer) order(n *network) []int {
	o.collect(n)
	for target := o.target(); target >= 0; target = o.target() {
		o.openFor(target)
		o.closeDone()
	}
	return o.sortByBag()
}

// collect groups the multi-link causes by the observations they touch.
func (o *orderer) collect(n *network) {
	present := len(n.backYes)
	o.reset(n, present)
	mask := bitset(resize(o.need, o.words))
	for c, state := range n.state {
		if state != multiple {
			continue
		}
		clear(mask)
		for l := n.first[c]; l < n.first[c+1]; l++ {
			mask.add(n.obs[l])
		}
		g := o.lookup(mask)
		o.groups[g].count++
		o.causes = append(o.causes, c)
		o.owner = append(o.owner, g)
	}
	for g := range o.groups {
		m := o.mask(g)
		for i := m.next(0); i >= 0; i = m.next(i + 1) {
			near := o.nearOf(i)
			for w, x := range m {
				near[w] |= x
			}
			o.pending.add(i)
		}
	}
	clear(o.need)
}

// reset empties the scratch and sizes it for n.
func (o *orderer) reset(n *network, present int) {
	o.words = (present + 63) / 64
	o.masks, o.groups = o.masks[:0], o.groups[:0]
	o.causes, o.owner = o.causes[:0], o.owner[:0]
	o.near = resize(o.near, present*o.words)
	clear(o.near)
	o.sets = resize(o.sets, 4*o.words)
	clear(o.sets)
	o.pending, o.opened = o.sets[:o.words], o.sets[o.words:2*o.words]
	o.live, o.need = o.sets[2*o.words:3*o.words], o.sets[3*o.words:4*o.words]
	o.open, o.bags = 0, 0
	o.gain = resize(o.gain, present)
	o.table = resize(o.table, 1<<bits.Len(uint(2*len(n.state))))
	clear(o.table)
}

// lookup returns the group of mask, new if need be.
func (o *orderer) lookup(mask bitset) int {
	hash := uint64(0)
	for _, x := range mask {
		hash = (hash ^ x) * 0x9E3779B97F4A7C15
		hash ^= hash >> 32
	}
	last := uint64(len(o.table) - 1)
	for at := hash & last; ; at = (at + 1) & last {
		g := o.table[at] - 1
		if g < 0 {
			o.table[at] = len(o.groups) + 1
			o.groups = append(o.groups, group{size: math.MaxInt})
			o.masks = append(o.masks, mask...)
			return len(o.groups) - 1
		}
		if o.mask(g).within(mask) && mask.within(o.mask(g)) {
			return g
		}
	}
}

// target returns the observation that can be closed after opening the fewest
// others: a live one if there is any, else a pending one, else -1.
func (o *orderer) target() int {
	from := o.live
	if o.open == 0 {
		from = o.pending
	}
	best, fewest := -1, math.MaxInt
	for i := from.next(0); i >= 0; i = from.next(i + 1) {
		if missing := o.nearOf(i).missing(o.opened); missing < fewest {
			best, fewest = i, missing
		}
	}
	return best
}

// openFor opens everything that target needs before it can close, each time the
// observation that completes the most causes.
func (o *orderer) openFor(target int) {
	for w, x := range o.nearOf(target) {
		o.need[w] = x &^ o.opened[w]
	}
	for {
		i := o.mostCompleted()
		if i < 0 {
			return
		}
		o.need.remove(i)
		o.pending.remove(i)
		o.opened.add(i)
		o.live.add(i)
		o.open++
		o.newBag()
	}
}

// mostCompleted returns the needed observation that completes the most causes;
// among equals the one that has the fewest observations around it still to open.
func (o *orderer) mostCompleted() int {
	clear(o.gain)
	for g := range o.groups {
		mask := o.mask(g)
		if mask.missing(o.opened) != 1 {
			continue
		}
		for w, x := range mask {
			if x &= o.need[w] &^ o.opened[w]; x != 0 {
				o.gain[w<<6+bits.TrailingZeros64(x)] += o.groups[g].count
			}
		}
	}
	best, most, fewest := -1, -1, 0
	for i := o.need.next(0); i >= 0; i = o.need.next(i + 1) {
		missing := o.nearOf(i).missing(o.opened)
		if o.gain[i] > most || o.gain[i] == most && missing < fewest {
			best, most, fewest = i, o.gain[i], missing
		}
	}
	return best
}

// closeDone closes every live observation whose causes all fit into bags laid out
// already, each time the one that the fewest causes could still gain from.
func (o *orderer) closeDone() {
	for {
		i := o.leastUseful()
		if i < 0 {
			return
		}
		o.live.remove(i)
		o.open--
		o.newBag()
	}
}

// leastUseful returns the closable observation that touches the fewest causes
// which a smaller bag could still hold, or -1.
func (o *orderer) leastUseful() int {
	clear(o.gain)
	for g := range o.groups {
		if o.groups[g].size < o.open {
			continue
		}
		mask := o.mask(g)
		if !mask.within(o.live) {
			continue
		}
		for i := mask.next(0); i >= 0; i = mask.next(i + 1) {
			o.gain[i] += o.groups[g].count
		}
	}
	best, least := -1, math.MaxInt
	for i := o.live.next(0); i >= 0; i = o.live.next(i + 1) {
		if o.gain[i] < least && o.nearOf(i).within(o.opened) {
			best, least = i, o.gain[i]
		}
	}
	return best
}

// newBag records the live set as the next bag and offers it to every group.
func (o *orderer) newBag() {
	for g := range o.groups {
		if o.open < o.groups[g].size && o.mask(g).within(o.live) {
			o.groups[g].size, o.groups[g].bag = o.open, o.bags
		}
	}
	o.bags++
}

// sortByBag returns the causes by the number of their bag, stable.
func (o *orderer) sortByBag() []int {
	o.counts = resize(o.counts, o.bags+1)
	clear(o.counts)
	for _, g := range o.owner {
		o.counts[o.groups[g].bag+1]++
	}
	for b := range o.bags {
		o.counts[b+1] += o.counts[b]
	}
	o.sorted = resize(o.sorted, len(o.causes))
	for k, c := range o.causes {
		bag := o.groups[o.owner[k]].bag
		o.sorted[o.counts[bag]] = c
		o.counts[bag]++
	}
	return o.sorted
}
