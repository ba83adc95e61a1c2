package dialogue

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/engine/hear"
)

// tell asks for what was seen in the crew's own words. Who would rather pick from
// a list can.
func (r *round) tell(question, blank string) turn {
	p := prompt.Prompt{
		ID: "tell", Ask: question, Back: backOne, Leave: leave,
		Entry:   &prompt.Entry{Blank: blank},
		Options: []prompt.Option{aside("list", "list to pick from")},
	}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn {
		switch {
		case a.One() == "list":
			return r.notice("What was noticed?", "")
		case a.Text == "":
			return r.nothingNoticed()
		}
		return r.hear(a.Text, Tale{})
	}}
}

// anythingElse asks on until there is nothing more to tell.
func (r *round) anythingElse() turn {
	t := r.tell("Anything else?", "goes on")
	t.Options = append(t.Options, aside("nothing", "nothing more"))
	take := t.Take
	t.Take = func(a prompt.Answer) turn {
		if a.One() == "nothing" || a.Text == "" && len(a.Chosen) == 0 {
			return prompt.End(end{note: func(s *State) { s.Telling = false }})
		}
		return noted(take(a), func(s *State) { s.Telling = s.Telling || a.One() == "list" })
	}
	return t
}

// withWords lets the crew tell something instead of answering, at every prompt that
// an answer takes. An answer that was begun is not written then, and is asked anew.
func (r *round) withWords(t turn) turn {
	if r.k == nil || t.Take == nil {
		return t
	}
	take := t.Take
	if t.Entry != nil || len(t.Options) == 0 {
		t.Take = func(a prompt.Answer) turn { return r.withWords(take(a)) }
		return t
	}
	t.Entry = &prompt.Entry{Beside: true}
	t.Take = func(a prompt.Answer) turn {
		if a.Text != "" {
			return r.hear(a.Text, Tale{})
		}
		return r.withWords(take(a))
	}
	return t
}

// listener hears by the book's lexicon; it is made when it is first needed.
func (t *Talk) listener() *hear.Listener {
	if t.ear == nil {
		t.ear = hear.New(t.Book)
	}
	return t.ear
}

// hear goes once through what was told, beside what was told before it: where
// several things may be meant the crew picks, where the opposite was said it says
// what stands, then all is shown to be agreed to. Nothing is written before.
func (r *round) hear(text string, tale Tale) turn {
	if len(tale.Text)+len(text) > hear.LongestStory {
		return say("That is too long to be heard at once.")
	}
	rest, untouched := hear.Untouched(text)
	story := r.listener().Hear(rest, r.k.Pump.Layout)
	nothing := len(story.Heard) == 0 && !untouched
	if nothing && len(tale.Agreed) == 0 && r.s.Telling {
		return writeThen(func(s *State) {}, r.log("told, not understood: "+text))
	}
	if nothing && len(tale.Agreed) == 0 {
		again := r.tell("Tell it in other words.", "goes on without it")
		again.News = prompt.Lines(prompt.Text, "Nothing in these words was understood: "+text)
		return again
	}
	tale.Text = strings.TrimSpace(tale.Text + " " + text)
	tale.NotHeard = slices.Concat(tale.NotHeard, story.NotHeard)
	if nothing {
		tale.NotHeard = append(tale.NotHeard, text)
	}
	return r.pick(tale, fewPicks(story.Heard, &tale))
}

// How much is offered where several things may be meant: a tired crew picks a few
// times, of a few.
const (
	mostPicks = 5
	mostMeant = 3
	fewMeant  = 2 // where there is more to pick than once
)

// unsure says whether the crew has to pick what is meant.
func unsure(h hear.Heard) bool {
	return h.Strength != hear.Strong && h.Is != hear.IsGuess && h.Is != hear.IsReading
}

// fewPicks leaves out what is understood worst where there is too much to pick; it
// is kept in the crew's words.
func fewPicks(all []hear.Heard, tale *Tale) []hear.Heard {
	picks := 0
	for _, strength := range []hear.Strength{hear.Fair, hear.Weak} {
		all = slices.DeleteFunc(slices.Clone(all), func(h hear.Heard) bool {
			if !unsure(h) || h.Strength != strength {
				return false
			}
			if picks++; picks <= mostPicks {
				return false
			}
			tale.NotHeard = append(tale.NotHeard, h.Words)
			return true
		})
	}
	return all
}

