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
	"and": true, "but": true, "or": true, "while": true, "when": true, "after": true, "since": true, "because": true, "cause": true, "coz": true, "cos": true, "then": true,
	"so": true, "with": true, "yet": true, "though": true, "although": true, "except": true, "plus": true, "also": true, "where": true, "until": true, "till": true, "before": true, "whereas": true, "now": true, "n": true, "nd": true, "cuz": true, "bc": true, "tho": true, "butt": true,
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
		joint := isJoint(words, it)
		if joint && w.Lower == "but" && i+1 < len(items) && (items[i+1].isNumber || words[items[i+1].from].Lower == "a") {
			if at := lastNot(last.items); at >= 0 { // "ain't making but six pounds" says only six
				last.items[at].role = rules.SaysNothing
				joint = false
			}
		}
		inRow := joint && i > 0 && i+1 < len(items) && items[i-1].placeLike() && items[i+1].placeLike() && words[items[i+1].from].Break == 0
		switch {
		case w.Break != 0 && (!row || w.Break == '.'), joint && !inRow:
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
	return slices.DeleteFunc(out, func(c clause) bool { return len(c.items) == 0 })
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
	return it.to == it.from+1 && joints[words[it.from].Lower]
}

// placeLike says whether the item names a place.
func (it *item) placeLike() bool {
	return it.placeNumber || it.placeName || it.role == rules.NamesPlace
}
