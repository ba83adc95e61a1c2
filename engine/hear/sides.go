package hear

import (
	"slices"
	"strings"

	"telltale/evidence/speech"
	"telltale/rules"
)

// sides takes "left" and "right" as places only where they are meant so: "left"
// is what somebody did too, and "right" says that all is well. A phrase of the
// lexicon names no side: its "right" is the right one.
func (l *Listener) sides(words []speech.Word, items []item, teach bool) {
	for i := range items {
		it := &items[i]
		if it.role != rules.NamesPlace || it.to != it.from+1 && !countsThem(words, items, i) {
			continue
		}
		w := words[it.from].Lower
		if it.to != it.from+1 {
			w = ""
		}
		if w == "left" && !leftIsVerb(words, items, i) || w == "right" && !teach && rightIsSide(words, items, i) || w != "left" && w != "right" && w != "" {
			continue
		}
		it.role, it.same, it.term = "", nil, -1
		if t, ok := l.terms[it.stem]; ok {
			it.term = t
		} else if teach {
			it.term = l.term(it.stem)
		}
	}
}

// countsThem says whether "third one" tells how many there were: "third one this
// month".
func countsThem(words []speech.Word, items []item, i int) bool {
	if words[items[i].to-1].Lower != "one" {
		return false
	}
	switch words[items[i].from].Lower {
	case "first", "second", "third":
		_, word := ahead(words, items, i)
		return word == "this" || word == "in" || word == "since" || word == "already" || word == "now" || word == "last"
	}
	return false
}

// behind and ahead give the word beside an item, "" behind a stop.
func behind(words []speech.Word, items []item, i int) string {
	if i == 0 || words[items[i].from].Break != 0 {
		return ""
	}
	return words[items[i-1].to-1].Lower
}

func ahead(words []speech.Word, items []item, i int) (*item, string) {
	if i+1 >= len(items) || words[items[i+1].from].Break != 0 {
		return nil, ""
	}
	return &items[i+1], words[items[i+1].from].Lower
}

// leftIsVerb says whether "left" is what somebody did or what remains: "we left it
// open", "a little hiss left".
func leftIsVerb(words []speech.Word, items []item, i int) bool {
	switch behind(words, items, i) {
	case "i", "we", "they", "he", "she", "who", "you", "had", "was", "been", "got", "somebody", "someone", "driller":
		return true
	}
	next, word := ahead(words, items, i)
	switch word {
	case "it", "her", "him", "us", "them", "the", "a", "his", "my", "our", "out", "over", "to", "behind", "without", "nothing":
		return true
	}
	if next != nil && word != "on" && word != "in" && word != "at" {
		return false
	}
	for k := i - 1; k >= 0 && words[items[k+1].from].Break == 0; k-- { // how much is left
		switch words[items[k].from].Lower {
		case "little", "much", "bit", "any", "some", "nothing", "what", "half", "few", "lot", "hardly", "no", "enough", "none":
			return k < i-1 || words[items[k].from].Lower != "no"
		case "the", "on", "of":
			return false
		}
	}
	return false
}

// rightIsSide says whether "right" names a side: "on right", "right leaks", "right
// liner", "left and right", not "right after", "it sounds right".
func rightIsSide(words []speech.Word, items []item, i int) bool {
	next, word := ahead(words, items, i)
	before := behind(words, items, i)
	isSide := func(k int) bool { return k >= 0 && k < len(items) && items[k].role == rules.NamesPlace }
	if (before == "and" || before == "or" || before == "from") && isSide(i-2) || (word == "and" || word == "or" || word == "is") && isSide(i+2) || isSide(i-1) || isSide(i+1) {
		return true
	}
	switch before {
	case "not", "is", "all", "sounds", "looks", "look", "sound", "it", "are", "was", "runs", "just", "ok", "so":
		return false
	}
	verb := next != nil && (next.role == rules.SaysNothing && isVerb[word] || next.role == rules.SaysWell || next.role == rules.SaysNot || next.role == rules.SaysOnly || next.role == rules.SaysUnknown)
	moves := next != nil && next.role == "" && (strings.HasSuffix(word, "s") || strings.HasSuffix(word, "ing") || strings.HasSuffix(word, "in") && len(word) > 4)
	part := next != nil && next.role == rules.NamesThing && next.same.ID != "pump"
	switch before {
	case "on", "of", "at", "from", "under", "only", "but":
		return next == nil || verb || moves || part || joints[word]
	case "the", "our":
		return next == nil && i > 0 || verb || moves || part
	case "", "and", "while", "where":
		heads := next == nil && i+1 < len(items) && (words[items[i+1].from].Break == '-' || words[items[i+1].from].Break == ',' && tellsLeft(items))
		return verb || moves || part || heads
	}
	return part
}

// tellsLeft says whether the other side is told too: "left: dry. Right: leaks".
func tellsLeft(items []item) bool {
	return slices.ContainsFunc(items, func(it item) bool { return it.role == rules.NamesPlace && it.stem == "left" })
}

// isVerb are small verbs that may follow the side that they are said of.
var isVerb = map[string]bool{"is": true, "are": true, "was": true, "has": true, "had": true, "does": true, "did": true, "will": true, "got": true, "gets": true, "seems": true, "can": true, "do": true}