// pick asks which of several things is meant, for one statement after the other.
func (r *round) pick(tale Tale, rest []hear.Heard) turn {
	if len(rest) == 0 {
		return r.agree(tale)
	}
	h, rest := rest[0], rest[1:]
	if !unsure(h) {
		return r.settle(tale, h, rest)
	}
	most := mostMeant
	if len(doc.Only(rest, unsure)) > 0 || tale.picked {
		most = fewMeant
	}
	tale.picked = true
	return r.whichMeant(h, most, func(meant []hear.Heard, words string) turn {
		switch {
		case words != "":
			tale.Text = strings.TrimSpace(tale.Text + " " + words)
			story := r.listener().Hear(words, r.k.Pump.Layout)
			tale.NotHeard = slices.Concat(tale.NotHeard, story.NotHeard)
			return r.pick(tale, append(story.Heard, rest...))
		case len(meant) == 0:
			tale.NotHeard = append(slices.Clip(tale.NotHeard), h.Words)
			return r.pick(tale, rest)
		}
		for i := range meant {
			meant[i].Strength = hear.Strong // the crew said so
		}
		return r.pick(tale, append(meant, rest...))
	})
}

// whichMeant asks what is meant by some words; it can be said in other words.
func (r *round) whichMeant(h hear.Heard, most int, take func(meant []hear.Heard, words string) turn) turn {
	meant := []hear.Heard{h}
	for _, o := range h.Others {
		if len(meant) < most {
			meant = append(meant, h.Instead(o))
		}
	}
	p := prompt.Prompt{
		ID: fmt.Sprintf("meant %d %s", h.Start, h.Answer), Ask: fmt.Sprintf("%q: what is meant?", h.Words), Back: backOne, Leave: leave,
		Entry: &prompt.Entry{Beside: true},
	}
	for i, m := range meant {
		o := option(strconv.Itoa(i+1), pages.HeardLine(r.Book, &m))
		o.Together = true
		p.Options = append(p.Options, o)
	}
	p.Options = append(p.Options, aside("none", "none of these"))
	return turn{Prompt: p, Take: func(a prompt.Answer) turn {
		var chosen []hear.Heard
		for i, m := range meant {
			if slices.Contains(a.Chosen, strconv.Itoa(i+1)) {
				chosen = append(chosen, m)
			}
		}
		return take(chosen, a.Text)
	}}
}

// settle takes a statement into the tale. Where the case or the tale has the
// opposite, both stand side by side and the crew says which is so.
func (r *round) settle(tale Tale, h hear.Heard, rest []hear.Heard) turn {
	with := tale
	with.Agreed = joined(tale.Agreed, h)
	was, where := Against(r.Book, r.k, h), "in the file"
	earlier := func(o hear.Heard) bool { return Opposite(r.Book, o, h) }
	if said := doc.Only(tale.Agreed, earlier); len(said) > 0 {
		was, where = said, "said before"
		with.Agreed = joined(slices.DeleteFunc(slices.Clone(tale.Agreed), earlier), h)
	}
	if len(was) == 0 {
		return r.pick(with, rest)
	}
	p := prompt.Prompt{
		ID: fmt.Sprintf("opposite %d %s", h.Start, h.ID), Ask: "These do not go together. Which is so?",
		Options: []prompt.Option{
			option("now", "told now: "+pages.HeardLine(r.Book, &h)),
			option("before", where+": "+strings.Join(doc.Each(was, func(o hear.Heard) string { return pages.HeardLine(r.Book, &o) }), "; ")),
			aside("unknown", "don't know; what is told now is kept in your words"),
		},
	}
	places := r.placesBeside(h)
	if len(places) > 0 {
		p.Options = slices.Insert(p.Options, 2, option("where", "both; what is told now was at another place"))
	}
	return ask(p, func(id string) turn {
		switch id {
		case "now":
			return r.pick(with, rest)
		case "where":
			return r.elsewhere(h, places, tale, rest)
		}
		tale.NotHeard = append(slices.Clip(tale.NotHeard), "not taken, against what was "+where+": "+h.Words)
		return r.pick(tale, rest)
	})
}

