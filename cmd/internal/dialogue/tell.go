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
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// tell asks for what was seen in the crew's own words. Who would rather pick from
// a list can.
func (r *round) tell(question, blank string) turn {
	p := prompt.Prompt{
		ID: "tell", Ask: question, Back: backOne, Leave: leave,
		Entry:   &prompt.Entry{Blank: blank, Long: true},
		Options: []prompt.Option{aside("list", "list to pick from"), dontKnow},
	}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn {
		switch {
		case a.One() == "list" || a.One() == dontKnow.ID && blank != goesOn:
			return r.notice("What was noticed?", "")
		case a.Text == "":
			return r.nothingNoticed()
		}
		return r.hear(a.Text, Tale{})
	}}
}

// goesOn is what an empty answer does where other words are asked for.
const goesOn = "goes on without it"

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

// hear goes once through what was told, beside what was told before it. All of it
// is shown on one page to be agreed to; nothing is written before.
func (r *round) hear(text string, tale Tale) turn {
	if err := hear.TooLong(tale.Text + " " + text); err != nil {
		return say("With what was told before " + err.Error() + ": write down first what stands here.")
	}
	rest, untouched := hear.Untouched(text)
	story := r.listener().Hear(rest, r.k.Pump.Layout)
	nothing := len(story.Heard) == 0 && !untouched
	if nothing && len(tale.Agreed) == 0 {
		return r.notUnderstood(text)
	}
	tale.Text = strings.TrimSpace(tale.Text + " " + text)
	tale.NotHeard = slices.Concat(tale.NotHeard, story.NotHeard)
	if nothing {
		tale.NotHeard = append(tale.NotHeard, text)
	}
	slices.SortStableFunc(story.Heard, func(a, b hear.Heard) int { return cmp.Compare(surest(a), surest(b)) })
	return r.take(tale, story.Heard)
}

// notUnderstood asks for other words; who has none goes on, and what was said is kept.
func (r *round) notUnderstood(text string) turn {
	again := r.tell("Tell it in other words.", goesOn)
	again.News = prompt.Lines(prompt.Text, "Nothing in these words was understood: "+text)
	take := again.Take
	again.Take = func(a prompt.Answer) turn {
		if on := take(a); on.Take != nil || on.End.note != nil || a.Text != "" || a.One() == "list" {
			return on
		}
		return write(r.log("told, not understood: " + text))
	}
	return again
}

// surest puts what is well understood before what is clear, and that before the rest.
func surest(h hear.Heard) int {
	switch {
	case !unsure(h):
		return 0
	case h.Clear:
		return 1
	}
	return 2
}

// unsure says whether the words that a statement rests on are shown with it.
func unsure(h hear.Heard) bool {
	return h.Strength != hear.Strong && h.Is != hear.IsGuess && h.Is != hear.IsReading
}

// take takes statements into the tale, the surest first. What is not clear, and what
// is only clear and goes against what was said or stands in the file, is put to the
// crew beside the rest. Where two things that are well understood exclude each other
// both stand side by side and the crew says which is so.
func (r *round) take(tale Tale, rest []hear.Heard) turn {
	for i, h := range rest {
		earlier := func(o hear.Heard) bool { return Opposite(r.Book, o, h) }
		was, where := Against(r.Book, r.k, h), "in the file"
		if len(was) == 0 {
			was = Standing(r.Book, r.k, r.File, r.text, h)
		}
		said := doc.Only(tale.Agreed, earlier)
		if len(said) > 0 {
			was, where = said, "said before"
		}
		switch {
		case unsure(h) && (!h.Clear || len(was) > 0):
			tale.Perhaps = append(slices.Clip(tale.Perhaps), h)
		case len(was) == 0:
			tale.Agreed = joined(tale.Agreed, h)
		default:
			with := tale
			with.Agreed = joined(slices.DeleteFunc(slices.Clone(tale.Agreed), earlier), h)
			return r.whichIsSo(tale, with, h, was, where, rest[i+1:])
		}
	}
	if tale.yes {
		return r.agreed(tale)
	}
	if tale, urgent := r.urgent(tale); len(urgent) > 0 {
		return r.mustStop(tale, urgent)
	}
	return r.agree(r.fitting(tale))
}

// urgent takes out of what may be meant what would call for a stop that what is
// agreed to does not call for.
func (r *round) urgent(tale Tale) (Tale, []hear.Heard) {
	var agreed []record.Edit
	for _, h := range tale.Agreed {
		if h.Is == hear.IsSign {
			agreed = append(agreed, ToldSign(r.Book, r.k, h)...)
		}
	}
	already := r.stopsAfter(agreed)
	known := func(s *rules.Stop) bool { return slices.Contains(already, s) }
	stops := func(h hear.Heard) bool {
		return mayRaise(r.Book, h, known) &&
			r.stopAfter(append(slices.Clip(agreed), ToldSign(r.Book, r.k, h)...), func(s *rules.Stop) bool { return !known(s) })
	}
	var out, left []hear.Heard
	for _, h := range tale.Perhaps {
		if stops(h) {
			out = append(out, h)
			continue
		}
		left = append(left, h)
	}
	tale.Perhaps = left
	return tale, out
}

