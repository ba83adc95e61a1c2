package dialogue

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"telltale/cmd/internal/prompt"
	"telltale/engine/chances"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/rules"
)

// notice lets the crew report a sign, narrowed by words. With words the signs that
// are answered already are offered too, to be put right.
func (r *round) notice(question, words string) turn {
	signs := r.reportable(words)
	switch {
	case len(signs) == 0 && words == "":
		return r.nothingNoticed()
	case len(signs) == 0:
		again := r.notice(question, "")
		again.News = prompt.Lines(prompt.Text, fmt.Sprintf("No sign of the rulebook has a word of %q in it. Try another word.", words))
		return again
	}
	p := prompt.Prompt{
		ID: strings.TrimSpace("signs " + words), Ask: question, Back: backOne, Leave: leave,
		Entry: &prompt.Entry{Hint: "a word such as leak, knock or pressure"},
	}
	heading := ""
	if words == "" {
		slices.SortStableFunc(signs, func(a, b *rules.Sign) int { return cmp.Compare(whereSeen(a), whereSeen(b)) })
	}
	for _, s := range signs {
		o := option(s.ID, s.Title)
		if now := whereSeenTitles[whereSeen(s)]; words == "" && now != heading {
			o.Heading, heading = now, now
		}
		if r.answered(s) {
			o.Title += " (answered; to put it right)"
		}
		o.About = &about("sign", s.ID)[0]
		p.Options = append(p.Options, o)
	}
	p.Options = append(p.Options, aside("nothing", "nothing (else)"), dontKnow)
	return turn{Prompt: p, Take: func(a prompt.Answer) turn {
		switch {
		case a.Text != "":
			return r.notice(question, a.Text)
		case a.One() == "nothing" || a.One() == dontKnow.ID:
			return r.nothingNoticed()
		}
		return r.reported(r.Book.Signs.Get(a.One()))
	}}
}

// whereSeenTitles say where signs are seen, in the order in which a crew comes to them.
var whereSeenTitles = []string{"The whole pump, from outside", "One cylinder, from outside", "Isolated, or with something open"}

// whereSeen is where a sign is seen, as a number of whereSeenTitles.
func whereSeen(s *rules.Sign) int {
	switch {
	case len(s.Openings) > 0 || s.Pump == rules.NeedsIsolated:
		return 2
	case s.Level == evidence.OfPump:
		return 0
	}
	return 1
}

// reportable lists the signs that can be reported, without words only those that
// make sense by what shows already and are not answered, or said to be unknown,
// everywhere. If none has
// all the words, it lists those that have one of them.
func (r *round) reportable(words string) []*rules.Sign {
	all := interview.Signs(r.Book, r.k)
	if words == "" {
		return slices.DeleteFunc(all, func(s *rules.Sign) bool { return r.answered(s) || r.saidUnknown(s) || !s.Fits(r.k) })
	}
	having := func(words string) []*rules.Sign {
		return slices.DeleteFunc(slices.Clone(all), func(s *rules.Sign) bool { return !prompt.Holds(searched(s), words) })
	}
	if signs := having(words); len(signs) > 0 {
		return signs
	}
	held := map[*rules.Sign]float64{} // a word that few signs have counts for more
	for _, word := range strings.Fields(words) {
		if len(word) < shortestWord {
			continue // "in", "of" and the like tell nothing
		}
		signs := having(word)
		for _, s := range signs {
			held[s] += 1 / float64(len(signs))
		}
	}
	all = slices.DeleteFunc(all, func(s *rules.Sign) bool { return held[s] == 0 || !s.Fits(r.k) })
	slices.SortStableFunc(all, func(a, b *rules.Sign) int { return cmp.Compare(held[b], held[a]) })
	return all
}

// searched is the text in which a sign is looked for.
func searched(s *rules.Sign) string {
	text := s.Title + " " + s.Ask + " " + strings.ReplaceAll(s.ID, "-", " ")
	for _, kind := range s.Kinds {
		text += " " + kind.Title
	}
	return text
}

// shortestWord is the length from which a word by itself finds signs.
const shortestWord = 3

func (r *round) answered(s *rules.Sign) bool {
	return len(r.unanswered(s, r.k.Pump.Places(s.Level))) == 0
}

// saidUnknown says whether nobody knows of a sign, wherever it is not answered.
func (r *round) saidUnknown(s *rules.Sign) bool {
	return !slices.ContainsFunc(r.unanswered(s, r.k.Pump.Places(s.Level)), func(p evidence.Place) bool {
		return !chances.Among(r.k.NotKnown, s.ID, p)
	})
}

// unanswered gives those of some places where a sign is not answered.
func (r *round) unanswered(s *rules.Sign, places []evidence.Place) []evidence.Place {
	return slices.DeleteFunc(slices.Clone(places), func(p evidence.Place) bool { return r.k.Known(s.ID, p) })
}

// reported asks for a sign where it is not answered. Where it is, each answer can be
// put right by itself; one that is answered everywhere is asked everywhere anew.
func (r *round) reported(s *rules.Sign) turn {
	places := r.k.Pump.Places(s.Level)
	open := r.unanswered(s, places)
	if len(open) == 0 {
		return r.answer(s, places, nil)
	}
	t := r.answer(s, open, nil)
	at := map[string]evidence.Place{}
	for _, f := range r.k.Findings {
		if f.Sign == s.ID && !f.Measured && f.At != (evidence.Place{}) && r.k.Known(s.ID, f.At) {
			o := aside("right "+placeID(f.At), "put right: "+placeTitle(f.At)+", "+answerSaid(s, f))
			at[o.ID], t.Options = f.At, append(t.Options, o)
		}
	}
	take := t.Take
	t.Take = func(a prompt.Answer) turn {
		if here, ok := at[a.One()]; ok {
			return r.answer(s, []evidence.Place{here}, nil)
		}
		return take(a)
	}
	return t
}

// answerSaid is what was answered of a sign.
func answerSaid(s *rules.Sign, f evidence.Finding) string {
	switch {
	case f.Answer == evidence.Absent:
		return "no"
	case f.Kind != "":
		return s.KindTitle(f.Kind)
	}
	return "yes"
}

// nothingNoticed goes on without a sign where there is one; without any there
// is nothing to reason from.
func (r *round) nothingNoticed() turn {
	if r.anythingWrong() {
		return turn{}
	}
	return over("Without one sign there is nothing to reason from.")
}

// anythingWrong says whether the case has a sign that is there.
func (r *round) anythingWrong() bool {
	return slices.ContainsFunc(r.k.Findings, func(f evidence.Finding) bool { return f.Answer == evidence.Present })
}

// over ends the talk.
func over(texts ...string) turn {
	return prompt.End(end{note: func(s *State) { s.Over = true }, news: prompt.Lines(prompt.Text, texts...), final: true})
}
