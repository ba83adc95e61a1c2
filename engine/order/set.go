package order

import "math/bits"

// set is a set of small numbers, one bit each.
type set []uint64

func newSet(n int) set { return make(set, (n+63)/64) }

func (s set) has(i int) bool { return s[i>>6]>>(i&63)&1 != 0 }
func (s set) add(i int)      { s[i>>6] |= 1 << (i & 63) }
func (s set) remove(i int)   { s[i>>6] &^= 1 << (i & 63) }

func (s set) union(t set) {
	for i := range s {
		s[i] |= t[i]
	}
}

func (s set) without(t set) {
	for i := range s {
		s[i] &^= t[i]
	}
}

func (s set) within(t set) bool {
	for i := range s {
		if s[i]&^t[i] != 0 {
			return false
		}
	}
	return true
}

func (s set) count() int {
	n := 0
	for _, w := range s {
		n += bits.OnesCount64(w)
	}
	return n
}

func (s set) members() []int {
	var out []int
	for i, w := range s {
		for ; w != 0; w &= w - 1 {
			out = append(out, i<<6+bits.TrailingZeros64(w))
		}
	}
	return out
}

func (s set) clone() set { return append(set(nil), s...) }
