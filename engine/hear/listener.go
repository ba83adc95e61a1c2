package hear

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"strings"

	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/evidence/speech"
	"telltale/rules"
)

// Listener hears stories by the lexicon of one book. It is safe for several
// goroutines.
type Listener struct {
	book        *rules.Book
	cutter      speech.Cutter      // while the lexicon is read
	terms       map[string]int     // a concept's id or a word's stem
	concepts    []*rules.Sameness  // by term; nil for a plain stem
	many        map[string][]run   // words of several stems that are one concept, by the first stem, the longest first
	one         map[string]int     // concepts of one stem
	exact       map[string]int     // concepts by a word as it is written there
	words       map[byte][]spelled // words of the lexicon by their first letter, to find slips of
	learned     map[string]bool
	targets     []target
	phrases     []phrase
	byTerm      [][]int // phrases that a term stands in
	uses        [][]use // targets whose phrases have a term
	idf         []float64
	onPump      map[evidence.Action][]bool // targets that there are on a pump, by its action
	shown       map[string][]float64       // how often each cause shows a sign, of length one
	ofSign      map[string][]int           // phrases of a sign
	plain       map[int]bool               // terms that say of any sign that it is well
	ofKind      map[kindOf][]kindPhrase    // phrases that tell a kind from the others
	against     [][]int                    // by term: those that say the opposite
	pressure    int                        // terms of a figure with its unit
	lowPressure int                        // of one that is no discharge pressure
	strokes     int
	zero        int
	falls       int // concepts of a figure that fell and that rose; -1: the lexicon has none
	rises       int
	well        int             // the first concept that says that all is well; -1: none
	cylinder    int             // the concept that the number of a cylinder stands for; -1: none
	stopSigns   map[string]bool // signs on which a stop rests; true: raised by them alone
	has         map[saying]bool // the phrases as they are written
	under       *Listener       // of the built-in book beneath a local one; nil: there is none
}

// run is a concept of several words.
type run struct {
	stems []string
	term  int
	many  bool // it ends in a plural: "the outside ones" are both, "the outside one" is one of them
}

// use is how much a target's phrases use a term, from 0 to 1.
type use struct {
	target int
	share  float64
}

type spelled struct {
	lower string
	stem  string
}

// target is what a phrase says.
type target struct {
	is   Is
	id   string
	sign *rules.Sign
	when *rules.Condition
}

// phrase is one phrase of the lexicon as terms.
type phrase struct {
	target int
	kind   string
	absent bool
	not    bool // it holds a denial itself
	title  bool // the book's own title: less telling than how crews say it
	made   bool // a word of it says that somebody looked or did something
	failed bool // a word of it says that something failed
	terms  []int
	things []int   // those of them that name parts
	wells  []int   // those that say that all is well
	weight float64 // sum of the idf of its terms
	text   string
	pos    source.Pos
}

// saying is a phrase as it is written, with what it says.
type saying struct {
	id, text string
	absent   bool
}

func (p *phrase) saying(l *Listener) saying { return saying{l.targets[p.target].id, p.text, p.absent} }

// item is a word, or some that are one concept, of a text.
type item struct {
	term        int // -1: not in the lexicon
	role        rules.WordRole
	same        *rules.Sameness
	from, to    int // words of the text; to is behind the last
	slip        bool
	stem        string
	number      float64
	isNumber    bool
	placeNumber bool   // the number names a cylinder
	end         string // and this end of it: "2h"
	placeName   bool   // "number" before it
	all         bool   // the number is that of all cylinders
}

