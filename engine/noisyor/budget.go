package noisyor

import "sync/atomic"

// Budget bounds what some solvers do together, in moves: entries of a state times the
// sources and links that are worked into it. They are counted before they are made, so
// that it is spent at the same place on every machine, and a problem that takes more than
// is left is refused before it is begun. nil bounds nothing. Solvers of several goroutines
// may share it; whether it is spent by the end does not rest on which was first.
type Budget struct {
	Most int // moves
	done atomic.Int64
}

// Done is how many moves were wanted so far.
func (b *Budget) Done() int { return int(b.done.Load()) }

// Err is a TooWideError once more was wanted than there is.
func (b *Budget) Err() error {
	if b == nil || b.Done() <= b.Most {
		return nil
	}
	return &TooWideError{Work: b.Done(), MaxWork: b.Most}
}

// Spend takes so many moves out of the budget, and says whether they may be made.
func (b *Budget) Spend(moves int) bool {
	return b == nil || b.done.Add(int64(moves)) <= int64(b.Most)
}

// moves is what it takes to work a tree into one entry of a state.
func moves(tree []node) int {
	total := 0
	for i := range tree {
		total += 1 + len(tree[i].pins)
	}
	return total
}
