package trainer

import (
	"fmt"
	"slices"

	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/practice"
	"telltale/evidence"
)

// name asks for the correction of a cause, and names it.
func (x *Exercise) name(a practice.Action) turn {
	texts, right := x.s.Corrections(a.ID)
	p := prompt.Prompt{ID: "correction " + a.ID, Ask: fmt.Sprintf("%s. What corrects it?", x.titled(practice.Name, a.ID, a.Place)), Back: "back"}
	chosen := map[string]int{}
	for i, t := range texts {
		id := fmt.Sprintf("correction %d", i+1)
		chosen[id] = i
		p.Options = append(p.Options, prompt.Option{ID: id, Title: t})
	}
	return turn{Prompt: p, Take: func(answer prompt.Answer) turn {
		return prompt.End(deed(func() ([]prompt.Line, error) {
			return x.named(a, texts[right], chosen[answer.One()] == right), nil
		}))
	}}
}

// root asks of which named cause it is said what brought it on; nothing is said
// where there is none.
func (x *Exercise) root(nothing string) turn {
	list := x.s.WithoutRoot()
	switch len(list) {
	case 0:
		return prompt.End(deed(func() ([]prompt.Line, error) { return []prompt.Line{text("%s", nothing)}, nil }))
	case 1:
		return x.rootOf(list[0])
	}
	var offers []practice.Offer
	for i, at := range list {
		offers = append(offers, practice.Offer{ID: fmt.Sprint(i), Title: x.titled(practice.Name, at.ID, at.Place)})
	}
	return pick("Of which one?", offers, "", func(o practice.Offer) turn {
		for i, at := range list {
			if o.ID == fmt.Sprint(i) {
				return x.rootOf(at)
			}
		}
		return turn{}
	})
}

// rootOf asks what brought a named cause on.
func (x *Exercise) rootOf(of evidence.At) turn {
	question := x.titled(practice.Name, of.ID, of.Place) + ": what brought it on?"
	return pick(question, x.s.RootOffers(of), "", func(o practice.Offer) turn {
		return where(o, false, func(places []evidence.Place) turn {
			a := practice.Action{Do: practice.Root, ID: o.ID, Place: places[0], Of: of}
			if o.ID != practice.Nothing && !x.s.Named(evidence.At{ID: a.ID, Place: a.Place}) {
				return x.name(a)
			}
			return prompt.End(deed(func() ([]prompt.Line, error) { return x.rooted(a), nil }))
		})
	})
}

// named names a cause with a correction that is the book's or not.
func (x *Exercise) named(a practice.Action, correction string, right bool) []prompt.Line {
	var lines []prompt.Line
	x.correctionsAsked++
	if right {
		x.corrections++
	} else {
		x.s.Miscorrect(evidence.At{ID: a.ID, Place: a.Place})
		lines = append(lines, text("That does not correct it. The book: %s", correction))
	}
	if a.Do == practice.Root {
		return append(lines, x.rooted(a)...)
	}
	out := x.s.Do(a)
	switch {
	case out.Cannot != "":
		return []prompt.Line{text("%s", out.Cannot)}
	case !out.Right:
		return append(lines, x.notThat())
	}
	lines = append(lines, text("Right: that is there. %s", x.s.Why(a.ID)))
	if !out.Proved {
		lines = append(lines, text("%s", guessed))
	}
	return append(lines, x.further(evidence.At{ID: a.ID, Place: a.Place}, false)...)
}

const guessed = "But nothing that you did shows it. It was a guess, and a guess does not pass."

func (x *Exercise) notThat() prompt.Line {
	return text("It is not that. The correction was done for nothing: %s lost.", words.Minutes(x.book.Practice.WrongMinutes))
}

// rooted says what brought a named cause on.
func (x *Exercise) rooted(a practice.Action) []prompt.Line {
	out := x.s.Do(a)
	var lines []prompt.Line
	switch {
	case out.Cannot != "":
		return []prompt.Line{text("%s", out.Cannot)}
	case out.Back:
		return []prompt.Line{text("It was put right, and the pump ran. After %.0f hours the same trouble is back: something brings it on. %s lost.", x.book.Practice.BackHours, words.Minutes(x.book.Practice.WrongMinutes))}
	case out.Right && a.ID == practice.Nothing:
		lines = append(lines, text("Right: there is nothing deeper. It came by itself."))
		if !out.Proved {
			lines = append(lines, text("But you did not look for what may bring it on. It was a guess, and a guess does not pass."))
		}
		return append(lines, x.further(evidence.At{}, true)...)
	case !out.There:
		return []prompt.Line{x.notThat()}
	case out.Right:
		lines = append(lines, text("Right: that brought it on. %s", x.s.Why(a.ID)))
	case out.Between:
		lines = append(lines, text("That is there, and it brought this on. But something else brought that on. Ask on."))
	default:
		lines = append(lines, text("That is there. But it did not bring this on. Look at how this is worn, burnt or cut."))
	}
	if !out.Proved {
		lines = append(lines, text("%s", guessed))
	}
	if out.Between {
		return lines // it says already to ask on
	}
	return append(lines, x.further(evidence.At{ID: a.ID, Place: a.Place}, out.Right)...)
}

// further says what is still open behind a cause that was named; over: all that
// belongs to it is said.
func (x *Exercise) further(named evidence.At, over bool) []prompt.Line {
	switch {
	case x.s.Left() == 0:
		return nil
	case over:
		return []prompt.Line{text("That is not all. Something else is wrong too.")}
	case slices.Contains(x.s.WithoutRoot(), named):
		return []prompt.Line{text("What brought on: %s? Find it and say it, or say that there is nothing deeper.", x.titled(practice.Name, named.ID, named.Place))}
	}
	return []prompt.Line{text("That is not all. If this made a part fail, name such a part, then say that this brought it on. If not, something else is wrong too.")}
}