// New makes the listener of a book.
func New(book *rules.Book) *Listener {
	l := &Listener{cutter: speech.Cutter{}, book: book, terms: map[string]int{}, many: map[string][]run{}, one: map[string]int{}, exact: map[string]int{}, words: map[byte][]spelled{}, learned: map[string]bool{}, ofSign: map[string][]int{}, has: map[saying]bool{}, stopSigns: stopSigns(book)}
	if book.Under != nil {
		l.under = New(book.Under)
	}
	for _, s := range book.SameWords.List {
		term := l.term("=" + s.ID)
		l.concepts[term] = s
		for _, text := range s.Words {
			words := l.cutter.Words(text)
			l.learn(words)
			switch stems := stemsOf(words); len(stems) {
			case 0:
			case 1:
				if _, taken := l.exact[words[0].Lower]; !taken {
					l.exact[words[0].Lower] = term
				}
				if _, taken := l.one[stems[0]]; !taken {
					l.one[stems[0]] = term
				}
			default:
				l.many[stems[0]] = append(l.many[stems[0]], run{stems, term, plural(words[len(words)-1])})
			}
		}
	}
	for first := range l.many {
		slices.SortStableFunc(l.many[first], func(a, b run) int { return cmp.Compare(len(b.stems), len(a.stems)) })
	}
	l.falls, l.rises, l.cylinder, l.well = -1, -1, -1, -1
	for _, s := range book.SameWords.List {
		if s.Numbered {
			l.cylinder = l.term("=" + s.ID)
		}
		switch s.As {
		case rules.SaysFalls:
			l.falls = l.term("=" + s.ID)
		case rules.SaysRises:
			l.rises = l.term("=" + s.ID)
		case rules.SaysWell:
			if l.well < 0 {
				l.well = l.term("=" + s.ID)
			}
		}
	}
	against := map[int][]int{}
	for _, s := range book.SameWords.List {
		for _, other := range s.Against {
			a, b := l.term("="+s.ID), l.term("="+other)
			against[a], against[b] = append(against[a], b), append(against[b], a)
		}
	}
	l.pressure, l.lowPressure = l.term("=a figure of pressure"), l.term("=a low figure of pressure")
	l.strokes, l.zero = l.term("=a figure of strokes"), l.term("=nought")
	for _, s := range book.Signs.List {
		if s.Reckoned {
			continue
		}
		t := len(l.targets)
		l.targets = append(l.targets, target{is: IsSign, id: s.ID, sign: s, when: s.When})
		l.add(phrase{target: t, title: true}, s.Title)
		for _, k := range s.Kinds {
			l.add(phrase{target: t, kind: k.ID, title: true}, s.Title+" "+k.Title)
		}
		if said := book.SaidOfSigns.Get(s.ID); said != nil {
			l.addAll(phrase{target: t}, said.Present)
			l.addAll(phrase{target: t, absent: true}, said.Absent)
			for _, k := range said.Kinds {
				l.addAll(phrase{target: t, kind: k.Kind}, k.Phrases)
			}
		}
	}
	for _, w := range book.Works.List {
		l.addPlain(target{is: IsWork, id: w.ID}, w.Title, book.SaidOfWorks.Get(w.ID))
	}
	for _, c := range book.Checks.List {
		l.addPlain(target{is: IsCheck, id: c.ID, when: c.When}, c.Title, book.SaidOfChecks.Get(c.ID))
	}
	l.cutter = nil // what is heard is not kept
	l.against = make([][]int, len(l.concepts))
	for t, others := range against {
		l.against[t] = others
	}
	l.weigh()
	l.ofKind = l.kindPhrases(book.Signs.List)
	l.shown = shownBy(book)
	l.onPump = map[evidence.Action][]bool{}
	for _, name := range evidence.Actions() {
		pump := evidence.Pump{Layout: evidence.Layout{Action: evidence.Action(name), Cylinders: evidence.DefaultCylinders(evidence.Action(name))}}
		there := make([]bool, len(l.targets))
		for i, t := range l.targets {
			there[i] = t.when.HoldsForPump(&pump)
		}
		l.onPump[pump.Action] = there
	}
	return l
}

func (l *Listener) addPlain(t target, title string, said *rules.Said) {
	l.targets = append(l.targets, t)
	at := len(l.targets) - 1
	l.add(phrase{target: at, title: true}, title)
	if said != nil {
		l.addAll(phrase{target: at}, said.Present)
	}
}

func (l *Listener) addAll(as phrase, phrases []rules.Phrase) {
	for _, p := range phrases {
		as.pos = p.Pos
		l.add(as, p.Text)
	}
}

// term gives the number of a term, a new one if it has none.
func (l *Listener) term(name string) int {
	n, ok := l.terms[name]
	if !ok {
		n = len(l.concepts)
		l.terms[name] = n
		l.concepts = append(l.concepts, nil)
	}
	return n
}

