package order

import "math/bits"

// counter counts the sets of nodes that can be done at some time, without
// listing them, as far as the limit: more than that is given as any larger
// number, and so is what would take more than budget cuts to count. (Lists of
// 50 steps take a few hundred cuts at most.)
type counter struct {
	before, after []uint64
	limit         float64
	budget        int
}

// count counts the sets of the nodes in alive.
func (c *counter) count(alive uint64) float64 {
	total := 1.0
	for alive != 0 && total <= c.limit {
		part := c.linked(alive)
		alive &^= part
		total *= c.countLinked(part)
	}
	return total
}

// linked gives the nodes that hang together with the lowest one.
func (c *counter) linked(alive uint64) uint64 {
	part := alive & -alive
	for grown := part; grown != 0; {
		u := bits.TrailingZeros64(grown)
		grown &^= 1 << u
		more := (c.before[u] | c.after[u]) & alive &^ part
		part |= more
		grown |= more
	}
	return part
}

// countLinked takes the node that most others are tied to: the sets without it
// lack all behind it, those with it have all before it.
func (c *counter) countLinked(part uint64) float64 {
	n := bits.OnesCount64(part)
	if n == 1 {
		return 2
	}
	if c.budget--; c.budget < 0 {
		return c.limit + 1
	}
	pivot, most := 0, -1
	chain := true
	for rest := part; rest != 0; rest &= rest - 1 {
		u := bits.TrailingZeros64(rest)
		ties := bits.OnesCount64((c.before[u] | c.after[u]) & part)
		chain = chain && ties == n-1
		if ties > most {
			pivot, most = u, ties
		}
	}
	if chain {
		return float64(n + 1)
	}
	part &^= 1 << pivot
	without := c.count(part &^ c.after[pivot])
	if without > c.limit {
		return without
	}
	return without + c.count(part&^c.before[pivot])
}
