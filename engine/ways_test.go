package engine

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// oneWay is one way in which a cause is there, laid out straight from the book:
// by itself, or brought on by another way.
type oneWay struct {
	cause, under, head int
	chance             float64
	links              []rules.Link
}

// waysOf lays out all ways. It shares no code with the model but Place.Touches,
// the brings of the book and the priors' arithmetic, each tested on its own.
func waysOf(m *chances.Model) []oneWay {
	var out []oneWay
	for i, in := range m.Causes {
		out = append(out, oneWay{i, -1, i, in.Prior, in.Cause.LinksFor(m.Case, m.Book)})
	}
	begin, end := 0, len(out)
	for range rules.MostDeep {
		for at := begin; at < end; at++ {
			from := m.Causes[out[at].cause]
			for _, bring := range from.Cause.BringsFor(m.Case, m.Book) {
				for to, in := range m.Causes {
					if in.Cause.ID == bring.Cause && in.Place.Touches(from.Place) {
						out = append(out, oneWay{to, at, out[at].head, bring.Often, bring.Links(in.Cause, m.Case, m.Book)})
					}
				}
			}
		}
		begin, end = end, len(out)
	}
	return out
}

// chainOracle enumerates the states of all ways of a small case: what the
// evidence weighs, and with it each cause in any way, each behind the findings,
// each by itself alone, and each by way of each head of a chain.
type chainOracle struct {
	m        *chances.Model
	ways     []oneWay
	evidence float64
	there    []float64
	behind   []float64
	alone    []float64
	by       map[[2]int]float64
}

func enumerateWays(m *chances.Model, ways []oneWay) *chainOracle {
	n := len(m.Causes)
	o := &chainOracle{m: m, ways: ways, there: make([]float64, n), behind: make([]float64, n), alone: make([]float64, n), by: map[[2]int]float64{}}
	for state := range 1 << len(ways) {
		mass := o.prior(state)
		if mass == 0 {
			continue
		}
		seen := mass * o.findings(state, 0)
		o.evidence += seen
		if seen == 0 {
			continue
		}
		for c := range m.Causes {
			own, brought := false, map[int]bool{}
			for w, way := range ways {
				if way.cause != c || state>>w&1 == 0 {
					continue
				}
				if own = own || way.under < 0; way.under >= 0 {
					brought[way.head] = true
				}
			}
			if !own && len(brought) == 0 {
				continue
			}
			o.there[c] += seen
			if len(brought) == 0 {
				o.alone[c] += seen
			}
			for head := range brought {
				o.by[[2]int{c, head}] += seen
			}
			o.behind[c] += seen - mass*o.findings(state, o.below(c))
		}
	}
	return o
}

// prior is how likely a state is before anything was found; 0 where it does not
// fit what is proved and ruled out.
func (o *chainOracle) prior(state int) float64 {
	mass, there := 1.0, map[int]bool{}
	for w, way := range o.ways {
		on := state>>w&1 == 1
		switch {
		case way.under >= 0 && state>>way.under&1 == 0:
			if on {
				return 0
			}
		case on:
			mass *= way.chance
			there[way.cause] = true
		default:
			mass *= 1 - way.chance
		}
	}
	for c, in := range o.m.Causes {
		at := evidence.At{ID: in.Cause.ID, Place: in.Place}
		if chances.Among(o.m.Case.Confirmed, at.ID, at.Place) && !there[c] || chances.Among(o.m.Case.RuledOut, at.ID, at.Place) && there[c] {
			return 0
		}
	}
	return mass
}

// below is all ways of a cause and all that they bring on.
func (o *chainOracle) below(cause int) int {
	out := 0
	for w, way := range o.ways {
		if way.cause == cause || way.under >= 0 && out>>way.under&1 == 1 {
			out |= 1 << w
		}
	}
	return out
}

// findings is how likely the findings are in a state while some ways, though on,
// show nothing. A proved cause that something can bring on is seen with every way
// that is on, so none of those shows nothing.
func (o *chainOracle) findings(state, hushed int) float64 {
	mass := 1.0
	for w, way := range o.ways {
		if state&hushed>>w&1 == 0 {
			continue
		}
		if o.brought(way.cause) && chances.Among(o.m.Case.Confirmed, o.m.Causes[way.cause].Cause.ID, o.m.Causes[way.cause].Place) {
			return 0
		}
	}
	for _, f := range o.m.Case.Findings {
		mass *= o.finding(f, state, hushed)
	}
	return mass
}

