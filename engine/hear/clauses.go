package hear

import (
	"slices"

	"telltale/evidence/speech"
	"telltale/rules"
)

// clause is a piece of a story between two stops or joining words.
type clause struct {
	items    []item
	sentence int
	joint    string // the word that joins it to the one before, "" if none
}

// joints are the words that part clauses.
var joints = map[string]bool{
	"and": true, "but": true, "or": true, "while": true, "when": true, "wen": true, "after": true, "since": true, "because": true, "cause": true, "coz": true, "cos": true, "then": true,
	"so": true, "with": true, "yet": true, "though": true, "although": true, "except": true, "plus": true, "also": true, "where": true, "until": true, "till": true, "before": true, "whereas": true, "nor": true, "now": true, "n": true, "nd": true, "cuz": true, "bc": true, "tho": true, "butt": true,
}

// clausesOf cuts the story. Places in a row ("1, 2 and 3") stay together.
func (l *Listener) clausesOf(words []speech.Word, items []item) []clause {
	out := []clause{{}}
	sentence := 0
	for i, it := range items {
		w := words[it.from]
		last := &out[len(out)-1]
		row := i > 0 && it.placeLike() && (items[i-1].placeLike() || i > 1 && isJoint(words, items[i-1]) && items[i-2].placeLike())
		if w.Break == '.' {
			sentence++
		}
		joint := isJoint(words, it) && !tellsWhen(words, items, i) || stillAfterWork(words, last.items, it) || anotherPlace(words, items, i, last.items) || turnsOver(words, items, i, last.items)
		if joint && w.Lower == "and" && figuresOn(last.items, items, i) {
			joint = false
		}
		if joint && w.Lower == "but" && i+1 < len(items) && (items[i+1].isNumber || words[items[i+1].from].Lower == "a") {
			if at := lastNot(last.items); at >= 0 { // "ain't making but six pounds" says only six
				last.items[at].role = rules.SaysNothing
				joint = false
			}
		}
		inRow := joint && i > 0 && items[i-1].placeLike() && (i+1 < len(items) && items[i+1].placeLike() && words[items[i+1].from].Break == 0 || placeEnds(words, items, i+1))
		switch {
		case w.Break != 0 && (!row || w.Break == '.' || saidOf(words, items, i, last.items)), joint && !inRow:
			if len(last.items) > 0 {
				out = append(out, clause{sentence: sentence})
				last = &out[len(out)-1]
			}
			last.sentence = sentence
			if joint {
				last.joint = w.Lower
			}
		}
		last.items = append(last.items, it)
	}
	out = slices.DeleteFunc(out, func(c clause) bool { return len(c.items) == 0 })
	out = headed(words, out)
	reachOn(words, out)
	return out
}

// headed puts a place or a part that heads a sentence to the clause that it heads:
// "Cyl 2: liner hot, nozzle blocked", "dampener: not checked".
func headed(words []speech.Word, clauses []clause) []clause {
	placed := func(c clause) bool { return slices.ContainsFunc(c.items, func(it item) bool { return it.placeLike() }) }
	for i := 0; i+1 < len(clauses); i++ {
		c, next := clauses[i], &clauses[i+1]
		begins := i == 0 || clauses[i-1].sentence != c.sentence
		if !begins || next.sentence != c.sentence || next.joint != "" || statesItself(words, c.items) {
			continue
		}
		switch {
		case placed(c) && saysOnlyWhere(c.items) && !placed(*next):
		case onlyThings(c.items) && !names(next.items): // "dampener: not checked"
		default:
			continue
		}
		next.items, next.joint = slices.Concat(c.items, next.items), c.joint
		clauses = slices.Delete(clauses, i, i+1)
	}
	return clauses
}

// saidOf says whether a place begins a statement of its own behind words that were
// said of another: "nothing from 1, 3 drips", not "1, 2 and 3 drip".
func saidOf(words []speech.Word, items []item, i int, before []item) bool {
	if !slices.ContainsFunc(before, func(b item) bool { return !b.placeLike() && b.role != rules.SaysNothing }) {
		return false
	}
	for i < len(items) && items[i].placeLike() && (words[items[i].from].Break == 0 || items[i].placeName || items[i].placeNumber) {
		i++
		if i < len(items) && words[items[i].from].Break != 0 {
			return false
		}
	}
	return i < len(items) && !joints[words[items[i].from].Lower]
}

// placeEnds says whether a place, behind a small word or two, ends the clause: "on
// the left and the right".
func placeEnds(words []speech.Word, items []item, i int) bool {
	for k := i; k < min(i+3, len(items)) && words[items[k].from].Break == 0; k++ {
		if items[k].placeLike() {
			return k+1 >= len(items) || words[items[k+1].from].Break != 0
		}
		if items[k].role != rules.SaysNothing || isVerb[words[items[k].from].Lower] {
			return false
		}
	}
	return false
}

// tellsWhen says whether "before" or "now" only tells when a figure was read, and
// parts nothing: "2400 before and 2400 now", "before is 45 psi".
func tellsWhen(words []speech.Word, items []item, i int) bool {
	if w := words[items[i].from].Lower; w != "before" && w != "now" {
		return false
	}
	next, word := ahead(words, items, i)
	if w := words[items[i].from].Lower; w == "now" && i > 0 && words[items[i].from].Break == 0 {
		return next == nil
	}
	return next == nil || joints[word] || isVerb[word] || word == "on" || word == "at" || next.isNumber && !next.placeNumber
}

