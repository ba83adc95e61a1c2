package noisyor

// node is one source of a tree. Those under it follow it.
type node struct {
	source int
	size   int // of the tree from it on
	pins   []pin
}

// pin is one link of a source: the bit of its observation and its masses.
type pin struct {
	bit     int
	yes, no float64
}

// forest is trees whose links are laid out over the open observations.
type forest struct {
	*network
	slot  []int // by observation: its bit's place, or -1
	live  []int // open observations, by place
	width int   // most observations open at once
	nodes []node
	pins  []pin
	layer [][]float64 // states within a tree
}

// clear takes on the network, with no observation open.
func (f *forest) clear(n *network) {
	f.network, f.live, f.width = n, f.live[:0], 0
	f.nodes, f.pins, f.slot = f.nodes[:0], f.pins[:0], resize(f.slot, len(n.back))
	for i := range f.slot {
		f.slot[i] = -1
	}
}

// open gives an observation the highest bit.
func (f *forest) open(i int) {
	f.slot[i] = len(f.live)
	f.live = append(f.live, i)
	f.width = max(f.width, len(f.live))
}

// drop takes the bit of an observation; higher bits move down.
func (f *forest) drop(i int) {
	place := f.slot[i]
	f.slot[i] = -1
	copy(f.live[place:], f.live[place+1:])
	f.live = f.live[:len(f.live)-1]
	for at := place; at < len(f.live); at++ {
		f.slot[f.live[at]] = at
	}
}

// plant lays out the tree of a source.
func (f *forest) plant(s int) []node {
	at, begin := len(f.nodes), len(f.pins)
	for _, l := range f.links[s] {
		f.pins = append(f.pins, pin{1 << f.slot[l.obs], l.yes, l.no})
	}
	f.nodes = append(f.nodes, node{source: s, pins: f.pins[begin:]})
	for _, kid := range f.kids[s] {
		f.plant(kid)
	}
	f.nodes[at].size = len(f.nodes) - at
	return f.nodes[at:]
}

// with writes into dst the state after the first source of a tree is on, and all under it
// is on or off. From layer on the layers are free.
func (f *forest) with(tree []node, dst, state []float64, layer int) {
	spread(dst, state, tree[0].pins)
	for at := 1; at < len(tree); at += tree[at].size {
		f.pass(tree[at:at+tree[at].size], dst, layer)
	}
}

// pass takes a state through a tree whose first source is on or off.
func (f *forest) pass(tree []node, state []float64, layer int) {
	f.passTo(tree, state, state, layer)
}

// passTo is pass into dst, which may be the state.
func (f *forest) passTo(tree []node, dst, state []float64, layer int) {
	pins, m := tree[0].pins, f.share[tree[0].source]
	switch {
	case m.on == 0:
		for k, x := range state {
			dst[k] = m.off * x
		}
	case len(tree) == 1 && len(pins) == 1:
		passLeaf1(dst, state, pins[0], m)
	case len(tree) == 1 && len(pins) == 2:
		passLeaf2(dst, state, pins[0], pins[1], m)
	default:
		with := f.room(layer, len(state))
		f.with(tree, with, state, layer+1)
		mix(dst, with, state, m)
	}
}

// pull takes the likelihood g of what comes behind a tree to before it, and leaves in mass
// what each of its sources weighs. before is the state before the tree.
func (c *chain) pull(tree []node, before, g []float64, layer int) {
	s, pins, m := tree[0].source, tree[0].pins, c.share[tree[0].source]
	switch {
	case len(tree) == 1 && len(pins) == 1:
		c.mass[s] = pullLeaf1(g, before, pins[0], m)
		return
	case len(tree) == 1 && len(pins) == 2:
		c.mass[s] = pullLeaf2(g, before, pins[0], pins[1], m)
		return
	}
	h := c.room(layer, len(g))
	copy(h, g)
	first, last := layer+1, layer // the states before each source right under the first
	for at := 1; at < len(tree); at += tree[at].size {
		last++
		state := c.room(last, len(g))
		if last == first {
			spread(state, before, pins)
		} else {
			c.passTo(right(tree, last-first-1), state, c.layer[last-1][:len(g)], last+1)
		}
	}
	for k := last - first; k >= 0; k-- {
		c.pull(right(tree, k), c.layer[first+k][:len(g)], h, last+1)
	}
	gather(h, h, pins)
	c.mass[s] = join(g, h, before, m)
}

// pullRoot is pull that leaves in mass what the first source weighs, no other.
func (c *chain) pullRoot(t *step, before, g []float64) {
	s := t.tree[0].source
	h := c.room(0, len(g))
	if short := t.gist; short != nil {
		short.turnBack(h, g)
	} else {
		c.turnBack(t.tree, h, g, 1)
	}
	c.mass[s] = join(g, h, before, c.share[s])
}

// turnBack writes into dst the likelihood g of what comes behind a tree, taken to before it
// where its first source is on. From layer on the layers are free.
func (c *chain) turnBack(tree []node, dst, g []float64, layer int) {
	copy(dst, g)
	for at := 1; at < len(tree); at += tree[at].size {
		kid := tree[at : at+tree[at].size]
		if m := c.share[kid[0].source]; m.on > 0 {
			with := c.room(layer, len(g))
			c.turnBack(kid, with, dst, layer+1)
			mix(dst, with, dst, m)
		}
	}
	gather(dst, dst, tree[0].pins)
}

// right is the k-th tree right under the first source of a tree.
func right(tree []node, k int) []node {
	at := 1
	for ; k > 0; k-- {
		at += tree[at].size
	}
	return tree[at : at+tree[at].size]
}

// room is a layer of that size.
func (f *forest) room(layer, size int) []float64 {
	for len(f.layer) <= layer {
		f.layer = append(f.layer, nil)
	}
	if cap(f.layer[layer]) < size {
		f.layer[layer] = make([]float64, max(size, 1<<f.width))
	}
	return f.layer[layer][:size]
}
