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
	"telltale/engine/chances"
	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// understoodLine says what was understood, and of what is not well understood what
// it rests on.
func (r *round) understoodLine(h hear.Heard) string {
	if h.Is == hear.IsWork || h.Is == hear.IsCheck && r.Book.Checks.Get(h.ID).Level == evidence.OfPump {
		h.Places = nil // it is of the pump
	}
	everywhere := ""
	if all := r.k.Pump.Places(evidence.OfCylinder); len(all) > 2 && !h.OneOf && slices.Equal(h.Places, all) {
		h.Places, everywhere = nil, ": every cylinder"
	}
	out := pages.HeardLine(r.Book, &h) + everywhere
	if unsure(h) {
		weak := " (weak" + doc.If(h.Carried, ", carried on") + ": "
		room := lineLetters - len([]rune(out+weak+`"...")`)) // on the same line, if a few words fit there
		out += weak + fmt.Sprintf("%q)", clipped(h.Words, max(fewLetters, min(room, lettersFrom))))
	}
	return out
}

// clipped shortens words to so many letters.
func clipped(words string, letters int) string {
	if r := []rune(words); len(r) > letters {
		return string(r[:letters]) + "..."
	}
	return words
}

// agree shows all that is to be written, and what may be meant besides: that is
// written only where the crew chooses it. What is struck out is not written. More
// can be told.
func (r *round) agree(tale Tale) turn {
	p := prompt.Prompt{ID: "agree", Ask: "Understood. Is that right? Choose what is not, or tell more.", Ticked: "put right what is chosen", Back: backOne, Leave: leave, Whole: true, Entry: &prompt.Entry{Beside: true}}
	line, perhaps := "line ", "perhaps "
	var guesses []string
	offer := func(id, heading, says string, h hear.Heard) {
		p.Options = append(p.Options, prompt.Option{ID: id, Title: r.understoodLine(h), Together: true, Heading: heading, Says: says})
	}
	for i, h := range tale.Agreed {
		if h.Is == hear.IsGuess {
			guesses = append(guesses, h.Words)
			continue
		}
		offer(line+strconv.Itoa(i+1), "", "not so", h)
	}
	for i, h := range tale.Perhaps {
		offer(perhaps+strconv.Itoa(i+1), doc.If(i == 0, "Perhaps; written only if chosen with the yes:"), "it is so", h)
	}
	say := func(text string) { p.Body = append(p.Body, prompt.Line{Kind: prompt.Text, Text: text}) }
	first, whole := r.firstIfSo(tale)
	p.Body = append(p.Body, first...)
	if hear.HandsInside(tale.Text) {
		say(pages.HandsInside)
	}
	if _, untouched := hear.Untouched(tale.Text); untouched {
		say("Nothing was done on the pump lately.")
	}
	if len(guesses) > 0 {
		say("Guesses, not weighed: " + clipped(strings.Join(guesses, "; "), lettersKept) + ".")
	}
	taken := doc.Each(slices.Concat(tale.Agreed, tale.Perhaps), func(h hear.Heard) evidence.Taken { return TakenAs(r.Book, r.k, h) })
	if slices.Contains(taken, evidence.AtLastStop) {
		say("What you saw at the last stop is written so.")
	}
	if slices.Contains(taken, evidence.WhileRunning) {
		say("What was seen inside while the pump ran is written so, and is not used.")
	}
	if len(tale.NotHeard) > 0 {
		say("Kept in your words: " + clipped(strings.Join(tale.NotHeard, "; "), lettersKept) + ".")
	}
	p.ID += " " + digest([]byte(strings.Join(doc.Each(p.Options, func(o prompt.Option) string { return o.Title }), "\n"))) // another page is another prompt
	if n := len(tale.More); n > 0 {
		p.Options = append(p.Options, aside("more", fmt.Sprintf("%s%d more may be meant", doc.If(len(tale.Perhaps) > 0, "none of these; "), n)))
	}
	yes := aside("yes", "yes, write it down")
	yes.Together = true
	p.Options = append(p.Options, yes)
	return turn{Prompt: p, Take: func(a prompt.Answer) turn {
		if a.Text != "" {
			return r.hear(a.Text, tale)
		}
		if a.One() == "more" {
			return r.take(tale.turned(), nil)
		}
		var wrong []int
		left, chosen := tale, []hear.Heard{}
		left.Agreed, left.Perhaps = nil, nil
		for i, h := range tale.Agreed {
			if slices.Contains(a.Chosen, line+strconv.Itoa(i+1)) {
				wrong = append(wrong, i)
				continue
			}
			left.Agreed = append(left.Agreed, h)
		}
		for i, h := range tale.Perhaps {
			if slices.Contains(a.Chosen, perhaps+strconv.Itoa(i+1)) {
				h.Strength = hear.Strong // the crew said so
				chosen = append(chosen, h)
				continue
			}
			left.Perhaps = append(left.Perhaps, h)
		}
		switch {
		case len(wrong) == 1 && len(a.Chosen) == 1:
			return r.putRight(tale, wrong[0])
		case !slices.Contains(a.Chosen, "yes") || len(wrong) > 0:
			return told(r.take(left, chosen), struck(r.Book, tale, wrong)...)
		}
		left.yes = true
		return r.wereRead(whole, r.take(left, chosen))
	}}
}