// figuresOn says whether "and" goes on with a second figure: "2400 before and 2400
// now", "between 2600 and 2900".
func figuresOn(before, items []item, i int) bool {
	figure := func(it item) bool { return it.isNumber && !it.placeNumber && it.number >= leastFigure }
	return i+1 < len(items) && figure(items[i+1]) && slices.ContainsFunc(before, figure)
}

// anotherPlace says whether a place, or the rest, begins what is said of it behind
// words that were said of another: "left hisses the rest is quiet".
func anotherPlace(words []speech.Word, items []item, i int, before []item) bool {
	it := items[i]
	if it.role != rules.SaysRest && !it.placeLike() || it.placeName || i == 0 || items[i-1].placeLike() {
		return false
	}
	next, word := ahead(words, items, i)
	if next == nil || !isVerb[word] || word == "got" || word == "gets" {
		return false
	}
	switch behind(words, items, i) {
	case "on", "at", "of", "in", "from", "than", "like", "as", "and", "or", "to", "only", "number", "no", "cylinder", "over", "under", "the", "but", "not":
		return false
	}
	return slices.ContainsFunc(before, func(b item) bool { return b.role == "" && b.term >= 0 }) && slices.ContainsFunc(before, func(b item) bool { return b.placeLike() })
}

// stillAfterWork says whether "still" begins what showed after the work that was
// told just before it: "changed the seal still leaks".
func stillAfterWork(words []speech.Word, before []item, it item) bool {
	return words[it.from].Lower == "still" && it.to == it.from+1 && slices.ContainsFunc(before, func(b item) bool { return b.role == rules.SaysDone })
}

// turnsOver says whether words begin another statement behind one that is whole, without a
// word between: "all good no leaks", "pulled the valves nothing wrong", "counter good
// checked it with a watch".
func turnsOver(words []speech.Word, items []item, i int, before []item) bool {
	it := items[i]
	if len(before) == 0 || words[it.from].Break != 0 || items[i-1].role == rules.SaysNothing {
		return false
	}
	has := func(roles ...rules.WordRole) bool {
		return slices.ContainsFunc(before, func(b item) bool { return slices.Contains(roles, b.role) })
	}
	says := slices.ContainsFunc(before, func(b item) bool { return b.role == rules.NamesThing || b.role == "" && b.term >= 0 })
	switch it.role {
	case rules.SaysNot:
		return says && has(rules.SaysWell, rules.SaysDone, rules.SaysLooked) && !has(rules.SaysNot)
	case rules.SaysLooked, rules.SaysDone:
		return says && has(rules.SaysWell, rules.SaysNot) && items[i-1].role != rules.SaysNot && !has(rules.SaysLooked, rules.SaysDone)
	}
	return false
}

// reachOn lets a denial, and that nobody looked, reach over the list that follows:
// "no knock or hiss", "haven't looked at the liners, the pistons or the valves".
func reachOn(words []speech.Word, clauses []clause) {
	denies := 0 // the clause that may deny the next: the last that denies or states itself
	for i := 1; i < len(clauses); i++ {
		c, from := &clauses[i], denies
		if clauses[i-1].sentence != c.sentence {
			from = i - 1
		}
		states := statesItself(words, c.items)
		role := polar(clauses[from].items)
		list := c.joint == "or" || c.joint == "nor"
		if !states && clauses[from].sentence == c.sentence && role != "" && (list || role == rules.SaysUnknown && (c.joint == "and" || c.joint == "n" || c.joint == "") && onlyThings(c.items)) {
			for k := from + 1; k <= i; k++ {
				if polar(clauses[k].items) == "" {
					at := clauses[k].items[0].from
					clauses[k].items = slices.Insert(clauses[k].items, 0, item{term: -1, role: role, from: at, to: at})
				}
			}
		}
		denies = from
		if states || polar(c.items) != "" {
			denies = i
		}
	}
}

// polar gives what the clause says of all of it: that it is denied, or that nobody
// knows; "" if neither.
func polar(items []item) rules.WordRole {
	for _, it := range items {
		if it.role == rules.SaysNot || it.role == rules.SaysUnknown {
			return it.role
		}
	}
	return ""
}

// statesItself says whether a clause has a verb or a word of its own for how it is.
func statesItself(words []speech.Word, items []item) bool {
	return slices.ContainsFunc(items, func(it item) bool {
		w := words[it.from].Lower
		return it.from < it.to && (isVerb[w] || it.role == rules.SaysNot || it.role == rules.SaysUnknown || it.role == rules.SaysWell || it.role == rules.SaysDone || it.role == rules.SaysLooked || it.role == rules.SaysGuess || w == "it" || w == "she" || w == "they" || w == "still" || w == "just" || w == "only")
	})
}

// onlyThings says whether a clause names parts and says no more.
func onlyThings(items []item) bool {
	return names(items) && !slices.ContainsFunc(items, func(it item) bool {
		return it.role != rules.NamesThing && it.role != rules.SaysNothing && !it.placeLike()
	})
}

func lastNot(items []item) int {
	for i := len(items) - 1; i >= 0; i-- {
		if items[i].role == rules.SaysNot {
			return i
		}
	}
	return -1
}

func isJoint(words []speech.Word, it item) bool {
	return it.to == it.from+1 && joints[words[it.from].Lower] && !it.placeName
}

// placeLike says whether the item names a place.
func (it *item) placeLike() bool {
	return it.placeNumber || it.placeName || it.role == rules.NamesPlace
}
