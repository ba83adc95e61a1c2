package order

import (
	"math"
	"math/rand/v2"
)

// effort limits the places that a search tries blocks at, so that it ends in a
// short time for every list; sorting a window counts as windowEffort places.
const (
	effort       = 120_000
	windowEffort = 400
)

// window is how many neighbouring units a search puts in the best order at
// once.
const window = 9

// kicks is how often a search shakes its best order and tries again at most.
const kicks = 40

// search improves the cheapest of some orders of the units until neither
// moving a few neighbours elsewhere nor sorting a window helps, shakes it and
// tries again. The shaking is the same for every call.
func (j *job) search(starts ...[]int) []int {
	tries := effort
	var best []int
	low := math.Inf(1)
	for _, s := range starts {
		if next, c := j.improve(s, &tries); c < low*(1-same) {
			best, low = next, c
		}
	}
	r := rand.New(rand.NewPCG(uint64(len(j.units)), uint64(len(j.weight))))
	for k := 0; k < kicks && tries > 0; k++ {
		if next, c := j.improve(j.shake(best, r), &tries); c < low*(1-same) {
			best, low = next, c
		}
	}
	return best
}

// improve gives an order near another that is no worse, and its J.
func (j *job) improve(sequence []int, tries *int) ([]int, float64) {
	best := j.moveBlocks(append([]int(nil), sequence...), tries)
	low := j.cost(best)
	for *tries > 0 {
		next := j.moveBlocks(j.sortWindows(append([]int(nil), best...), tries), tries)
		c := j.cost(next)
		if c >= low*(1-same) {
			break
		}
		best, low = next, c
	}
	return best, low
}

// shake throws every unit a few places ahead or back.
func (j *job) shake(sequence []int, r *rand.Rand) []int {
	rank := make([]int, len(j.units))
	for k, u := range sequence {
		rank[u] = k*len(sequence) + r.IntN(6*len(sequence))
	}
	return j.inLine(rank)
}

// sortWindows puts every window of neighbours in its best order, front to back.
func (j *job) sortWindows(sequence []int, tries *int) []int {
	left := append([]float64(nil), j.weight...)
	for start := 0; start+1 < len(sequence); start++ {
		members := sequence[start:min(start+window, len(sequence))]
		if start%(window/2) == 0 {
			*tries -= windowEffort
			sub := j.part(members, left)
			if found, ok := sub.allSets(1 << window); ok && sub.cost(found) < sub.cost(upTo(len(members)))*(1-same) {
				sorted := make([]int, len(found))
				for k, m := range found {
					sorted[k] = members[m]
				}
				copy(members, sorted)
			}
		}
		j.expose(sequence[start], left)
	}
	return sequence
}

func upTo(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// moveBlocks moves one to four neighbours to the place where J falls most,
// again and again, while that helps and tries are left.
func (j *job) moveBlocks(sequence []int, tries *int) []int {
	m := mover{job: j, sequence: sequence, tries: tries, scratch: make([]float64, len(j.weight))}
	m.left = make([][]float64, len(sequence)+1)
	m.left[0] = j.weight
	for k := range sequence {
		m.left[k+1] = make([]float64, len(j.weight))
	}
	m.refresh(0)
	worthwhile := -same * j.cost(sequence)
	for better := true; better; {
		better = false
		for size := 1; size <= 4; size++ {
			for start := 0; start+size <= len(sequence) && *tries > 0; start++ {
				shift, change := m.bestShift(start, size)
				if change < worthwhile {
					m.move(start, size, shift)
					better = true
				}
			}
		}
	}
	return sequence
}

// mover tries places for blocks of one sequence; left[k] is what is hidden of
// each cause when k units are done.
type mover struct {
	*job
	sequence []int
	left     [][]float64
	scratch  []float64
	tries    *int
}

func (m *mover) refresh(from int) {
	for k := from; k < len(m.sequence); k++ {
		copy(m.left[k+1], m.left[k])
		m.expose(m.sequence[k], m.left[k+1])
	}
}

// bestShift finds how many units a block should pass, backwards if negative,
// and by how much that changes J.
func (m *mover) bestShift(start, size int) (shift int, change float64) {
	block := m.sequence[start : start+size]
	total := 0.0
	for at := start - 1; at >= 0; at-- {
		x := m.sequence[at]
		if m.anyBehind(block, x) {
			break
		}
		if total += m.swap(block, x, m.left[at]); total < change {
			shift, change = at-start, total
		}
	}
	total = 0
	left := append([]float64(nil), m.left[start]...)
	for at := start + size; at < len(m.sequence); at++ {
		x := m.sequence[at]
		if m.anyBefore(block, x) {
			break
		}
		if total -= m.swap(block, x, left); total < change {
			shift, change = at-start-size+1, total
		}
		m.expose(x, left)
	}
	return shift, change
}

func (m *mover) anyBehind(block []int, x int) bool {
	for _, b := range block {
		if m.before[b].has(x) {
			return true
		}
	}
	return false
}

func (m *mover) anyBefore(block []int, x int) bool {
	for _, b := range block {
		if m.before[x].has(b) {
			return true
		}
	}
	return false
}

// swap is J of the block and then x, less J of x and then the block: each unit
// of the block waits while x is still to expose its causes, and x no longer
// while the block is.
func (m *mover) swap(block []int, x int, left []float64) float64 {
	*m.tries--
	copy(m.scratch, left)
	change := 0.0
	for _, b := range block {
		change += m.units[b].minutes*m.gain(x, m.scratch) - m.units[x].minutes*m.gain(b, m.scratch)
		m.expose(b, m.scratch)
	}
	return change
}

// move takes a block past shift units.
func (m *mover) move(start, size, shift int) {
	from, mid, to := start, start+size, start+size+shift
	if shift < 0 {
		from, mid, to = start+shift, start, start+size
	}
	turned := append(append([]int(nil), m.sequence[mid:to]...), m.sequence[from:mid]...)
	copy(m.sequence[from:to], turned)
	m.refresh(from)
}
