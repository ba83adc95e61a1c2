package hear

import (
	"fmt"
	"slices"

	"telltale/evidence/source"
	"telltale/rules"
)

// Vet looks through the lexicon of a book: signs, works and checks that no phrase
// says, and phrases that say the same of two of them once small words are gone and
// words that mean the same are one.
func Vet(book *rules.Book) []rules.Remark {
	var out []rules.Remark
	unsaid := func(id string, pos source.Pos, said *rules.Said) {
		if said == nil || len(said.Present) == 0 && len(said.Kinds) == 0 {
			out = append(out, rules.Remark{Pos: pos, Kind: rules.Unsaid, Of: []string{id}, Message: fmt.Sprintf("no phrase says how a crew tells of %s", id)})
		}
	}
	for _, s := range book.Signs.List {
		if !s.Reckoned {
			unsaid(s.ID, s.Pos, book.SaidOfSigns.Get(s.ID))
		}
	}
	for _, w := range book.Works.List {
		unsaid(w.ID, w.Pos, book.SaidOfWorks.Get(w.ID))
	}
	for _, c := range book.Checks.List {
		unsaid(c.ID, c.Pos, book.SaidOfChecks.Get(c.ID))
	}
	l := New(book)
	return append(append(out, l.claimedTwice()...), l.againstDanger()...)
}

// claimedTwice finds phrases that two targets have. Targets that are never on one
// pump, and a sign with its own kinds, may share them.
func (l *Listener) claimedTwice() []rules.Remark {
	var out []rules.Remark
	first := map[string][]*phrase{}
	told := map[[2]int]bool{}
	for i := range l.phrases {
		p := &l.phrases[i]
		if p.title {
			continue
		}
		terms := slices.Sorted(slices.Values(p.terms))
		key := fmt.Sprint(terms, p.not, p.absent)
		if slices.ContainsFunc(first[key], func(other *phrase) bool { return other.target == p.target }) {
			continue // what it shares with others was told of the first
		}
		for _, other := range first[key] {
			pair := [2]int{other.target, p.target}
			a, b := l.targets[other.target], l.targets[p.target]
			if told[pair] || a.is != b.is || !l.onOnePump(other.target, p.target) {
				continue
			}
			told[pair] = true
			out = append(out, rules.Remark{Pos: p.pos, Kind: rules.SaidTwice, Of: []string{a.id, b.id},
				Message: fmt.Sprintf("%q says the same as %q of %s (%s)", p.text, other.text, a.id, other.pos)})
		}
		first[key] = append(first[key], p)
	}
	return out
}

// onOnePump says whether two targets can be on the same pump.
func (l *Listener) onOnePump(a, b int) bool {
	for _, there := range l.onPump {
		if there[a] && there[b] {
			return true
		}
	}
	return false
}
