package noisyor

// with writes into dst the state after the first source of a tree is on, and all under it
// is on or off. From layer on the layers are free.
func (c *chain) with(tree []node, dst, state []float64, layer int) {
	spread(dst, state, tree[0].pins)
	for at := 1; at < len(tree); at += tree[at].size {
		c.pass(tree[at:at+tree[at].size], dst, layer)
	}
}

// pass takes a state through a tree whose first source is on or off.
func (c *chain) pass(tree []node, state []float64, layer int) {
	with := c.room(layer, len(state))
	c.with(tree, with, state, layer+1)
	mix(state, with, state, c.mass[tree[0].source])
}

// pull takes the likelihood g of what comes behind a tree to before it, and leaves in mass
// what each of its sources weighs. before is the state before the tree.
func (c *chain) pull(tree []node, before, g []float64, layer int) {
	h := c.room(layer, len(g))
	copy(h, g)
	first, last := layer+1, layer // the states before each source right under the first
	for at := 1; at < len(tree); at += tree[at].size {
		last++
		state := c.room(last, len(g))
		if last == first {
			spread(state, before, tree[0].pins)
		} else {
			copy(state, c.layer[last-1][:len(g)])
			c.pass(right(tree, last-first-1), state, last+1)
		}
	}
	for k := last - first; k >= 0; k-- {
		c.pull(right(tree, k), c.layer[first+k][:len(g)], h, last+1)
	}
	gather(h, h, tree[0].pins)
	s := tree[0].source
	c.mass[s] = join(g, h, before, c.mass[s])
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
func (c *chain) room(layer, size int) []float64 {
	for len(c.layer) <= layer {
		c.layer = append(c.layer, nil)
	}
	if cap(c.layer[layer]) < size {
		c.layer[layer] = make([]float64, 1<<c.width)
	}
	return c.layer[layer][:size]
}
