package noisyor

// mark notes the sources of a cause, and what has one of them below it.
func (x *several) mark(sources []int) {
	clear(x.marks)
	for _, s := range sources {
		if x.network.state[s] != live {
			continue
		}
		x.marks[s] = 2
		for up := x.under[s]; up >= 0 && x.marks[up] == 0; up = x.under[up] {
			x.marks[up] = 1
		}
	}
}

// plantMarked lays out the tree of a source, with those that touch nothing but are marked.
// What touches one observation and has nothing marked is a link of what it lies under.
func (x *several) plantMarked(s int) []node {
	x.nodes, x.pins = x.nodes[:0], x.pins[:0]
	x.plantEach(s)
	return x.nodes
}

func (x *several) plantEach(s int) {
	at, begin := len(x.nodes), len(x.pins)
	for _, l := range x.links[s] {
		x.pins = append(x.pins, pin{1 << x.slot[l.obs], l.yes, l.no})
	}
	for _, kid := range x.kids[s] {
		if x.folded(kid) {
			x.pinMore(begin, x.lone[kid])
		}
	}
	x.nodes = append(x.nodes, node{source: s, pins: x.pins[begin:len(x.pins):len(x.pins)]})
	for _, kid := range x.below[s] {
		if x.folded(kid) {
			continue
		}
		if x.busy[kid] || x.noisy[kid] || x.marks[kid] > 0 {
			x.plantEach(kid)
		}
	}
	x.nodes[at].size = len(x.nodes) - at
}

// folded says whether a source is no more than a link of what it lies under.
func (x *several) folded(s int) bool {
	return x.lone[s].obs >= 0 && x.marks[s] == 0 && !x.noisy[s]
}

// pinMore adds a link to the pins from begin on, each of which has a bit of its own.
func (x *several) pinMore(begin int, l link) {
	bit := 1 << x.slot[l.obs]
	for k := range x.pins[begin:] {
		if p := &x.pins[begin+k]; p.bit == bit {
			p.yes, p.no = p.yes+p.no*l.yes, p.no*l.no
			return
		}
	}
	x.pins = append(x.pins, pin{bit, l.yes, l.no})
}

// passMarked takes the states without the marked cause and with it through a tree. Of three
// the second is that it is there by itself only.
func (x *several) passMarked(tree []node, states [][]float64, layer int) {
	s, m, to := tree[0].source, x.share[tree[0].source], 0
	if x.marks[s] == 0 {
		for _, v := range states {
			x.pass(tree, v, layer)
		}
		return
	}
	if x.marks[s] == 2 {
		if to = len(states) - 1; x.under[s] < 0 && to == 2 {
			to = 1
		}
	}
	var on [3][]float64
	for i, v := range states[to:] {
		on[i] = x.room(layer+i, len(v))
		copy(on[i], v)
	}
	for _, v := range states[:to] {
		for k, y := range v {
			on[0][k] += y
			v[k] *= m.off
		}
	}
	states = states[to:]
	with := on[:len(states)]
	for _, v := range with {
		spread(v, v, tree[0].pins)
	}
	for at := 1; at < len(tree); at += tree[at].size {
		x.passMarked(tree[at:at+tree[at].size], with, layer+len(on))
	}
	for i, v := range states {
		mix(v, with[i], v, m)
	}
}

// passShown takes the states without and with something shown by the marked cause
// through a tree.
func (x *several) passShown(tree []node, without, with []float64, layer int) {
	s := tree[0].source
	switch x.marks[s] {
	case 0:
		x.pass(tree, without, layer)
		x.pass(tree, with, layer)
		return
	case 2:
		w, m := x.room(layer, len(with)), x.share[s]
		copy(w, with)
		silent := x.show(tree, w, without, 1, layer+1)
		mix(with, w, with, m)
		for k := range without {
			without[k] *= m.off + m.on*silent
		}
		return
	}
	u, w := x.room(layer, len(with)), x.room(layer+1, len(with))
	spread(u, without, tree[0].pins)
	spread(w, with, tree[0].pins)
	for at := 1; at < len(tree); at += tree[at].size {
		x.passShown(tree[at:at+tree[at].size], u, w, layer+2)
	}
	mix(without, u, without, x.share[s])
	mix(with, w, with, x.share[s])
}

// show takes a state in which something was shown already through a tree whose first
// source is on, and adds what the tree shows first to weight times the state without. It
// returns the weight of nothing shown still.
func (x *several) show(tree []node, shown, without []float64, weight float64, layer int) float64 {
	s := tree[0].source
	for k := range tree[0].pins {
		p := &tree[0].pins[k]
		spread1(shown, shown, *p)
		for k, v := range without {
			shown[k|p.bit] += weight * p.yes * v
		}
		weight *= p.no
	}
	if y := x.aside[s]; y.Yes > 0 {
		for k, v := range without {
			shown[k] += weight * y.Yes * v
		}
		weight *= y.No
	}
	for at := 1; at < len(tree); at += tree[at].size {
		on, m := x.room(layer, len(shown)), x.share[tree[at].source]
		copy(on, shown)
		quiet := x.show(tree[at:at+tree[at].size], on, without, weight, layer+1)
		mix(shown, on, shown, m)
		weight = m.off*weight + m.on*quiet
	}
	return weight
}
