package prove

import (
	"fmt"
	"slices"
	"strings"

	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// Story is what somebody told, with what must come of it.
type Story struct {
	ID      string
	Pos     source.Pos
	Set     string
	Layout  evidence.Layout
	Told    string
	Meaning []Meaning
}

// The sets of stories: phrases and rules of hearing were made with sight of it;
// it was held back from those; it was told by others without sight of the
// lexicon, and nothing was changed after it was heard.
const (
	Tuned    = "tuned"
	HeldBack = "held-back"
	Apart    = "apart"
)

// Sets are the sets of stories.
func Sets() []string { return []string{Tuned, HeldBack, Apart} }

// Meaning is what some words of a story say.
type Meaning struct {
	Pos    source.Pos
	Words  string
	Is     hear.Is // "" : nothing that the book has a word for
	IDs    []string
	Kind   string
	Answer string
	Places []evidence.Place
	OneOf  bool // at one of the places
}

// Hearing is how well a set of stories was understood, observation by
// observation: of how many each was right.
type Hearing struct {
	Set     string
	Stories int
	Signs   Share // the sign is the first that was understood of the words
	Three   Share // or among the first three
	Answers Share // of those: there, not there, not known
	Places  Share // of those whose place was told
	Kinds   Share // of those there whose kind was told
	Works   Share
	Checks  Share // among the first three
	Guesses Share // kept as guesses
	// WrongStrong are the signs taken as strong that are another; of what the book
	// has no word for, StrongOfNone.
	WrongStrong  Share
	StrongOfNone Share
	Misses       []string // word for word
}

// Share is how many of how many.
type Share struct{ Right, Of int }

func (s *Share) count(right bool) bool {
	s.Of++
	if right {
		s.Right++
	}
	return right
}

func (s Share) String() string {
	if s.Of == 0 {
		return "none"
	}
	return fmt.Sprintf("%d of %d (%.0f %%)", s.Right, s.Of, 100*float64(s.Right)/float64(s.Of))
}

// Listen hears every story of a set.
func Listen(book *rules.Book, stories []*Story, set string) Hearing {
	l := hear.New(book)
	out := Hearing{Set: set}
	for _, s := range stories {
		if s.Set != set {
			continue
		}
		out.Stories++
		got := l.Hear(s.Told, s.Layout)
		for i := range s.Meaning {
			out.judge(s, &s.Meaning[i], got.Heard)
		}
	}
	return out
}

// judge holds what was understood of some words against what they mean.
func (h *Hearing) judge(s *Story, m *Meaning, heard []hear.Heard) {
	from := strings.Index(s.Told, m.Words)
	to := from + len(m.Words)
	var about []*hear.Heard // what was understood of these words, or of more
	for i := range heard {
		if heard[i].Start < to && from < heard[i].End {
			about = append(about, &heard[i])
		}
	}
	rank, best := m.rank(about)
	within := func(one *hear.Heard) bool { return one.Start >= from-2 && one.End <= to+2 }
	strongElse := slices.ContainsFunc(about, func(one *hear.Heard) bool {
		return one.Is == hear.IsSign && one.Strength == hear.Strong && within(one) && !slices.Contains(m.IDs, one.ID)
	})
	miss := func(what string) {
		line := fmt.Sprintf("%s: %s: %q", s.ID, what, m.Words)
		for _, one := range about {
			line += fmt.Sprintf(" -> %s %s %s (%s)", one.ID, one.Kind, one.Answer, one.Strength)
		}
		h.Misses = append(h.Misses, line)
	}
	switch m.Is {
	case "":
		if !h.StrongOfNone.count(slices.ContainsFunc(about, func(one *hear.Heard) bool {
			return one.Is != hear.IsGuess && one.Strength == hear.Strong && within(one)
		})) {
			return
		}
		miss("taken for something")
	case hear.IsSign:
		h.judgeSign(s.Layout, m, rank, best, strongElse, miss)
	case hear.IsWork:
		if !h.Works.count(rank == 1) {
			miss("work")
		}
	case hear.IsCheck:
		if !h.Checks.count(rank <= 3) {
			miss("check")
		}
	case hear.IsGuess:
		if !h.Guesses.count(rank == 1) {
			miss("guess")
		}
	}
}

func (h *Hearing) judgeSign(layout evidence.Layout, m *Meaning, rank int, best *hear.Heard, strongElse bool, miss func(string)) {
	if h.WrongStrong.count(strongElse) {
		miss("strong and wrong")
	}
	if !h.Signs.count(rank == 1) {
		miss("sign")
	}
	if !h.Three.count(rank <= 3) {
		return
	}
	if !h.Answers.count(best.Answer == m.Answer) {
		miss("answer " + m.Answer)
	}
	if m.Kind != "" && m.Answer == string(evidence.Present) && !h.Kinds.count(best.Kind == m.Kind) {
		miss("kind " + m.Kind)
	}
	if len(m.Places) > 0 && !h.Places.count(samePlaces(everywhere(best, layout), m.Places)) {
		miss("place")
	}
}

// rank says as which of the things that the words may say the meaning stands,
// with the statement that has it, its answer laid in.
func (m *Meaning) rank(about []*hear.Heard) (int, *hear.Heard) {
	const none = 99
	var first *hear.Heard
	for _, one := range about {
		if (one.Is == hear.IsGuess && m.Is == one.Is || slices.Contains(m.IDs, one.ID)) && (first == nil || one.Answer == m.Answer && first.Answer != m.Answer) {
			first = one
		}
	}
	if first != nil {
		return 1, first
	}
	rank := none
	for _, one := range about {
		for i, o := range one.Others {
			if slices.Contains(m.IDs, o.ID) && i+2 < rank {
				other := one.Instead(o)
				rank, first = i+2, &other
			}
		}
	}
	return rank, first
}

// everywhere gives where it is; what is absent and has no place is so at all that
// the meaning can name.
func everywhere(h *hear.Heard, layout evidence.Layout) []evidence.Place {
	if len(h.Places) == 0 && h.Answer == string(evidence.Absent) {
		return layout.Places(evidence.OfCylinder)
	}
	return h.Places
}

func samePlaces(a, b []evidence.Place) bool {
	in := func(list []evidence.Place) func(evidence.Place) bool {
		return func(p evidence.Place) bool { return !slices.Contains(list, p) }
	}
	return !slices.ContainsFunc(a, in(b)) && !slices.ContainsFunc(b, in(a))
}
