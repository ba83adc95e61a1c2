package evidence

import (
	"strconv"

	"telltale/evidence/source"
)

// What the gauges of the pump said before the trouble and what they say now.

// mostTimesStrokes is by how many times the strokes of two readings of one pump
// may differ; more is a slip of unit.
const mostTimesStrokes = 20

// mostLoad bounds the load of a drive, in whatever unit it is read.
const mostLoad = 1e9

func (r *caseReader) beforeAndNow(n *source.Node) *BeforeAndNow {
	if n == nil {
		return nil
	}
	o := n.Object(r.problems, "before-and-now")
	b := &BeforeAndNow{Pos: n.Pos, Before: r.gauged(o.Need("before"), "before"), Now: r.gauged(o.Need("now"), "now")}
	b.SameSetting = o.Get("drive-setting").Word(r.problems, "setting of the drive", []string{"same", "changed"}) == "same"
	b.Mud = o.Get("mud").Word(r.problems, "mud", r.words.Muds)
	rates := o.Get("two-rates")
	o.Close()
	if b.Now.Discharge == nil {
		b.Now.Discharge = r.out.Pump.Discharge
	}
	if b.Now.Speed == nil {
		b.Now.Speed = r.out.Pump.Speed
	}
	r.notNothing(b.Before)
	r.nearStrokes(n, b.Before.Speed, b.Now.Speed)
	if rates != nil {
		b.TwoRates = r.twoRates(rates, b)
	}
	return b
}

// gauged reads what the gauges said at one time.
func (r *caseReader) gauged(n *source.Node, what string) Gauged {
	if n == nil {
		return Gauged{}
	}
	o := n.Object(r.problems, what)
	g := Gauged{
		Discharge: r.anyQuantity(o.Get("discharge"), Pressure), Speed: r.quantity(o.Get("speed"), StrokeRate),
		ChargePressure: r.anyQuantity(o.Get("charge-pressure"), Pressure), Pos: n.Pos,
	}
	if load := o.Get("load"); load != nil {
		before := r.problems.Len()
		if x := load.Number(r.problems, "load", 0, mostLoad); r.problems.Len() == before {
			g.Load = &Quantity{SI: x, Written: strconv.FormatFloat(x, 'g', -1, 64)}
		}
	}
	o.Close()
	return g
}

// leastGauged is the least that a gauge of a sound pump reads, in Pa or as a load:
// against less nothing can be held.
const leastGauged = 1e-3

// notNothing refuses a reading of the sound pump that is zero.
func (r *caseReader) notNothing(g Gauged) {
	for _, q := range []*Quantity{g.Discharge, g.ChargePressure, g.Load} {
		if q != nil && q.SI < leastGauged {
			r.problems.Add(g.Pos, source.OutOfRange, "%q before the trouble is nothing; expected %s", q.Written, source.Want("more than zero"))
		}
	}
}

func (r *caseReader) nearStrokes(n *source.Node, a, b *Quantity) {
	if a != nil && b != nil && (a.SI > mostTimesStrokes*b.SI || b.SI > mostTimesStrokes*a.SI) {
		r.problems.Add(n.Pos, source.OutOfRange, "%s and %s are too far apart for one pump; is the unit right?", a.Written, b.Written)
	}
}

// twoRates reads two readings of the sound pump at other strokes.
func (r *caseReader) twoRates(n *source.Node, b *BeforeAndNow) []Gauged {
	o := n.Object(r.problems, "two-rates")
	var out []Gauged
	for _, key := range []string{"slow", "fast"} {
		item := o.Need(key)
		if item == nil {
			continue
		}
		at := item.Object(r.problems, key)
		g := Gauged{Discharge: r.quantity(at.Need("discharge"), Pressure), Speed: r.quantity(at.Need("speed"), StrokeRate), Pos: item.Pos}
		at.Close()
		if g.Discharge != nil && g.Speed != nil {
			out = append(out, g)
		}
	}
	o.Close()
	switch {
	case len(out) != 2:
		return nil // said already
	case out[0].Speed.SI >= out[1].Speed.SI:
		r.problems.Add(n.Pos, source.OutOfOrder, "slow: is at %s and fast: at %s; expected %s", out[0].Speed.Written, out[1].Speed.Written, source.Want("fewer strokes at slow:"))
		return nil
	}
	for _, g := range out {
		if g.same(b.Now) {
			r.problems.Add(g.Pos, source.Excludes, "this is the reading of now; two-rates are readings from before the trouble")
		}
	}
	r.nearStrokes(n, out[0].Speed, out[1].Speed)
	return out
}

// same says whether two readings give the same strokes and pressure.
func (g Gauged) same(h Gauged) bool {
	return g.Speed != nil && h.Speed != nil && g.Discharge != nil && h.Discharge != nil && g.Speed.SI == h.Speed.SI && g.Discharge.SI == h.Discharge.SI
}

// Same says whether a reading of two-rates is that of before.
func (b *BeforeAndNow) Same(g Gauged) bool { return g.same(b.Before) }
