package hear

import (
	"cmp"
	"slices"
	"strings"

	"telltale/evidence"
	"telltale/evidence/speech"
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

// span is some clauses taken together.
type span struct {
	items   []item
	bag     map[int]float64 // terms with their credit
	order   []int           // the terms as they come, so that sums are the same each time
	weight  float64         // of all that carries meaning
	not     bool
	well    []int // items that say that all is well
	things  int   // parts that are named
	gone    []int // terms that say that it ended
	done    bool
	looked  bool
	unknown bool // nobody looked
	notWell bool // it is denied that all is well
	nothing bool // the denial is "nothing"
	opposes bool // a word has an opposite
	plain   map[int]bool
	small   []string // the first word of each item
}

func (l *Listener) spanOf(words []speech.Word, items []item, carried []int) *span {
	s := &span{items: items, bag: map[int]float64{}, plain: l.plain, small: make([]string, len(items))}
	unknown := map[string]bool{}
	for i, it := range items {
		s.small[i] = words[it.from].Lower
		if last := words[max(it.from, it.to-1)]; it.role == rules.NamesThing && last.End-last.Start == len(last.Lower)+2 {
			s.small[i] += "'s"
		}
		if isUnit(items, i) {
			continue
		}
		switch it.role {
		case rules.SaysNot:
			w := words[it.from].Lower
			s.nothing = s.nothing || w == "nothing" || w == "none" || w == "nil"
			if next := s.next(i, 1); next < len(items) && (items[next].role == rules.SaysWell || items[next].role == rules.SaysGone) {
				s.notWell = true
			}
			s.not = s.not || !(i+1 < len(items) && items[i+1].role == rules.SaysOnly || deniesPlace(items, i))
			continue
		case rules.SaysUnknown:
			s.unknown = true
			continue
		case rules.SaysNothing, rules.NamesPlace, rules.SaysOnly, rules.SaysRest, rules.SaysGuess:
			continue
		case rules.SaysWell, rules.SaysSame:
			if normalFigure(words, items, i) {
				continue
			}
			s.well = append(s.well, i)
		case rules.SaysGone:
			s.gone = append(s.gone, it.term)
		case rules.SaysDone:
			s.done = true
		case rules.SaysLooked:
			s.looked = true
		}
		switch {
		case it.isNumber:
			if it.number == 0 {
				s.put(l, l.zero, 1)
			} else if i+1 < len(items) && items[i+1].role == rules.SaysPressure {
				s.put(l, l.pressureTerm(words, items, i), 1)
			} else if i+1 < len(items) && items[i+1].role == rules.SaysStrokes {
				s.put(l, l.strokes, 1)
			}
		case it.term < 0:
			if !unknown[it.stem] && len(it.stem) > 2 {
				unknown[it.stem] = true
				s.weight += unknownWeight
			}
		case it.role == rules.NamesThing:
			s.things++
			s.put(l, it.term, map[bool]float64{true: slipCredit, false: 1}[it.slip])
		case it.slip:
			s.put(l, it.term, slipCredit)
		default:
			s.put(l, it.term, 1)
		}
	}
	if namesCylinder(items) && l.cylinder >= 0 {
		if _, there := s.bag[l.cylinder]; !there {
			s.bag[l.cylinder] = numberCredit
			s.order = append(s.order, l.cylinder)
		}
	}
	if t := l.trend(words, items); t >= 0 {
		s.put(l, t, 1)
	}
	if opened(words, items) { // "they had the rectifier open"
		s.done, s.looked = true, true
	}
	if _, nought := s.bag[l.zero]; nought && s.nothing {
		s.not = false // "nothing, zero" says nought twice
	}
	for _, t := range carried {
		if _, there := s.bag[t]; !there {
			s.bag[t] = carriedCredit
			s.order = append(s.order, t)
		}
	}
	return s
}

// wellBeside says whether the span says that all is well in a word that the
// phrase does not have: "the wash is fine" denies "mud in the wash". A word that
// stands at what the phrase says is no such: "a dry squeal".
func (s *span) wellBeside(p *phrase) bool {
	if p.absent {
		return false
	}
	if slices.ContainsFunc(s.gone, func(t int) bool { return !slices.Contains(p.terms, t) }) {
		return true
	}
	says := func(at int) bool {
		return at >= 0 && at < len(s.items) && s.items[at].term >= 0 && s.items[at].role != rules.NamesThing && slices.Contains(p.terms, s.items[at].term)
	}
	for _, at := range s.well {
		it := s.items[at]
		how := !s.plain[it.term] || it.role == rules.SaysSame || s.howMuch(at) // "leaks as before", "a good knock"
		how = how && !s.isSo(at)
		if !slices.Contains(p.terms, it.term) && !(how && (says(s.next(at, -1)) || says(s.next(at, 1)))) {
			return true
		}
	}
	return false
}

// isSo says whether a word for well is said of a part by "is" or "'s": "the liner's dry
// behind the piston".
func (s *span) isSo(at int) bool {
	if at == 0 || s.items[at].role != rules.SaysWell {
		return false
	}
	w, before := s.small[at-1], s.items[at-1]
	return before.role == rules.NamesThing && strings.HasSuffix(w, "'s") || at > 1 && (w == "is" || w == "are") && s.items[at-2].role == rules.NamesThing
}

// howMuch says whether a word for well says how much there is of something: "a good
// knock", "leaks pretty good".
func (s *span) howMuch(at int) bool {
	if s.items[at].to != s.items[at].from+1 || at == 0 || s.items[at-1].role != rules.SaysNothing {
		return false
	}
	return s.small[at-1] == "a" || s.small[at-1] == "pretty" || s.small[at-1] == "real"
}

// reaches says whether a denial of the span is said of the phrase: a word of the
// phrase stands behind it, or it stands last, as in "knock we hear none". "Hot, I
// cannot say why" denies no heat.
func (s *span) reaches(p *phrase) bool {
	for i, it := range s.items {
		if it.role != rules.SaysNot {
			continue
		}
		last := true
		for _, behind := range s.items[i+1:] {
			if behind.term >= 0 && slices.Contains(p.terms, behind.term) {
				return true
			}
			last = last && (behind.role == rules.SaysNothing || behind.role == rules.SaysAll || behind.role == rules.SaysRest || behind.placeLike())
		}
		if last {
			return true
		}
	}
	return false
}

// next gives the next item that is no filler, this way or that.
func (s *span) next(at, step int) int {
	for at += step; at >= 0 && at < len(s.items) && s.items[at].role == rules.SaysNothing; at += step {
	}
	return at
}

// trend gives the term of what two figures of one kind say: "from 2800 to 2400",
// "was 2800 now 2400" and "2400 should be 2800" fell, "2400 before and 2400 now"
// is well; -1 if there are no two.
func (l *Listener) trend(words []speech.Word, items []item) int {
	var figures []float64
	was := -1 // the figure that the other is held against
	moves := false
	ofPressure := slices.ContainsFunc(items, isPressure)
	for i, it := range items {
		w := words[it.from].Lower
		if swings[it.stem] {
			return -1 // "swings 10 to 45" neither rose nor fell
		}
		moves = moves || w == "from" || i > 0 && (w == "to" || w == "instead")
		if !it.isNumber || it.placeNumber || it.number < leastFigure || ofPressure && i+1 < len(items) && items[i+1].role == rules.SaysStrokes {
			continue
		}
		if heldAgainst(words, items, i) {
			was = len(figures)
		}
		figures = append(figures, it.number)
	}
	if len(figures) != 2 || was < 0 && !moves {
		return -1
	}
	now, before := figures[1], figures[0]
	if was == 1 {
		now, before = before, now
	}
	switch {
	case now == before || was >= 0 && max(now, before) < nearFigure*min(now, before):
		return l.well
	case now < before:
		return l.falls
	}
	return l.rises
}

// swings are the stems of words for a figure that goes between two.
var swings = map[string]bool{"swing": true, "swingin": true, "bounc": true, "bouncin": true, "jump": true, "jumpin": true, "flick": true, "between": true, "wander": true}

// isPressure says whether the item is a unit of pressure.
func isPressure(it item) bool { return it.role == rules.SaysPressure }

// normalFigure says whether a word for well only tells which figure is the normal one:
// "12 psi, normal 30".
func normalFigure(words []speech.Word, items []item, i int) bool {
	if w := words[items[i].from].Lower; !strings.HasPrefix(w, "normal") || !slices.ContainsFunc(items[:i], func(it item) bool { return it.isNumber && !it.placeNumber }) {
		return false
	}
	k := i + 1
	for k < len(items) && items[k].role == rules.SaysNothing && words[items[k].from].Break == 0 {
		k++
	}
	return k < len(items) && items[k].isNumber && !items[k].placeNumber && items[k].number >= leastFigure && words[items[k].from].Break == 0
}

// heldAgainst says whether a figure is told as what was or what should be.
func heldAgainst(words []speech.Word, items []item, i int) bool {
	if i+1 < len(items) && words[items[i+1].from].Lower == "before" {
		return true
	}
	for k := i - 1; k >= max(0, i-4) && !items[k].isNumber; k-- {
		for _, w := range words[items[k].from:items[k].to] {
			switch w.Lower {
			case "now", "to":
				return false
			case "from", "was", "were", "had", "used", "before", "normally", "normal", "normaly", "usually", "usual", "ought", "should", "shud", "supposed", "start", "yesterday", "morning", "against":
				return true
			}
		}
	}
	return false
}

// nearFigure is up to how many times the other a figure that is held against it is the
// same: "2750, was 2760".
const nearFigure = 1.015

// leastFigure is the least figure of which two say a trend.
const leastFigure = 10

// opened says whether somebody had something off, out, open or apart.
func opened(words []speech.Word, items []item) bool {
	had := false
	for _, it := range items {
		switch w := words[it.from].Lower; {
		case w == "had" || w == "was" || w == "were" || w == "took" || w == "taken" || w == "have" || w == "has":
			had = true
		case had && (w == "off" || w == "out" || w == "open" || w == "apart"):
			return true
		}
	}
	return false
}

func (s *span) put(l *Listener, term int, credit float64) {
	s.opposes = s.opposes || l.against[term] != nil
	if was, there := s.bag[term]; !there {
		s.weight += l.idf[term]
		s.bag[term] = credit
		s.order = append(s.order, term)
	} else if credit > was {
		s.bag[term] = credit
	}
}

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
		switch {
		case p.not && !s.not:
			h.score *= wrongDenial
		case s.not && !p.not:
			h.denied = !p.absent || s.notWell
		case s.not:
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
		if h.denied && s.not && !s.reaches(h.phrase) {
			h.denied = false
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
	case IsCheck:
		if s.unknown {
			out *= checkNotMade
		} else if s.looked {
			out *= checkLooked
		} else {
			out *= checkNotLooked
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