func (o *chainOracle) brought(cause int) bool {
	for _, way := range o.ways {
		if way.cause == cause && way.under >= 0 {
			return true
		}
	}
	return false
}

func (o *chainOracle) finding(f evidence.Finding, state, hushed int) float64 {
	sign := o.m.Book.Signs.Get(f.Sign)
	silent, allowed, still := 1.0, 1.0, 1.0
	for _, place := range f.Over {
		silent *= 1 - sign.Background
		allowed *= 1 - othersThan(sign, f.Kind, evenly(sign))
		for w, way := range o.ways {
			if state>>w&1 == 0 || !o.m.Causes[way.cause].Place.Touches(place) {
				continue
			}
			for _, link := range way.links {
				switch {
				case link.Sign != f.Sign:
				case hushed>>w&1 == 1:
					still *= 1 - link.Total
				default:
					silent *= 1 - link.Total
					allowed *= 1 - othersThan(sign, f.Kind, link.Kinds)
				}
			}
		}
	}
	if f.Answer == evidence.Absent {
		return silent * still
	}
	return (allowed - silent) * still
}

func TestChainsMeanWhatTheBookSays(t *testing.T) {
	tried := 0
	rapid.Check(t, func(t *rapid.T) {
		d := drawChains.Draw(t, "book")
		book := d.load()
		k := drawCase(t, d, book)
		drawVerdicts(t, d, book, k)
		m := chances.New(book, k)
		ways := waysOf(m)
		if len(ways) > 15 || len(ways) == len(m.Causes) {
			t.Skip("too many ways to enumerate, or no chain")
		}
		want := enumerateWays(m, ways)
		if want.evidence < 1e-9 {
			t.Skip("as good as impossible")
		}
		w, err := m.Weigh()
		if err != nil {
			t.Fatal(err)
		}
		tried++
		seen := false
		for _, f := range k.Findings {
			seen = seen || f.Answer == evidence.Present
		}
		for c, in := range m.Causes {
			seen = seen || m.Confirmed(c) && want.brought(c)
			near(t, w.Posterior[c], want.there[c]/want.evidence, in.Cause.ID)
		}
		behind := w.Behind()
		for c := range m.Causes {
			if m.Confirmed(c) {
				continue
			}
			if !seen {
				near(t, behind[c], want.there[c]/want.evidence, "behind without a finding")
				continue
			}
			near(t, behind[c], want.behind[c]/want.evidence, "behind")
		}
		for _, told := range append(w.Open(), asCauses(w)...) {
			c, _ := m.Find(told.Cause, told.Place)
			if want.there[c] < 1e-9*want.evidence {
				continue
			}
			near(t, told.ByItself, want.alone[c]/want.there[c], "by itself")
			for _, root := range told.BroughtOnBy {
				head, _ := m.Find(root.Cause, root.Place)
				near(t, root.Probability, want.by[[2]int{c, head}]/want.there[c], "root")
			}
		}
	})
	t.Log("chains enumerated:", tried)
}

// asCauses gives what was proved in the shape of what is open.
func asCauses(w *chances.Weighed) []chances.Cause {
	var out []chances.Cause
	for _, c := range w.Proved() {
		out = append(out, chances.Cause{Cause: c.Cause, Place: c.Place, BroughtOnBy: c.BroughtOnBy, ByItself: c.ByItself})
	}
	return out
}

// Nothing that can be brought on is left out of the shares: that nothing brought
// it on, or some head of a chain did, is certain.
func TestSharesOfRootsCoverAFailure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawChains.Draw(t, "book")
		book := d.load()
		m := chances.New(book, drawCase(t, d, book))
		w, err := m.Weigh()
		if err != nil {
			t.Skip(err)
		}
		for _, c := range w.Open() {
			total := c.ByItself
			for _, root := range c.BroughtOnBy {
				total += root.Probability
			}
			if c.Probability > 1e-6 && total < 1-0.001*float64(len(m.Causes)) { // a root of less is not told
				t.Fatalf("%s: by itself %g and its roots come to %g together", c.Cause, c.ByItself, total)
			}
			if math.IsNaN(total) {
				t.Fatalf("%s: shares are no numbers", c.Cause)
			}
		}
	})
}
