package hear

import (
	"cmp"
	"fmt"
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// A local book adds words and phrases, and they weigh against those of the built-in
// book. What this one hears of a danger is no matter of that: a sign on which one of
// its stops rests is never less surely heard than by the built-in book alone.

// dangersUnder gives a story with what the built-in book beneath a local one hears of
// the signs of its stops, where the whole book hears it less surely or not at all.
func (l *Listener) dangersUnder(story Story, text string, layout evidence.Layout) Story {
	if l.under == nil {
		return story
	}
	for _, h := range l.under.Hear(text, layout).Heard {
		if l.under.ofStop(h.Is, h.ID, h.Answer) && !slices.ContainsFunc(story.Heard, func(o Heard) bool { return o.asSure(&h) }) {
			story.Heard = slices.DeleteFunc(story.Heard, func(o Heard) bool { return o.ID == h.ID && o.beside(&h) && o.touches(&h) })
			story.Heard = append(story.Heard, h)
			continue
		}
		for at, other := range h.Others {
			if l.under.ofStop(other.Is, other.ID, other.Answer) {
				offerUnder(story.Heard, &h, other, at)
			}
		}
	}
	slices.SortStableFunc(story.Heard, func(a, b Heard) int { return cmp.Compare(a.Start, b.Start) })
	return story
}

// offerUnder offers at the words of h what the built-in book offers there, no further
// down than it does.
func offerUnder(heard []Heard, h *Heard, other Other, at int) {
	for i := range heard {
		o := &heard[i]
		if !o.beside(h) || o.ID == other.ID {
			continue
		}
		if was := slices.IndexFunc(o.Others, func(p Other) bool { return p.ID == other.ID && p.Answer == other.Answer }); was < 0 || was > at {
			o.Others = slices.Insert(slices.Clone(o.Others), min(at, len(o.Others)), other)
		}
	}
}

// asSure says whether it tells the same of the same words, as surely at least.
func (h *Heard) asSure(o *Heard) bool {
	return h.beside(o) && h.Is == o.Is && h.ID == o.ID && h.Answer == o.Answer && (h.Kind == o.Kind || o.Kind == "") &&
		slices.Equal(h.Places, o.Places) && h.OneOf == o.OneOf && howSure(h) <= howSure(o) && (h.Clear || !o.Clear)
}

// beside says whether two statements share words of the story.
func (h *Heard) beside(o *Heard) bool { return h.Start < o.End && o.Start < h.End }

// touches says whether two statements may be of one place.
func (h *Heard) touches(o *Heard) bool {
	return len(h.Places) == 0 || len(o.Places) == 0 || slices.ContainsFunc(h.Places, func(p evidence.Place) bool { return slices.ContainsFunc(o.Places, p.Touches) })
}

// howSure ranks the strengths, the strong one first.
func howSure(h *Heard) int { return slices.Index([]Strength{Strong, Fair, Weak}, h.Strength) }

// againstDanger finds words and phrases of a local book that the built-in book beneath
// hears as the sign of a stop, and that say something else there.
func (l *Listener) againstDanger() []rules.Remark {
	var out []rules.Remark
	if l.under == nil {
		return out
	}
	danger := func(text string) string {
		for _, h := range l.under.Hear(text, evidence.Layout{Action: evidence.Triplex, Cylinders: evidence.DefaultCylinders(evidence.Triplex)}).Heard {
			if l.under.ofStop(h.Is, h.ID, h.Answer) && h.Strength != Weak {
				return h.ID
			}
		}
		return ""
	}
	for i := range l.phrases {
		p := &l.phrases[i]
		of := l.targets[p.target].id
		if p.title || l.under.has[p.saying(l)] {
			continue
		}
		if id := danger(p.text); id != "" && (id != of || p.absent) {
			out = append(out, rules.Remark{Pos: p.pos, Kind: rules.SaidTwice, Of: []string{id, of},
				Message: fmt.Sprintf("%q is heard by the built-in book as %s, on which a stop rests. It stays so: whoever says it is told that too", p.text, id)})
		}
	}
	for _, s := range l.book.SameWords.List {
		was := l.under.book.SameWords.Get(s.ID)
		for _, words := range s.Words {
			if was != nil && slices.Contains(was.Words, words) {
				continue
			}
			if id := danger(words); id != "" {
				out = append(out, rules.Remark{Pos: s.Pos, Kind: rules.SaidTwice, Of: []string{id, s.ID},
					Message: fmt.Sprintf("%q of %s is heard by the built-in book as %s, on which a stop rests. It stays so, whatever the words are the same as here", words, s.ID, id)})
			}
		}
	}
	return out
}
