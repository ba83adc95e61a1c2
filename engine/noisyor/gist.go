package noisyor

// gist is a small tree in short. Where its first source is on, dist tells how probable it is
// that the tree explains each set of the observations that it touches, so that a state goes
// through it as through one source with those sets for links. It is worked out again only
// where a question changes what the tree weighs.
type gist struct {
	tree  []node // laid out over its own observations alone
	spot  []int  // by set of those: the same bits in the state
	dist  []float64
	known bool // dist is that of the problem that is held
}

// mostGist bounds the observations of a tree that has a gist.
const mostGist = 5

// shorten gives a step its gist. Without one the tree is walked: that is as quick where it
// has few sources for its observations.
func (c *chain) shorten(t *step) {
	t.tried = true
	var bits, found [mostGist + 1]int
	many := 0
	for _, n := range t.tree {
		for k, l := range c.links[n.source] {
			if c.slot[l.obs] < 0 && many <= mostGist {
				c.slot[l.obs], bits[many], found[many] = many, n.pins[k].bit, l.obs
				many++
			}
		}
	}
	if many <= mostGist && len(t.tree) > 1 && 1<<many <= 2*len(t.tree) {
		at := len(c.spots)
		c.spots, c.dists = append(c.spots, 0), append(c.dists, make([]float64, 1<<many)...)
		for _, bit := range bits[:many] {
			for _, spot := range c.spots[at:] {
				c.spots = append(c.spots, spot|bit)
			}
		}
		t.gist = &gist{tree: c.plant(t.tree[0].source), spot: c.spots[at:], dist: c.dists[len(c.dists)-1<<many:]}
	}
	for _, i := range found[:many] {
		c.slot[i] = -1
	}
}

// askedOften is how many questions a plan must have had before its trees get their gist.
const askedOften = 3

// short is the gist of a step as the shares are now; nil: the tree is walked.
func (c *chain) short(t *step) *gist {
	if !c.shallow || c.asks <= askedOften {
		return nil
	}
	if !t.tried {
		c.shorten(t)
	}
	g := t.gist
	if changed := c.touched[t.tree[0].source]; g != nil && (changed || !g.known) {
		nothing := c.room(0, len(g.dist))
		clear(nothing)
		nothing[0] = 1
		c.with(g.tree, g.dist, nothing, 1)
		g.known = !changed
	}
	return g
}

// pass takes a state through the tree, into dst, which is another one.
func (g *gist) pass(dst, src []float64, m pair) {
	for k, x := range src {
		dst[k] = m.off * x
	}
	mask := g.spot[len(g.spot)-1]
	for base, left := 0, len(src)/len(g.spot); left > 0; left-- {
		for s, at := range g.spot {
			x := m.on * src[base|at]
			for u, p := range g.dist {
				dst[base|g.spot[s|u]] += x * p
			}
		}
		base = ((base | mask) + 1) &^ mask
	}
}

// turnBack is the transpose of that where the first source is on.
func (g *gist) turnBack(dst, src []float64) {
	mask := g.spot[len(g.spot)-1]
	for base, left := 0, len(src)/len(g.spot); left > 0; left-- {
		for s, at := range g.spot {
			sum := 0.0
			for u, p := range g.dist {
				sum += p * src[base|g.spot[s|u]]
			}
			dst[base|at] = sum
		}
		base = ((base | mask) + 1) &^ mask
	}
}
