package practice

import (
	"math/rand/v2"
	"slices"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// What is hidden comes in troubles: a cause that is there by itself, and what it
// brought on. Each bring is drawn at each place that it reaches.

// source is one way in which a hidden cause is there.
type source struct {
	cause int          // of World.Hidden
	under int          // the source that brought it on; -1: it is there by itself
	bring *rules.Bring // nil: it is there by itself
}

// Trouble is one thing that is wrong with the pump.
type Trouble struct {
	Root   evidence.At   // what is there by itself
	Failed []evidence.At // what it brought on, directly or through another of these; none: it stands alone
}

// Troubles are the hidden things, each with what came of it.
func (w *World) Troubles() []Trouble {
	var out []Trouble
	number := map[int]int{} // of the trouble, by its source at the head
	for i, s := range w.sources {
		if s.under < 0 {
			number[i] = len(out)
			out = append(out, Trouble{Root: w.Hidden[s.cause]})
			continue
		}
		t := &out[number[w.head(i)]]
		if at := w.Hidden[s.cause]; !has(t.Failed, at) {
			t.Failed = append(t.Failed, at)
		}
	}
	return out
}

// head is the source at the head of another one's chain.
func (w *World) head(source int) int {
	for w.sources[source].under >= 0 {
		source = w.sources[source].under
	}
	return source
}

// Way gives what brought a hidden cause on, step by step up to the cause that is
// there by itself; none if it is there by itself alone.
func (w *World) Way(of evidence.At) []evidence.At {
	for _, s := range w.sources {
		if w.Hidden[s.cause] != of || s.under < 0 {
			continue
		}
		var out []evidence.At
		for i := s.under; i >= 0; i = w.sources[i].under {
			out = append(out, w.Hidden[w.sources[i].cause])
		}
		return out
	}
	return nil
}

// broughtBy says how a hidden cause came: from which causes by themselves, through
// which others, and whether it is there by itself as well.
func (w *World) broughtBy(of evidence.At) (heads, between []evidence.At, alone bool) {
	for _, s := range w.sources {
		if w.Hidden[s.cause] != of {
			continue
		}
		alone = alone || s.under < 0
		for i := s.under; i >= 0; i = w.sources[i].under {
			at := w.Hidden[w.sources[i].cause]
			if w.sources[i].under < 0 {
				heads = append(heads, at)
			} else {
				between = append(between, at)
			}
		}
	}
	return heads, between, alone
}

// put hides a cause, by itself or brought on, and gives the number of its source.
func (w *World) put(at evidence.At, under int, bring *rules.Bring) int {
	i := slices.Index(w.Hidden, at)
	if i < 0 {
		i = len(w.Hidden)
		w.Hidden = append(w.Hidden, at)
	}
	w.sources = append(w.sources, source{cause: i, under: under, bring: bring})
	return len(w.sources) - 1
}

// reach is a bring at one of the places that it reaches.
type reach struct {
	at    evidence.At
	bring *rules.Bring
}

// reaches gives all that a cause may bring on.
func (w *World) reaches(from evidence.At) []reach {
	var out []reach
	list := w.book.Causes.Get(from.ID).BringsFor(w.bare(), w.book)
	for i := range list {
		to := w.book.Causes.Get(list[i].Cause)
		if !to.When.Holds(w.bare(), w.book) {
			continue
		}
		for _, p := range w.Pump.Places(to.Level) {
			if from.Place.Touches(p) {
				out = append(out, reach{evidence.At{ID: to.ID, Place: p}, &list[i]})
			}
		}
	}
	return out
}

// noneFrom gives, for each bring, the chance that neither it nor one behind it comes.
func noneFrom(list []reach) []float64 {
	out := make([]float64, len(list)+1)
	out[len(list)] = 1
	for i := len(list) - 1; i >= 0; i-- {
		out[i] = out[i+1] * (1 - list[i].bring.Often)
	}
	return out
}

// bringOn draws what a source brings on; some: given that it is something.
func (w *World) bringOn(random *rand.Rand, from int, some bool, deep int) {
	list := w.reaches(w.Hidden[w.sources[from].cause])
	none := noneFrom(list)
	for i, r := range list {
		often := r.bring.Often
		if some {
			often /= 1 - none[i]
		}
		if random.Float64() >= often {
			continue
		}
		some = false
		if to := w.put(r.at, from, r.bring); deep < rules.MostDeep {
			w.bringOn(random, to, false, deep+1)
		}
	}
}

// start is a cause by itself with which a trouble can begin.
type start struct {
	chances.Instance
	none float64 // chance that it brings nothing on
}

// weights gives how often each start comes, of those that brought something on or
// of those that did not. Where nothing can, brought is false again.
func weights(among []start, brought bool) (out []float64, sum float64, really bool) {
	for _, s := range among {
		weight := s.Prior / (1 - s.Prior) * s.none
		if brought {
			weight = s.Prior / (1 - s.Prior) * (1 - s.none)
		}
		out, sum = append(out, weight), sum+weight
	}
	if brought && sum == 0 {
		return weights(among, false)
	}
	return out, sum, brought
}

// drawCauses draws one trouble or two, each with something brought on as often as
// the level has it. Given that, each set of causes by themselves has the chance of
// the model given its size, which goes with the product of the odds.
func (w *World) drawCauses(random *rand.Rand, among []start) {
	share := w.book.Practice.WithRoot[w.Level-1]
	one, _, brought := weights(among, random.Float64() < share)
	if w.Level != TwoFaults {
		w.begin(random, among[pick(random, one)], brought)
		return
	}
	other, sum, also := weights(among, random.Float64() < share)
	for i := range one {
		one[i] *= sum - other[i]
	}
	first := pick(random, one)
	other[first] = 0
	second := pick(random, other)
	w.begin(random, among[first], brought)
	w.begin(random, among[second], also)
}

func (w *World) begin(random *rand.Rand, s start, brought bool) {
	from := w.put(evidence.At{ID: s.Cause.ID, Place: s.Place}, -1, nil)
	if brought {
		w.bringOn(random, from, true, 1)
	}
}

// asksRoot says whether of a cause it is to be said what brought it on: of a
// failure, and of all that something in the book brings on.
func (w *World) asksRoot(cause string) bool { return w.asks[cause] }

// rooted gives the causes of which that is asked.
func (w *World) rooted() map[string]bool {
	out := map[string]bool{}
	for _, c := range w.book.Causes.List {
		if !c.When.HoldsForPump(&w.Pump) {
			continue
		}
		if c.Role == rules.Failure {
			out[c.ID] = true
		}
		for _, b := range c.BringsFor(w.bare(), w.book) {
			out[b.Cause] = true
		}
	}
	return out
}