// add takes a phrase into the lexicon.
func (l *Listener) add(p phrase, text string) {
	words := l.cutter.Words(text)
	l.learn(words)
	items := l.items(words, true)
	for i, it := range items {
		term := it.term
		switch {
		case it.role == rules.SaysNot:
			p.not = true
			continue
		case isUnit(items, i):
			continue
		case it.isNumber && it.number == 0:
			term = l.zero
		case it.isNumber && i+1 < len(items) && items[i+1].role == rules.SaysPressure:
			term = l.pressureTerm(words, items, i)
		case it.isNumber && i+1 < len(items) && items[i+1].role == rules.SaysStrokes:
			term = l.strokes
		case it.role == rules.SaysNothing, it.term < 0, it.role == rules.NamesPlace, it.isNumber:
			continue
		}
		if !slices.Contains(p.terms, term) {
			p.terms = append(p.terms, term)
			if it.role == rules.NamesThing {
				p.things = append(p.things, term)
			}
			if same := l.concepts[term]; same != nil && same.As == rules.SaysWell {
				p.wells = append(p.wells, term)
			}
			p.failed = p.failed || it.failure()
			p.made = p.made || it.role == rules.SaysLooked || it.role == rules.SaysDone
		}
	}
	if !slices.ContainsFunc(p.terms, l.says) {
		return // figures and small words alone say nothing
	}
	p.text = text
	l.has[p.saying(l)] = true
	if t := l.targets[p.target]; t.is == IsSign {
		l.ofSign[t.id] = append(l.ofSign[t.id], len(l.phrases))
	}
	l.phrases = append(l.phrases, p)
}

// isUnit says whether the item is the unit of the number before it.
func isUnit(items []item, i int) bool {
	return i > 0 && items[i-1].isNumber && (items[i].role == rules.SaysPressure || items[i].role == rules.SaysStrokes)
}

// says whether a term says something by itself: a figure, or that something was
// done or looked at, does not.
func (l *Listener) says(term int) bool {
	if term == l.pressure || term == l.lowPressure || term == l.strokes || term == l.zero {
		return false
	}
	same := l.concepts[term]
	return same == nil || same.As != rules.SaysDone && same.As != rules.SaysLooked && same.As != rules.SaysPressure && same.As != rules.SaysStrokes && same.As != rules.SaysOnly && same.As != rules.SaysAll
}

// learn takes the words of a text among those that a slip may have meant.
func (l *Listener) learn(words []speech.Word) {
	for _, w := range words {
		if len(w.Lower) < 4 || w.IsNumber {
			continue
		}
		if !l.learned[w.Lower] {
			l.learned[w.Lower] = true
			l.words[w.Lower[0]] = append(l.words[w.Lower[0]], spelled{w.Lower, w.Stem})
		}
	}
}

// weigh gives every term its weight: the fewer targets it speaks of, the more
// it says.
func (l *Listener) weigh() {
	speaks, well := make([]map[int]bool, len(l.concepts)), make([]map[int]bool, len(l.concepts))
	l.byTerm = make([][]int, len(l.concepts))
	for i, p := range l.phrases {
		for _, t := range p.terms {
			if speaks[t] == nil {
				speaks[t] = map[int]bool{}
			}
			speaks[t][p.target] = true
			if same := l.concepts[t]; p.absent && same != nil && same.As == rules.SaysWell {
				if well[t] == nil {
					well[t] = map[int]bool{}
				}
				well[t][p.target] = true
			}
			l.byTerm[t] = append(l.byTerm[t], i)
		}
	}
	l.plain = map[int]bool{}
	for t := range well {
		l.plain[t] = len(well[t]) >= plainFrom
	}
	l.idf = make([]float64, len(l.concepts))
	l.uses = make([][]use, len(l.concepts))
	for t, ps := range l.byTerm {
		n := map[int]float64{}
		for _, p := range ps {
			n[l.phrases[p].target]++
		}
		for _, target := range slices.Sorted(maps.Keys(n)) {
			l.uses[t] = append(l.uses[t], use{target, n[target] / (n[target] + halfUsed)})
		}
	}
	n := float64(len(l.targets))
	for t := range l.idf {
		l.idf[t] = math.Log(1 + n/(1+float64(len(speaks[t]))))
	}
	for _, t := range []int{l.pressure, l.lowPressure, l.strokes} {
		l.idf[t] = min(l.idf[t], figureWeight)
	}
	for i := range l.phrases {
		for _, t := range l.phrases[i].terms {
			l.phrases[i].weight += l.idf[t]
		}
	}
}