// mustStop asks whether one of those things is so that would call for a stop: none of
// them is passed over.
func (r *round) mustStop(tale Tale, urgent []hear.Heard) turn {
	p := prompt.Prompt{ID: "urgent", Ask: "One of these would call for a stop. Is it so?", Whole: true}
	for i, h := range urgent {
		p.Options = append(p.Options, prompt.Option{ID: "urgent " + strconv.Itoa(i+1), Title: r.understoodLine(h), Together: true})
	}
	p.Options = append(p.Options, aside("none", "none of these"), dontKnow)
	return several(p, func(ids []string) turn {
		var chosen []hear.Heard
		for i, h := range urgent {
			if slices.Contains(ids, "urgent "+strconv.Itoa(i+1)) {
				h.Strength = hear.Strong // the crew said so
				chosen = append(chosen, h)
			}
		}
		for _, h := range urgent {
			said := func(o hear.Heard) bool { return o.Words == h.Words }
			if !slices.ContainsFunc(chosen, said) && !slices.ContainsFunc(tale.Perhaps, said) && !slices.Contains(tale.NotHeard, h.Words) {
				tale.NotHeard = append(slices.Clip(tale.NotHeard), h.Words)
			}
		}
		return r.take(tale, chosen)
	})
}

// whichIsSo asks which of two things stands: the tale with the one or with the other.
func (r *round) whichIsSo(tale, with Tale, h hear.Heard, was []hear.Heard, where string, rest []hear.Heard) turn {
	p := prompt.Prompt{
		ID: fmt.Sprintf("opposite %d %s", h.Start, h.ID), Ask: "These do not go together. Which is so?",
		Options: []prompt.Option{
			option("now", "told now: "+pages.HeardLine(r.Book, &h)),
			option("before", where+": "+strings.Join(doc.Each(was, func(o hear.Heard) string { return pages.HeardLine(r.Book, &o) }), "; ")),
			aside("unknown", "don't know; kept in your words"),
		},
	}
	places := r.placesBeside(h)
	if len(places) > 0 {
		p.Options = slices.Insert(p.Options, 2, option("where", "both; what is told now was at another place"))
	}
	return ask(p, func(id string) turn {
		switch id {
		case "now":
			return r.take(with, rest)
		case "where":
			return r.elsewhere(h, places, tale, rest)
		}
		tale.NotHeard = append(slices.Clip(tale.NotHeard), "not taken, against what was "+where+": "+h.Words)
		return r.take(tale, rest)
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

// mostMeant is how much is offered instead of a line.
const mostMeant = 3

// How much stands on the page that shows what was understood, in lines of a narrow
// terminal: as much as leaves room for what comes before and behind it.
const (
	linesShown  = 8
	lineLetters = 75
	mostOver    = 5  // of what may be meant, once the crew asked for more
	lettersKept = 56 // of what was not understood
	lettersFrom = 30 // of the words that something rests on
	fewLetters  = 14 // of them, at least
)

// fitting keeps of what may be meant what the page has room for, what fits best first.
// The rest is shown when the crew asks for more.
func (r *round) fitting(tale Tale) Tale {
	lines := 0
	for _, h := range tale.Agreed {
		lines += 1 + len([]rune(r.understoodLine(h)))/lineLetters
	}
	var others []hear.Heard
	all := slices.Concat(tale.Perhaps, tale.More)
	for i, h := range all {
		same := func(o hear.Heard) bool {
			return o.Is == h.Is && o.ID == h.ID && o.Answer == h.Answer && slices.Equal(o.Places, h.Places)
		}
		if !slices.ContainsFunc(tale.Agreed, same) && !slices.ContainsFunc(all[:i], same) {
			others = append(others, h)
		}
	}
	slices.SortStableFunc(others, func(a, b hear.Heard) int { return cmp.Compare(howWeak(a), howWeak(b)) })
	wrong := func(h hear.Heard) bool { return h.Is == hear.IsSign && h.Answer == string(evidence.Present) }
	if i := slices.IndexFunc(others, wrong); i >= 0 && howWeak(others[i]) < weakest && !r.anythingWrong() && !slices.ContainsFunc(tale.Agreed, wrong) {
		tale.Agreed = append(slices.Clip(tale.Agreed), others[i]) // something is wrong, and this is what was understood of it
		others = slices.Delete(others, i, i+1)
	}
	tale.Perhaps, tale.More = nil, nil
	for i, h := range others {
		if lines += 1 + len([]rune(r.understoodLine(h)))/lineLetters; lines > linesShown && (!tale.over || i >= mostOver) {
			tale.More = append(tale.More, h)
			continue
		}
		tale.Perhaps = append(tale.Perhaps, h)
	}
	return tale
}

// howWeak ranks what is not well understood: fairly, by what was said before, as well
// there, or weakly.
func howWeak(h hear.Heard) int {
	switch {
	case h.Strength != hear.Fair && !h.Carried:
		return weakest
	case h.Answer != string(evidence.Present): // what is well there tells less
		return 2
	case h.Strength != hear.Fair:
		return 1
	}
	return 0
}

const weakest = 3
