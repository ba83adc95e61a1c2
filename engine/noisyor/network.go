package noisyor

import "math"

// network is a problem reduced to what still has to be worked out. Every pair of masses
// in it adds up to one: what contradicts has moved into the shares of its cause, or into
// factor.
type network struct {
	factor scaled  // product of all that no longer depends on a source
	mass   []pair  // of each cause: its shares of presence and absence, and in the end what they weigh
	back   []Yield // of each present observation, with the confirmed causes
	doubt  []float64

	sources []int    // the causes with links, which are neither ruled out nor confirmed
	links   [][]link // of each cause, those that can explain something
}

// pair is the mass of the evidence with something present and with it absent, up to a
// factor common to both.
type pair struct{ present, absent float64 }

// link is what a source, a cause that may be present or not, does to one present observation.
type link struct {
	obs     int
	yes, no float64
}

// reduce folds p into the network. The factor is 0 if a cause can be neither present nor
// absent, or a background contradicts what was seen.
func (n *network) reduce(p *Problem) {
	n.factor = one()
	n.mass = resize(n.mass, len(p.Prior))
	for c, prior := range p.Prior {
		n.mass[c] = pair{min(prior, 1), max(0, 1-prior)} // rounding may have put it a little above
	}
	for i := range p.Absent {
		o := &p.Absent[i]
		n.factor.mul(o.Background.No)
		for _, l := range o.Links {
			n.weigh(l.Cause, l.No)
		}
	}
	for i := range p.Present {
		o := &p.Present[i]
		n.factor.mul(o.Background.Yes + o.Background.No)
		for _, l := range o.Links {
			n.weigh(l.Cause, l.Yes+l.No)
		}
	}
	for c := range n.mass {
		m := &n.mass[c]
		total := m.present + m.absent
		n.factor.mul(total)
		if total > 0 {
			m.present, m.absent = m.present/total, m.absent/total
		}
	}
	n.foldConfirmed(p)
	n.collect(p)
}

// weigh multiplies the mass of the presence of a cause. That of a confirmed one does not
// depend on anything.
func (n *network) weigh(cause int, mass float64) {
	if mass == 1 {
		return
	}
	if m := &n.mass[cause]; m.absent > 0 {
		m.present *= mass
		return
	}
	n.factor.mul(mass)
}

// foldConfirmed starts each background and folds the confirmed causes into it.
func (n *network) foldConfirmed(p *Problem) {
	n.back = resize(n.back, len(p.Present))
	n.doubt = resize(n.doubt, len(p.Present))
	for i := range p.Present {
		o := &p.Present[i]
		y := o.Background.normal()
		for _, l := range o.Links {
			if n.mass[l.Cause].absent == 0 {
				more := l.normal()
				y.Yes, y.No = y.Yes+y.No*more.Yes, y.No*more.No
			}
		}
		n.back[i], n.doubt[i] = y, o.Doubt
	}
}

// normal scales y to masses that add up to one.
func (y Yield) normal() Yield {
	switch total := y.Yes + y.No; total {
	case 0:
		return Yield{0, 1}
	case 1:
		return y
	default:
		return Yield{y.Yes / total, y.No / total}
	}
}

// collect lists by source the links that can still explain something.
func (n *network) collect(p *Problem) {
	n.sources, n.links = n.sources[:0], resize(n.links, len(p.Prior))
	for c := range n.links {
		n.links[c] = n.links[c][:0]
	}
	for i := range p.Present {
		for _, l := range p.Present[i].Links {
			if n.useful(i, l) {
				y := l.normal()
				n.links[l.Cause] = append(n.links[l.Cause], link{i, y.Yes, y.No})
			}
		}
	}
	for c, links := range n.links {
		if len(links) > 0 {
			n.sources = append(n.sources, c)
		}
	}
}

// useful reports whether link l can change whether observation i is explained.
func (n *network) useful(i int, l Link) bool {
	m := &n.mass[l.Cause]
	return n.back[i].No > 0 && l.Yes > 0 && m.present > 0 && m.absent > 0
}

// scaled is a non-negative number part * 2^exp, so that long products of numbers up to
// about one do not underflow.
type scaled struct {
	part float64
	exp  int
}

// one is the empty product.
func one() scaled { return scaled{part: 1} }

// mul multiplies z by x, which is not negative.
func (z *scaled) mul(x float64) {
	if part := z.part * x; part > 0x1p-200 {
		z.part = part
		return
	}
	part, exp := math.Frexp(x)
	z.join(scaled{part, exp})
}

// join multiplies z by y.
func (z *scaled) join(y scaled) {
	part, exp := math.Frexp(z.part * y.part)
	z.part, z.exp = part, z.exp+y.exp+exp
}

// value returns z as a float64: 0 when it is too small.
func (z scaled) value() float64 { return math.Ldexp(z.part, z.exp) }