// firstIfSo reads out what a tale that is not written yet may call for at once: whoever
// tells that somebody is caught is not asked first whether it was understood. Of a stop
// that does not leave the pump only what comes first is read: all of it follows the yes.
// Those of which all was read are given besides.
func (r *round) firstIfSo(tale Tale) (out []prompt.Line, whole []string) {
	told := slices.Concat(tale.Agreed, tale.Perhaps)
	for i, h := range told {
		if h.Is == hear.IsGuess && len(h.Others) > 0 {
			told[i] = h.Instead(h.Others[0])
		}
	}
	for _, s := range StopsIfSo(r.Book, r.k, r.File, r.text, told) {
		if s.By != string(rules.AtOnce) {
			continue
		}
		if len(out) == 0 {
			out = prompt.Lines(prompt.Head, "stop first if it is so")
		}
		out = append(out, prompt.Line{Kind: prompt.Text, Text: pages.StopHead(s)})
		if r.Book.Stops.Get(s.ID).LeavePump {
			whole = append(whole, s.ID)
		} else {
			s.Do = s.Do[:1]
		}
		out = append(out, prompt.Lines(prompt.Item, s.Do...)...)
	}
	return out, whole
}

// wereRead notes at the end of an answer that stop conditions were read out which hold by
// it: they are not read out twice.
func (r *round) wereRead(whole []string, t turn) turn {
	if take := t.Take; take != nil {
		t.Take = func(a prompt.Answer) turn { return r.wereRead(whole, take(a)) }
		return t
	}
	read := doc.Only(r.stopsAfter(t.End.edits), func(s *rules.Stop) bool { return slices.Contains(whole, s.ID) })
	for _, s := range read {
		t.End.edits = append(t.End.edits, r.log(readLog+r.fill(s.Title)))
	}
	return noted(t, func(s *State) {
		for _, stop := range read {
			s.Sitting.Read[stop.ID] = true
		}
	})
}

// StopsIfSo gives the stop conditions that do not hold and would if one of these, told of
// the case whose file and text these are, is so. Where one that leaves the pump holds or
// would, only such are given: all else waits for them. That hands were inside is not made
// out of words that do not say when something was seen.
func StopsIfSo(book *rules.Book, k *evidence.Case, file string, text []byte, told []hear.Heard) []chances.Stop {
	now := chances.New(book, k)
	known, leave := map[string]bool{}, now.LeavePump()
	for _, s := range now.ToldStops() {
		known[s.ID] = true
	}
	var out []chances.Stop
	tried := map[string]bool{}
	for _, h := range told {
		edits := fmt.Sprint(h.ID, h.Kind, h.Places, h.OneOf, TakenAs(book, k, h))
		if !mayRaise(book, h, func(s *rules.Stop) bool { return known[s.ID] }) || tried[edits] {
			continue
		}
		tried[edits] = true
		_, then, err := record.Apply(file, text, book.Vocabulary(), ToldSign(book, k, h)...)
		if err != nil {
			continue // whoever writes it is told why it cannot be
		}
		so := chances.New(book, then)
		leave = leave || so.LeavePump()
		for _, s := range so.ToldStops() {
			unsaid := book.Stops.Get(s.ID).When.AsksBeside() && TakenAs(book, k, h) == ""
			if !known[s.ID] && !unsaid {
				known[s.ID] = true
				out = append(out, s)
			}
		}
	}
	return slices.DeleteFunc(out, func(s chances.Stop) bool { return leave && !book.Stops.Get(s.ID).LeavePump })
}