// plainFrom is from how many signs on of which a word says that they are well it
// says so of any: "fine" does, "dry" does not.
const plainFrom = 40

func stemsOf(words []speech.Word) []string {
	var out []string
	for _, w := range words {
		out = append(out, plainStem(w))
	}
	return out
}

// items gives what the words are in the lexicon. With teach, words that it does
// not have become terms of it.
func (l *Listener) items(words []speech.Word, teach bool) []item {
	var out []item
	for at := 0; at < len(words); {
		it := l.itemAt(words, at, teach)
		out = append(out, it)
		at = it.to
	}
	l.sides(words, out, teach)
	if !teach {
		notLooked(words, out)
	}
	return out
}

func (l *Listener) itemAt(words []speech.Word, at int, teach bool) item {
	w := words[at]
	stem := plainStem(w)
	it := item{term: -1, from: at, to: at + 1, stem: stem}
	for _, r := range l.many[stem] {
		if fits(words[at:], r.stems) && (r.many == plural(words[at+len(r.stems)-1]) || !l.concepts[r.term].OfSeveral()) {
			it.to = at + len(r.stems)
			if same := l.concepts[r.term]; same != nil && same.As == rules.NamesPlace && l.itemAt(words, at+1, false).role == rules.NamesThing {
				it.to = at + 1 // "right liner" names the liner too
			}
			return l.asConcept(it, r.term)
		}
	}
	if w.IsNumber {
		it.isNumber, it.number = true, w.Number
		return it
	}
	if w.Lower == "no" && at+1 < len(words) && words[at+1].IsNumber && words[at+1].Break == 0 { // "no 2"
		it.role = rules.SaysNothing
		return it
	}
	t, ok := l.exact[w.Lower]
	if !ok {
		t, ok = l.one[stem]
	}
	if ok {
		it = l.asConcept(it, t)
		if it.role == rules.SaysGuess && figureAt(words, at+1) {
			it.role = rules.SaysNothing // "maybe a hundred"
		}
		return it
	}
	if t, ok := l.terms[stem]; ok {
		it.term = t
		return it
	}
	if teach {
		it.term = l.term(stem)
		return it
	}
	if meant := l.meant(w.Lower); meant != "" {
		t, ok := l.one[meant]
		if !ok {
			t, ok = l.terms[meant]
		}
		if slip := l.asConcept(it, t); ok && slip.role != rules.SaysNothing { // no word is a slip of a small one
			slip.slip = true
			return slip
		}
	}
	return it
}

// plural says whether a word has the ending of a plural.
func plural(w speech.Word) bool {
	return len(w.Lower) > 3 && strings.HasSuffix(w.Lower, "s") && !strings.HasSuffix(w.Lower, "ss")
}

// figureAt says whether a figure that is no cylinder's stands there, with or
// without "a" before it.
func figureAt(words []speech.Word, at int) bool {
	if at < len(words) && words[at].Lower == "a" {
		at++
	}
	return at < len(words) && words[at].IsNumber && (words[at].Number >= leastFigure || at+1 < len(words) && words[at+1].IsNumber)
}

func (l *Listener) asConcept(it item, term int) item {
	it.term, it.same = term, l.concepts[term]
	if it.same != nil {
		it.role = it.same.As
	}
	if it.role == rules.SaysSame && l.well >= 0 {
		it.term = l.well // what is as it was is well in every phrase that says so
	}
	return it
}

// fits says whether the words begin with these stems, without a stop between.
func fits(words []speech.Word, stems []string) bool {
	if len(words) < len(stems) {
		return false
	}
	for i, s := range stems {
		if plainStem(words[i]) != s || i > 0 && words[i].Break != 0 {
			return false
		}
	}
	return true
}

// plainStem is the stem of a word; of a number in letters that of the word, since
// "one" may be a part of a name.
func plainStem(w speech.Word) string {
	if w.InLetters {
		return speech.Stem(w.Lower)
	}
	return w.Stem
}

// told joins words of the story as they were said.
func told(text string, words []speech.Word, from, to int) string {
	if from >= to {
		return ""
	}
	return strings.TrimSpace(text[words[from].Start:words[to-1].End])
}
