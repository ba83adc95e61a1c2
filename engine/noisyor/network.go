package noisyor

import "math/bits"

// mostPositives is how many positive observations fit a bit mask.
const mostPositives = 64

// source is a cause with the denied observations folded in.
type source struct {
	on, off float64
	mask    uint64 // the positives that it touches
	links   []positiveLink
}

// positiveLink is a link scaled so that yes + no = 1; what the scaling took
// out is in the source's on.
type positiveLink struct {
	positive int
	yes, no  float64
}

// network is a problem made ready for the pass over the subsets.
type network struct {
	factor     float64 // from backgrounds of denied observations and unlinked causes
	sources    []source
	singles    [][]int // by positive: causes that touch it alone
	multis     []int   // causes that touch several positives, in the order of the pass
	background []Yield // by positive, its own and that of its singles
	own        []Yield // by positive, its own alone
	width      int
	enters     [][]int // before each multi: positives whose bit appears
	leaves     [][]int // after each multi: positives whose bit goes
	loose      []int   // positives that no multi touches
	links      []positiveLink
	counts     []int
}

// build folds everything that needs no subset. It gives ErrImpossible where
// that can be seen already.
func (n *network) build(p *Problem, maxWidth int) error {
	m := len(p.Present)
	if m > mostPositives {
		return &TooWideError{Width: m, Max: maxWidth}
	}
	n.factor = 1
	n.sources = resize(n.sources, len(p.Prior))
	for c, prior := range p.Prior {
		n.sources[c] = source{on: prior, off: 1 - prior}
	}
	for _, o := range p.Absent {
		n.factor *= o.Background.No
		for _, l := range o.Links {
			n.sources[l.Cause].on *= l.No
		}
	}
	n.addPositives(p)
	if err := n.foldLoners(p); err != nil {
		return err
	}
	return n.arrange(m, maxWidth)
}

// addPositives gives each source its links to the positives.
func (n *network) addPositives(p *Problem) {
	n.counts = resize(n.counts, len(p.Prior)+1)
	clear(n.counts)
	total := 0
	for _, o := range p.Present {
		for _, l := range o.Links {
			n.counts[l.Cause]++
			total++
		}
	}
	n.links = resize(n.links, total)
	at := 0
	for c := range n.sources {
		n.sources[c].links = n.links[at : at : at+n.counts[c]]
		at += n.counts[c]
	}
	for i, o := range p.Present {
		for _, l := range o.Links {
			s := &n.sources[l.Cause]
			sum := l.Yes + l.No
			s.on *= sum
			if l.Yes == 0 || sum == 0 {
				continue
			}
			s.mask |= 1 << i
			s.links = append(s.links, positiveLink{positive: i, yes: l.Yes / sum, no: l.No / sum})
		}
	}
}

// foldLoners takes the causes that touch no positive, or one, out of the pass.
func (n *network) foldLoners(p *Problem) error {
	m := len(p.Present)
	n.singles = resize(n.singles, m)
	n.background = resize(n.background, m)
	n.own = resize(n.own, m)
	for i, o := range p.Present {
		n.singles[i] = n.singles[i][:0]
		n.background[i], n.own[i] = o.Background, o.Background
	}
	n.multis = n.multis[:0]
	for c := range n.sources {
		s := &n.sources[c]
		if s.on == 0 && s.off == 0 {
			return ErrImpossible
		}
		switch bits.OnesCount64(s.mask) {
		case 0:
			n.factor *= s.on + s.off
		case 1:
			i := s.links[0].positive
			n.singles[i] = append(n.singles[i], c)
			n.background[i] = either(n.background[i], s.single())
		default:
			n.multis = append(n.multis, c)
		}
	}
	return nil
}

// single is the yield of a source, present or not, for its only positive.
func (s *source) single() Yield {
	return Yield{Yes: s.on * s.links[0].yes, No: s.off + s.on*s.links[0].no}
}

// arrange orders the multis so that few bits are alive at once: again and
// again it takes the group of causes with the same positives that needs the
// fewest bits, and of equal ones the one that frees most.
func (n *network) arrange(m, maxWidth int) error {
	groups := map[uint64][]int{}
	var masks []uint64
	for _, c := range n.multis {
		mask := n.sources[c].mask
		if groups[mask] == nil {
			masks = append(masks, mask)
		}
		groups[mask] = append(groups[mask], c)
	}
	uses := make([]int, m)
	for _, mask := range masks {
		for b := mask; b != 0; b &= b - 1 {
			uses[bits.TrailingZeros64(b)]++
		}
	}
	n.loose = n.loose[:0]
	for i, u := range uses {
		if u == 0 {
			n.loose = append(n.loose, i)
		}
	}
	total := len(n.multis)
	n.multis = n.multis[:0]
	n.enters, n.leaves = resize(n.enters, total), resize(n.leaves, total)
	n.width = 0
	var live uint64
	for len(masks) > 0 {
		best := 0
		bestNeed, bestFree := 1<<20, -1
		for k, mask := range masks {
			need, free := bits.OnesCount64(live|mask), bits.OnesCount64(lastUses(mask, uses))
			if need < bestNeed || need == bestNeed && free > bestFree {
				best, bestNeed, bestFree = k, need, free
			}
		}
		mask := masks[best]
		masks = append(masks[:best], masks[best+1:]...)
		n.width = max(n.width, bestNeed)
		at := len(n.multis)
		members := groups[mask]
		for k := range members {
			n.enters[at+k], n.leaves[at+k] = n.enters[at+k][:0], n.leaves[at+k][:0]
		}
		n.enters[at] = appendBits(n.enters[at], mask&^live)
		gone := lastUses(mask, uses)
		n.leaves[at+len(members)-1] = appendBits(n.leaves[at+len(members)-1], gone)
		n.multis = append(n.multis, members...)
		for b := mask; b != 0; b &= b - 1 {
			uses[bits.TrailingZeros64(b)]--
		}
		live = (live | mask) &^ gone
	}
	if n.width > maxWidth {
		return &TooWideError{Width: n.width, Max: maxWidth}
	}
	return nil
}

// lastUses gives the bits of mask that no other group uses any more.
func lastUses(mask uint64, uses []int) uint64 {
	var out uint64
	for b := mask; b != 0; b &= b - 1 {
		if i := bits.TrailingZeros64(b); uses[i] == 1 {
			out |= 1 << i
		}
	}
	return out
}

func appendBits(list []int, mask uint64) []int {
	for ; mask != 0; mask &= mask - 1 {
		list = append(list, bits.TrailingZeros64(mask))
	}
	return list
}

// resize gives a slice of length n, reusing what is there.
func resize[T any](s []T, n int) []T {
	if cap(s) < n {
		grown := make([]T, n)
		copy(grown, s[:cap(s)])
		return grown
	}
	return s[:n]
}
