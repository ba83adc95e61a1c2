package hear

import (
	"cmp"
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// How a hit is weighed. They are judgement, set on stories that the figures
// are not reported for.
const (
	slipCredit     = 0.75                   // a word that is a slip of the phrase's
	carriedCredit  = 0.6                    // a word carried on from the clause before
	titleCredit    = 0.85                   // the book's own title
	numberCredit   = 0.5                    // what "cylinder" gets where only its number or its side was told
	unknownWeight  = 2.5                    // of a word that the lexicon does not have
	figureWeight   = 1.2                    // of a figure with its unit, at most
	otherThing     = 0.5                    // a phrase about a part, in a clause about another
	noThing        = 0.75                   // in a clause about none
	someThings     = 0.85                   // about one of its two
	withoutWell    = 0.5                    // a phrase that says that all is well, without its word for it
	alsoSaid       = 0.4                    // a second phrase of the same that fits as well
	betweenThem    = 0.6                    // what all phrases of the same say between them
	halfUsed       = 1.5                    // in so many of them a word is half theirs
	leastScore     = 1.6                    // below this nothing was understood
	perStatement   = 1.0                    // what one more statement must explain
	opposite       = 0.35                   // a phrase with the opposite of a word of the clause
	rightDenial    = 1.1                    // a phrase that denies, in a clause that denies
	wrongDenial    = 0.4                    // a phrase that denies, in a clause that does not
	perJoint       = 0.5                    // what taking one clause more costs
	otherDenial    = 0.8                    // and one that denies where the others do not
	explainedShare = 0.2                    // how much of the weight is the share of the clause
	workDone       = 1.3                    // a work, where something was done
	workNotDone    = 0.65                   // and where nobody says so
	checkLooked    = 1.05                   // a check, where somebody looked
	checkNotLooked = 0.65                   // and where nobody says so
	checkNotMade   = 0.35                   // and where nobody did: what it would have shown is not known
	onlyFailed     = 0.2                    // a check or a work, where something failed and nobody says that he looked or did anything
	signWhereDone  = 0.8                    // a sign, where something was done
	otherPlace     = 0.8                    // and clauses that tell different places
	mostLean       = workDone * rightDenial // the most that the factors of a phrase come to
	mostClauses    = 4                      // clauses that one statement may take together
)

// hit is a phrase that a clause may say.
type hit struct {
	phrase  *phrase
	score   float64
	cover   float64 // share of the phrase
	explain float64 // share of the clause
	matched []int   // terms
	slips   bool
	carried bool
	denied  bool // the clause denies what the phrase says
}

func (h *hit) absent() bool { return h.phrase.absent != h.denied }

// each weighs every phrase that shares a word with the span and can be said of
// this pump. A phrase that cannot come above least, which may grow meanwhile, is left out.
func (l *Listener) each(s *span, ear *ear, least *float64, do func(i int, h hit)) {
	touched := ear.touched[:0]
	for _, t := range s.order {
		credit := s.bag[t]
		for _, p := range l.byTerm[t] {
			if ear.sums[p] == 0 {
				touched = append(touched, p)
			}
			ear.sums[p] += l.idf[t] * credit
		}
	}
	ear.touched = touched
	for _, i := range touched {
		m := ear.sums[i]
		ear.sums[i] = 0
		p := &l.phrases[i]
		if !ear.onPump[p.target] {
			continue
		}
		if m*m/p.weight*mostLean <= *least {
			continue
		}
		h := hit{phrase: p, cover: m / p.weight, explain: min(1, m/max(s.weight, 1e-9))}
		h.score = m * h.cover * (1 - explainedShare + explainedShare*h.explain) * l.lean(s, p)
		noEnd := s.saysOfEnd(p)
		switch {
		case p.not && !s.not && !noEnd:
			h.score *= wrongDenial
			h.denied = p.absent // "somebody inside" is not nobody inside
		case (s.not || noEnd) && !p.not:
			h.denied = !p.absent || s.notWell || noEnd && !l.onlyPump(p)
		case s.not || noEnd:
			h.score *= rightDenial
		}
		h.score *= l.sameThings(s, p)
		if p.absent && lacksWell(s, p) {
			h.score *= withoutWell
		}
		if l.opposed(s, p) {
			h.score *= opposite
		}
		do(i, h)
	}
}

// sameThings weighs whether the phrase and the span speak of the same things.
func (l *Listener) sameThings(s *span, p *phrase) float64 {
	if len(p.things) == 0 {
		return 1
	}
	there := 0
	for _, t := range p.things {
		if _, in := s.bag[t]; in {
			there++
		}
	}
	switch {
	case there == 0 && s.things > 0:
		return otherThing
	case there == 0:
		return noThing
	case there < len(p.things):
		return someThings
	}
	return 1
}

// lacksWell says whether the phrase rests on a word for well that the span does not
// have.
func lacksWell(s *span, p *phrase) bool {
	return slices.ContainsFunc(p.wells, func(t int) bool {
		_, there := s.bag[t]
		return !there
	})
}

// opposed says whether the span has the opposite of a word of the phrase, and not
// the word itself.
func (l *Listener) opposed(s *span, p *phrase) bool {
	if !s.opposes {
		return false
	}
	for _, t := range p.terms {
		if l.against[t] == nil {
			continue
		}
		if _, there := s.bag[t]; there {
			continue
		}
		for _, other := range l.against[t] {
			if _, there := s.bag[other]; there && !slices.Contains(p.terms, other) {
				return true
			}
		}
	}
	return false
}

// bestScore is that of the best hit; 0 if there is none.
func (l *Listener) bestScore(s *span, ear *ear) float64 {
	best := 0.0
	l.each(s, ear, &best, func(_ int, h hit) { best = max(best, h.score) })
	return best
}

// hits gives the best phrase of each target that the span may say, the best
// first.
func (l *Listener) hits(s *span, ear *ear) []hit {
	var found []int // targets
	least := 0.0
	l.each(s, ear, &least, func(i int, h hit) {
		b := &ear.best[h.phrase.target]
		switch {
		case b.first.phrase == nil:
			found = append(found, h.phrase.target)
			*b = bestOf{first: h, at: i}
		case h.score > b.first.score || h.score == b.first.score && i < b.at:
			b.first, b.at, b.second = h, i, max(b.second, b.first.score)
		default:
			b.second = max(b.second, h.score)
		}
	})
	out := make([]hit, 0, len(found))
	between := l.between(s)
	for _, target := range found {
		b := &ear.best[target]
		h := b.first
		h.score += betweenThem * between[target]
		h.score *= 1 + alsoSaid*b.second/h.score
		*b = bestOf{}
		if s.not && !s.reaches(h.phrase) {
			if h.denied = h.phrase.not && h.phrase.absent && l.ofStop(l.targets[target].is, l.targets[target].id, string(evidence.Present)); h.denied {
				h.score *= wrongDenial / rightDenial // "smell of rotten eggs, no alarm yet"
			}
		}
		if s.wellBeside(h.phrase) { // "fine, no leaks" is said once
			h.denied = !s.notWell
		}
		out = append(out, h)
	}
	slices.SortFunc(out, func(a, b hit) int {
		return cmp.Or(cmp.Compare(b.score, a.score), cmp.Compare(a.phrase.target, b.phrase.target))
	})
	for i := range out[:min(len(out), mostOthers+1)] {
		l.explain(&out[i], s)
	}
	return out
}

// explain notes which words a hit rests on.
func (l *Listener) explain(h *hit, s *span) {
	for _, t := range h.phrase.terms {
		if _, there := s.bag[t]; there {
			h.matched = append(h.matched, t)
		}
	}
	for _, it := range s.items {
		h.slips = h.slips || it.slip && slices.Contains(h.matched, it.term)
	}
	for _, t := range h.matched {
		if s.bag[t] == carriedCredit {
			h.carried = true
		}
	}
}

// bestOf is the best phrase of a target, and the score of the next of it.
type bestOf struct {
	first  hit
	at     int // the phrase
	second float64
}

// ear is what one hearing works with.
type ear struct {
	best    []bestOf // by target
	sums    []float64
	touched []int
	onPump  []bool
	layout  evidence.Layout
}

// lean weighs a phrase by what the clause tells of besides: work that was done
// is no sign, and a check wants somebody who looked.
func (l *Listener) lean(s *span, p *phrase) float64 {
	out := 1.0
	if p.title {
		out *= titleCredit
	}
	switch l.targets[p.target].is {
	case IsWork:
		if s.done {
			out *= workDone
		} else {
			out *= workNotDone
		}
		if s.failed && !s.done && (p.made || !p.failed) {
			out *= onlyFailed
		}
	case IsCheck:
		if s.unknown {
			out *= checkNotMade
		} else if s.looked {
			out *= checkLooked
		} else {
			out *= checkNotLooked
		}
		if s.failed && !s.looked && (p.made || !p.failed) { // "the crankshaft is cracked" is no crack test of it
			out *= onlyFailed
		}
	case IsSign:
		if s.done && !slices.ContainsFunc(p.terms, func(t int) bool { return l.concepts[t] != nil && l.concepts[t].As == rules.SaysDone }) {
			out *= signWhereDone
		}
	}
	return out
}

// between gives for every target what its phrases say of the span between them:
// the part in one, what is wrong with it in another.
func (l *Listener) between(s *span) []float64 {
	out := make([]float64, len(l.targets))
	for _, t := range s.order {
		for _, u := range l.uses[t] {
			out[u.target] += s.bag[t] * l.idf[t] * u.share
		}
	}
	return out
}