// mayRaise says whether a told sign can raise a stop condition that is not known: whether
// one asks about it.
func mayRaise(book *rules.Book, h hear.Heard, known func(s *rules.Stop) bool) bool {
	return h.Is == hear.IsSign && h.Answer == string(evidence.Present) && slices.ContainsFunc(book.Stops.List, func(s *rules.Stop) bool {
		return !known(s) && (s.When.AsksAbout(h.ID) || s.When.AsksBeside() && book.Signs.Get(h.ID).CoversOff())
	})
}

// struck says which lines were struck out.
func struck(book *rules.Book, tale Tale, wrong []int) []prompt.Line {
	if len(wrong) == 0 {
		return nil
	}
	out := doc.Each(wrong, func(i int) string { return pages.HeardLine(book, &tale.Agreed[i]) })
	return prompt.Lines(prompt.Text, "Struck out, as not so: "+strings.Join(out, "; ")+".")
}

// turned turns to what the page had no room for: none of what it had is meant, and is
// kept in the crew's words.
func (t Tale) turned() Tale {
	t.NotHeard = append(slices.Clip(t.NotHeard), doc.Each(t.Perhaps, func(h hear.Heard) string { return h.Words })...)
	t.Perhaps, t.More, t.over = t.More, nil, true
	return t
}

// agreed writes a tale down. What was not chosen of what may be meant is kept in the
// crew's words.
func (r *round) agreed(tale Tale) turn {
	tale.NotHeard = append(slices.Clip(tale.NotHeard), doc.Each(slices.Concat(tale.Perhaps, tale.More), func(h hear.Heard) string { return h.Words })...)
	return writeThen(func(s *State) {
		for _, h := range tale.Agreed {
			if h.Is == hear.IsCheck && h.Answer == string(evidence.Present) {
				s.Follow = append(s.Follow, r.lookedAt(h)...)
			}
		}
	}, Told(r.Book, r.k, tale, r.log)...)
}

// lookedAt asks what came of a check that was told as made, where it was made: it is
// not sent for before that is known.
func (r *round) lookedAt(h hear.Heard) (out []Follow) {
	for _, at := range r.k.Pump.Places(r.Book.Checks.Get(h.ID).Level) {
		if at == (evidence.Place{}) || slices.ContainsFunc(h.Places, at.Touches) {
			out = append(out, Follow{Check: h.ID, At: at, Told: true})
		}
	}
	return out
}

// putRight asks what is wrong with one line of what was understood.
func (r *round) putRight(tale Tale, at int) turn {
	h := tale.Agreed[at]
	without := tale
	without.Agreed = slices.Delete(slices.Clone(tale.Agreed), at, at+1)
	p := prompt.Prompt{
		ID: "put right " + digest([]byte(r.understoodLine(h))), Back: backOne, Leave: leave, Entry: &prompt.Entry{Beside: true},
		Ask:     "What is it instead of: " + pages.HeardLine(r.Book, &h) + "? Or say it in other words.",
		Options: []prompt.Option{option("strike", "nothing; strike it out")},
	}
	instead := map[string]hear.Heard{}
	offer := func(id string, other hear.Heard) {
		instead[id] = other
		p.Options = append(p.Options, option(id, pages.HeardLine(r.Book, &other)))
	}
	for _, other := range r.answersBeside(h) {
		if other.Answer == evidence.Unknown {
			instead[dontKnow.ID] = other
			p.Options = append(p.Options, dontKnow)
			continue
		}
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
			return r.saidSo(without, other, nil)
		case a.One() == "where":
			return r.elsewhere(h, places, without, nil)
		case a.One() == "kind":
			return r.otherKind(h, without)
		}
		return r.agree(without)
	}}
}
