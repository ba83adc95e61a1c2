package noisyor

import (
	"math"
	"math/bits"
)

// wholeLimit is the number of state entries (8 bytes each) up to which every state of
// the forward pass is kept. Of more steps the second half is worked through first, and
// then the first half is run again.
const wholeLimit = 4 << 20

// stepKind is what one step does to the state.
type stepKind uint8

const (
	enter stepKind = iota // an observation becomes the highest bit, not explained
	meet                  // a source is on or off, with what it brings on
	leave                 // an observation is required and its bit dropped
)

// step is one move of the chain through the state, a vector over the subsets of the open
// observations explained so far.
type step struct {
	kind   stepKind
	before int // size of the state before the step
	after  int
	// meet:
	tree  []node
	gist  *gist
	tried bool // whether it has a gist is known
	// leave:
	bit int     // weight of the dropped bit in the state's index
	yes float64 // of the background
	exp int     // of the power of two that is taken out of the state
}

// chain is the steps through all trees, and the state on its way.
type chain struct {
	forest
	steps   []step
	touched []bool // by source: what it weighs is another than in the problem that is held
	shallow bool   // only the roots of trees are asked
	asks    int    // questions of that kind since the plan
	spots   []int  // of the gists
	dists   []float64
	each    func(tree []node, before, g []float64) // is given each tree on the way back; nil: nobody
	mass    []pair                                 // of each source: what it weighs on and off where what it lies under is on
	last    []int                                  // by observation: position of its last tree, or -1

	sizes []int // entries of the states before each step, added up
	kept  []float64
	spare [2][]float64 // the state before and after a step, where it is not kept
	g     []float64    // likelihood of the steps to come, by state
	temp  []float64
	end   float64 // the state after the last step
	work  int     // moves that one way forwards takes
}

// plan lays out the steps for the trees of n in the order of o.
func (c *chain) plan(n *network, o *orderer) {
	c.clear(n)
	c.asks, c.spots, c.dists, c.work = 0, c.spots[:0], c.dists[:0], 0
	order := o.order(n)
	c.steps, c.last = c.steps[:0], resize(c.last, len(n.back))
	for i := range c.last {
		c.last[i] = -1
	}
	for k, root := range order {
		for _, i := range o.reach[root] {
			c.last[i] = k
		}
	}
	for i, last := range c.last {
		if last < 0 {
			alone := n.back[i].Yes + n.back[i].No*n.doubt[i] // no source touches it
			n.ground.mul(alone)
			n.factor.mul(alone)
		}
	}
	for k, root := range order {
		c.meet(root, o.reach[root])
		for _, i := range o.reach[root] {
			if c.last[i] == k {
				c.close(i)
			}
		}
	}
}

// meet opens what is not open yet of the observations of a tree, and adds its step.
func (c *chain) meet(root int, reach []int) {
	for _, i := range reach {
		if c.slot[i] < 0 {
			c.add(step{kind: enter}, +1)
			c.open(i)
		}
	}
	c.add(step{kind: meet, tree: c.plant(root)}, 0)
}

// close requires observation i and drops its bit; higher bits move down.
func (c *chain) close(i int) {
	c.add(step{kind: leave, bit: 1 << c.slot[i], yes: c.back[i].Yes + c.back[i].No*c.doubt[i]}, -1)
	c.drop(i)
}

// add adds a step after which so many more observations are open.
func (c *chain) add(t step, more int) {
	t.before, t.after = 1<<len(c.live), 1<<(len(c.live)+more)
	c.steps = append(c.steps, t)
	c.work += max(t.before, t.after) * (1 + moves(t.tree))
}

// evidence runs forwards only and returns the mass of the evidence.
func (c *chain) evidence() scaled {
	c.resize()
	c.end = c.forward(0, len(c.steps), c.kept[:1])[0]
	return c.total()
}

// posteriors runs both ways. It leaves in mass what each source weighs on and off where
// what it lies under is on, and returns the mass of the evidence. On the way back each is
// given every tree with the state before it and the likelihood g of what comes behind it.
func (c *chain) posteriors(each func(tree []node, before, g []float64)) scaled {
	c.each = each
	c.resize()
	c.mass = resize(c.mass, len(c.share))
	copy(c.mass, c.share)
	c.between(0, len(c.steps), c.kept[:1], 1)
	return c.total()
}

// resize sizes the scratch and puts the state before all steps first in kept.
func (c *chain) resize() {
	c.sizes = append(c.sizes[:0], 0)
	total := 0
	for i := range c.steps {
		total += c.steps[i].before
		c.sizes = append(c.sizes, total)
	}
	size := 1 << c.width
	room := total + 1
	if total > wholeLimit {
		room = wholeLimit + size*(2+bits.Len(uint(len(c.steps))))
	}
	c.kept = resize(c.kept, room+1)
	for i := range c.spare {
		c.spare[i] = resize(c.spare[i], size)
	}
	c.g, c.temp = resize(c.g, size), resize(c.temp, size)
	c.kept[0] = 1
}

// total is the mass after all steps.
func (c *chain) total() scaled {
	part, exp := math.Frexp(c.end)
	for i := range c.steps {
		exp += c.steps[i].exp
	}
	return scaled{part, exp}
}

// forward takes a state through some steps and keeps none on the way.
func (c *chain) forward(from, to int, state []float64) []float64 {
	for i := from; i < to; i++ {
		next := c.spare[i&1][:c.steps[i].after]
		c.step(&c.steps[i], next, state)
		state = next
	}
	return state
}

// between runs forwards through some steps and backwards again, once all behind them is
// done. Kept is free from top on.
func (c *chain) between(from, to int, state []float64, top int) {
	if c.sizes[to]-c.sizes[from] > wholeLimit && to-from > 1 {
		middle := (from + to) / 2
		half := c.kept[top : top+c.steps[middle].before]
		copy(half, c.forward(from, middle, state))
		c.between(middle, to, half, top+len(half))
		c.between(from, middle, state, top)
		return
	}
	first := state
	at := func(i int) int { return top + c.sizes[i] - c.sizes[min(from+1, to)] } // of the state before step i
	for i := from; i < to; i++ {
		next := c.kept[at(i+1):][:c.steps[i].after]
		c.step(&c.steps[i], next, state)
		state = next
	}
	if to == len(c.steps) {
		c.end, c.g[0] = state[0], 1
	}
	for i := to - 1; i >= from; i-- {
		before := first
		if i > from {
			before = c.kept[at(i):][:c.steps[i].before]
		}
		c.stepBack(&c.steps[i], before)
	}
}

// step writes the state after t into next.
func (c *chain) step(t *step, next, state []float64) {
	switch t.kind {
	case enter:
		copy(next, state)
		clear(next[len(state):])
	case meet:
		if g := c.short(t); g != nil {
			g.pass(next, state, c.share[t.tree[0].source])
			return
		}
		c.passTo(t.tree, next, state, 0)
	case leave:
		settle(next, state, t.bit, t.yes)
		t.rescale(next)
	}
}

// stepBack takes the likelihood of what comes behind t to before it. The state before t
// tells what its sources weigh on and off.
func (c *chain) stepBack(t *step, before []float64) {
	switch t.kind {
	case meet:
		if c.each != nil {
			c.each(t.tree, before, c.g[:t.before])
		}
		if c.shallow {
			c.pullRoot(t, before, c.g[:t.before])
			return
		}
		c.pull(t.tree, before, c.g[:t.before], 0)
	case leave:
		unsettle(c.temp[:t.before], c.g[:t.after], t.bit, t.yes, t.scale())
		c.g, c.temp = c.temp, c.g
	}
}
