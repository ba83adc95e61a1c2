package hear

import (
	"slices"
	"strings"

	"telltale/evidence/speech"
	"telltale/rules"
)

// span is some clauses taken together.
type span struct {
	items   []item
	bag     map[int]float64 // terms with their credit
	order   []int           // the terms as they come, so that sums are the same each time
	weight  float64         // of all that carries meaning
	not     bool
	goesOn  []int // terms of an end that is denied: "does not stop"
	well    []int // items that say that all is well
	things  int   // parts that are named
	gone    []int // terms that say that it ended
	done    bool
	looked  bool
	unknown bool // nobody looked
	failed  bool // a word says that something is cracked, broken, loose or burst
	notWell bool // it is denied that all is well
	nothing bool // the denial is "nothing"
	opposes bool // a word has an opposite
	plain   map[int]bool
	small   []string // the first word of each item
}

// failure says whether the item says that a part failed.
func (it *item) failure() bool { return it.same != nil && isFailure[it.same.ID] }

var isFailure = map[string]bool{"cracked": true, "broken": true, "loose": true, "burst": true}

// isEnding are the words for an end. Who denies one says that it is there: "does not stop
// weeping".
var isEnding = map[string]bool{"stop": true, "fade": true, "let-up": true}

// endDenied gives the term of an end that a denial is of; -1 if it is of something else.
func endDenied(words []speech.Word, items []item, i int) int {
	for _, it := range items[i+1:] {
		switch {
		case words[it.from].Break != 0:
			return -1
		case it.same != nil && isEnding[it.same.ID]:
			return it.term
		case it.role != rules.SaysNothing:
			return -1
		}
	}
	return -1
}

// saysOfEnd says whether the phrase speaks of an end that the span denies.
func (s *span) saysOfEnd(p *phrase) bool {
	return slices.ContainsFunc(s.goesOn, func(t int) bool { return slices.Contains(p.terms, t) })
}

// onlyPump says whether a phrase says of the pump, and of nothing else, that it came to an
// end: "we stopped the pump".
func (l *Listener) onlyPump(p *phrase) bool {
	return !slices.ContainsFunc(p.terms, func(t int) bool {
		same := l.concepts[t]
		return same == nil || same.ID != "pump" && !isEnding[same.ID]
	})
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
			if end := endDenied(words, items, i); end >= 0 {
				s.goesOn = append(s.goesOn, end)
				continue
			}
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
		s.failed = s.failed || it.failure()
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
