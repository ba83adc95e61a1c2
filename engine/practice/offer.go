package practice

import (
	"cmp"
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// Offer is something that can be chosen now, with the places where it can.
// That it can be chosen does not say that it is safe to.
type Offer struct {
	ID, Title string
	More      string // more words to find it by
	Places    []evidence.Place
}

// Offers lists what can be chosen of one doing, in the order of the book;
// causes by their title.
func (s *Session) Offers(do Doing) []Offer {
	var out []Offer
	add := func(level evidence.Level, e rules.Entry, more string) {
		o := Offer{ID: e.ID, Title: s.Text(e.Title), More: more}
		for _, p := range s.known.Pump.Places(level) {
			if s.cannot(Action{Do: do, ID: e.ID, Place: p}) == "" {
				o.Places = append(o.Places, p)
			}
		}
		if len(o.Places) > 0 {
			out = append(out, o)
		}
	}
	switch do {
	case Look:
		for _, x := range s.book.Signs.List {
			add(x.Level, x.Entry, x.Ask)
		}
	case Safety:
		for _, x := range s.book.Safety.List {
			add(evidence.OfPump, x.Entry, x.Do)
		}
	case Open:
		for _, x := range s.book.Openings.List {
			add(x.Level, x.Entry, x.Do)
		}
	case Check:
		for _, x := range s.book.Checks.List {
			add(x.Level, x.Entry, x.Do)
		}
	case Name:
		for _, x := range s.book.Causes.List {
			add(x.Level, x.Entry, "")
		}
		slices.SortStableFunc(out, func(a, b Offer) int { return cmp.Compare(a.Title, b.Title) })
	}
	return out
}

// Text puts the figures of the book into one of its texts.
func (s *Session) Text(text string) string { return s.book.Fill(&s.known, text) }

// Title is what an action, or what a need asks for, is called in the book.
func (s *Session) Title(do Doing, id string) string {
	e, _ := s.entry(do, id)
	return s.Text(e.Title)
}

// FindingText says a finding in words.
func (s *Session) FindingText(f evidence.Finding) string {
	sign := s.book.Signs.Get(f.Sign)
	text := s.Text(sign.Title)
	switch {
	case f.Answer == evidence.Absent:
		return text + ": no"
	case f.Kind != "":
		return text + ": " + s.Text(sign.KindTitle(f.Kind))
	case len(sign.Kinds) > 0 && len(f.Over) == 1:
		return text + ": yes, in more than one way"
	}
	return text + ": yes"
}

// Repair is the correction of a cause, Why what is behind it.
func (s *Session) Repair(cause string) string { return s.Text(s.book.Causes.Get(cause).Repair) }

// Why is why a cause does what it does.
func (s *Session) Why(cause string) string { return s.Text(s.book.Causes.Get(cause).Why) }

// corrections is how many corrections stand to choose from.
const corrections = 4

// Corrections gives the correction of a cause among others, mostly of the same
// group, in an order that the seed fixes; right is its index.
func (s *Session) Corrections(cause string) (texts []string, right int) {
	random := chance(s.World.Seed, streamNames)
	own := s.book.Causes.Get(cause)
	var near, far []string
	for _, c := range s.book.Causes.List {
		switch {
		case c.ID == cause || c.Repair == own.Repair || !c.When.Holds(&s.known, s.book):
		case c.Group == own.Group:
			near = append(near, c.Repair)
		default:
			far = append(far, c.Repair)
		}
	}
	random.Shuffle(len(near), func(i, j int) { near[i], near[j] = near[j], near[i] })
	random.Shuffle(len(far), func(i, j int) { far[i], far[j] = far[j], far[i] })
	texts = []string{own.Repair}
	for _, text := range append(near, far...) {
		if len(texts) < corrections && !slices.Contains(texts, text) {
			texts = append(texts, text)
		}
	}
	right = random.IntN(len(texts))
	texts[0], texts[right] = texts[right], texts[0]
	for i := range texts {
		texts[i] = s.Text(texts[i])
	}
	return texts, right
}
