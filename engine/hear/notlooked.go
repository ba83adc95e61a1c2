package hear

import (
	"slices"

	"telltale/evidence/speech"
	"telltale/rules"
)

// notLooked finds what a denial is of where it is not of what the clause says:
// that nobody looked, "haven't felt the bearings", "never saw one like this", and
// "not much", which denies nothing.
func notLooked(words []speech.Word, items []item) {
	for i := range items {
		it := &items[i]
		if it.role == rules.SaysUnknown && words[it.to-1].Lower == "look" && i+1 < len(items) && words[items[i+1].from].Break == 0 && items[i+1].role == "" && items[i+1].term >= 0 && !lookedWhere[words[items[i+1].from].Lower] {
			it.role, it.same = rules.SaysNot, nil // "the rod did not look scored"
			continue
		}
		if it.role != rules.SaysNot {
			continue
		}
		k := i + 1
		for k < len(items) && items[k].role == rules.SaysNothing && !isSee[words[items[k].from].Lower] && words[items[k].from].Break == 0 {
			k++
		}
		if k >= len(items) || words[items[k].from].Break != 0 {
			continue
		}
		next := words[items[k].from].Lower
		switch {
		case items[k].role == rules.SaysLooked && !ofThing[behind(words, items, i)]:
			it.role = rules.SaysUnknown
		case isSee[next] && words[it.from].Lower == "never" && likeThis(words, items[k:]):
			it.role = rules.SaysNothing
		case isSee[next] && onlyNames(words, items, i):
			it.role = rules.SaysUnknown
		case (next == "much" || next == "many" || next == "lot" || next == "often") && endsHere(words, items, k):
			it.role, items[k].role = rules.SaysNothing, rules.SaysNothing
		}
	}
}

// lookedWhere are the words behind "look" that say where or for what.
var lookedWhere = map[string]bool{"whether": true, "if": true, "close": true, "closely": true, "inside": true, "behind": true, "under": true, "underneath": true, "into": true, "over": true, "up": true, "down": true, "round": true, "around": true, "properly": true, "again": true, "deeper": true, "further": true}

// isSee are the verbs of seeing that are small words.
var isSee = map[string]bool{"see": true, "saw": true, "seen": true, "look": true, "hear": true, "heard": true}

// ofThing are the verbs before a denial that are said of a part: "it does not feel
// hot".
var ofThing = map[string]bool{"does": true, "is": true}

// likeThis says whether the clause goes on "like this": "never saw one eat liners
// like this" says that it is there.
func likeThis(words []speech.Word, items []item) bool {
	for i, it := range items {
		w := words[it.from].Lower
		if i > 0 && words[it.from].Break == '.' {
			return false
		}
		if (w == "like" || w == "so" || w == "such") && (w != "like" || i+1 < len(items) && (words[items[i+1].from].Lower == "this" || words[items[i+1].from].Lower == "that")) || w == "worse" {
			return true
		}
	}
	return false
}

// onlyNames says whether the clause around an item names parts and says no more of
// them: "the liner I did not see".
func onlyNames(words []speech.Word, items []item, i int) bool {
	from, to := i, i+1
	for from > 0 && words[items[from].from].Break == 0 && !joints[words[items[from].from].Lower] {
		from--
	}
	for to < len(items) && words[items[to].from].Break == 0 && !joints[words[items[to].from].Lower] {
		to++
	}
	named := false
	for k, it := range items[from:to] {
		named = named || it.role == rules.NamesThing
		if from+k != i && it.role != rules.NamesThing && it.role != rules.SaysNothing && !it.placeLike() && words[it.from].Lower != "yet" && words[it.from].Lower != "pressure" && words[it.from].Lower != "level" {
			return false
		}
	}
	return named
}

// endsHere says whether a clause ends behind an item.
func endsHere(words []speech.Word, items []item, k int) bool {
	_, word := ahead(words, items, k)
	return word == "" || joints[word] || word == "just" || word == "only" || word == "like"
}

// excepted says whether the words behind the clauses take somebody or something out of what
// they deny: "no gas except a smell of eggs", "everybody clear but one". Behind other words
// "but" only goes on.
func (h *hearing) excepted(c cut) bool {
	for _, inside := range h.clauses[c.from+1 : c.to] {
		if exceptions[inside.joint] && h.deniesInPart(c) {
			return true
		}
	}
	if c.to >= len(h.clauses) || h.clauses[c.to].sentence != h.clauses[c.from].sentence {
		return false
	}
	switch joint := h.clauses[c.to].joint; {
	case joint == "except":
		return true
	case exceptions[joint]:
		return slices.ContainsFunc(h.itemsOf(c.from, c.to), func(it item) bool { return ofEverybody[h.words[it.from].Lower] })
	}
	return false
}

// exceptions are the joining words that may take something out.
var exceptions = map[string]bool{"except": true, "but": true, "butt": true}

// saidBefore says whether the words before a denial say whole, and for themselves, what is
// taken as denied: "smell of rotten eggs, no alarm yet".
func (h *hearing) saidBefore(items []item, best hit) bool {
	at := slices.IndexFunc(items, func(it item) bool { return it.role == rules.SaysNot })
	if at < 1 || isVerb[h.words[items[at-1].from].Lower] ||
		!slices.ContainsFunc(items[at:], func(it item) bool { return it.term >= 0 && slices.Contains(best.phrase.terms, it.term) }) {
		return false
	}
	before := h.l.hits(h.l.spanOf(h.words, items[:at], nil), h.ear)
	return len(before) > 0 && before[0].phrase.target == best.phrase.target && before[0].cover > 0.99 && !before[0].absent()
}

// ofEverybody are the words that are said of everybody or of nobody.
var ofEverybody = map[string]bool{"nobody": true, "everybody": true, "everyone": true, "all": true, "none": true, "no": true}

// longAgo says whether a clause tells what was long ago, and not since when it is so.
func longAgo(words []speech.Word, items []item) bool {
	ago := false
	for _, it := range items {
		ago = ago || it.same != nil && it.same.ID == "long-ago"
		switch words[it.from].Lower {
		case "since", "still", "now", "ever":
			return false
		}
	}
	return ago
}