// joined adds a statement to others: what was said twice stands once, with the kind
// and the figures that either told.
func joined(all []hear.Heard, h hear.Heard) []hear.Heard {
	all = slices.Clone(all)
	same := func(o hear.Heard) bool {
		return h.ID != "" && o.Is == h.Is && o.ID == h.ID && o.Answer == h.Answer && slices.Equal(o.Places, h.Places) && o.OneOf == h.OneOf &&
			(o.Kind == "" || h.Kind == "" || o.Kind == h.Kind)
	}
	i := slices.IndexFunc(all, same)
	if i < 0 {
		return append(all, h)
	}
	all[i].Kind = cmp.Or(all[i].Kind, h.Kind)
	all[i].Figures = slices.Concat(all[i].Figures, h.Figures)
	return all
}

// agree shows all that is to be written; what is struck out is not. More can be
// told.
func (r *round) agree(tale Tale) turn {
	p := prompt.Prompt{
		ID: "agree", Ask: "Understood. Is that right?", Back: backOne, Leave: leave,
		Entry: &prompt.Entry{Beside: true},
	}
	for i, h := range tale.Agreed {
		o := option("line "+strconv.Itoa(i+1), pages.HeardLine(r.Book, &h)+r.whenSeen(h))
		o.Together = true
		p.Options = append(p.Options, o)
	}
	if _, untouched := hear.Untouched(tale.Text); untouched {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Text, Text: "Nothing was done on the pump lately."})
	}
	if len(tale.NotHeard) > 0 {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Text, Text: "Not understood, kept in your words: " + strings.Join(tale.NotHeard, "; ") + "."})
	}
	p.Options = append(p.Options, aside("yes", "yes, write it down"))
	if len(tale.Agreed) > 0 {
		p.Ask = "Understood. Is that right? What is not can be put right."
	}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn {
		switch {
		case a.Text != "":
			return r.hear(a.Text, tale)
		case a.One() == "yes":
			return writeThen(func(s *State) { s.Telling = true }, Told(r.Book, r.k, tale, r.log)...)
		case len(a.Chosen) == 1:
			at, _ := strconv.Atoi(strings.TrimPrefix(a.One(), "line "))
			return r.putRight(tale, at-1)
		}
		left := tale
		left.Agreed = nil
		for i, h := range tale.Agreed {
			if !slices.Contains(a.Chosen, "line "+strconv.Itoa(i+1)) {
				left.Agreed = append(left.Agreed, h)
			}
		}
		return r.agree(left)
	}}
}

// putRight asks what is wrong with one line of what was understood.
func (r *round) putRight(tale Tale, at int) turn {
	h := tale.Agreed[at]
	without := tale
	without.Agreed = slices.Delete(slices.Clone(tale.Agreed), at, at+1)
	p := prompt.Prompt{
		ID: "put right " + strconv.Itoa(at+1), Back: backOne, Leave: leave, Entry: &prompt.Entry{Beside: true},
		Ask:     "What is it instead of: " + pages.HeardLine(r.Book, &h) + "? Or say it in other words.",
		Options: []prompt.Option{option("strike", "nothing; strike it out")},
	}
	instead := map[string]hear.Heard{}
	offer := func(id string, other hear.Heard) {
		instead[id] = other
		p.Options = append(p.Options, option(id, pages.HeardLine(r.Book, &other)))
	}
	for _, other := range r.answersBeside(h) {
		offer(cmp.Or(other.Kind, "answer "+other.Answer), other)
	}
	places := r.placesBeside(h)
	if len(places) > 0 {
		p.Options = append(p.Options, option("where", "the same at another place"))
	}
	if ofKinds(r.Book, h) {
		p.Options = append(p.Options, option("kind", "the same, of another kind"))
	}
	for i, o := range h.Others[:min(len(h.Others), mostMeant)] {
		offer("other "+strconv.Itoa(i+1), h.Instead(o))
	}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn {
		switch other, ok := instead[a.One()]; {
		case a.Text != "":
			return r.hear(a.Text, without)
		case ok:
			return r.settle(without, other, nil)
		case a.One() == "where":
			return r.elsewhere(h, places, without, nil)
		case a.One() == "kind":
			return r.otherKind(h, without)
		}
		return r.agree(without)
	}}
}

// whenSeen says that something counts as seen at the last stop.
func (r *round) whenSeen(h hear.Heard) string {
	if SeenAtLastStop(r.Book, r.k, h) {
		return " (as seen at the last stop; nobody opens a running pump)"
	}
	return ""
}
