package dialogue

import (
	"slices"
	"strings"

	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// answer asks for one sign: where it shows, of what kind, and what of the others.
// m is nil when the crew reported the sign by itself.
func (r *round) answer(s *rules.Sign, places []evidence.Place, m *interview.Move) turn {
	if m != nil {
		r.standing(m)
	}
	text := r.fill(s.Ask)
	if len(places) == 1 && places[0] != (evidence.Place{}) {
		text = words.Capital(placeTitle(places[0])) + ": " + text
	}
	p := prompt.Prompt{
		ID: "sign " + s.ID, About: about("sign", s.ID, places...), Body: prompt.Lines(prompt.Block, text),
		Back: backOne,
	}
	if s.Tell != "" {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Below, Text: r.fill(s.Tell)})
	}
	if len(places) == 1 {
		return r.answerHere(p, s, places, m)
	}
	return r.answerWhere(p, s, places, m)
}

// extras are what can be said instead of an answer.
func (r *round) extras(m *interview.Move) []prompt.Option {
	out := []prompt.Option{dontKnow}
	if m == nil {
		return out
	}
	why := aside("why", "why")
	why.Shows = prompt.Lines(prompt.Below, r.whyAsked(m))
	return append(append(out, why, aside("report", "report"), aside("skip", "no more questions")), r.closeAsItIs()...)
}

// extra does what an extra option asks for.
func (r *round) extra(id string, s *rules.Sign, places []evidence.Place, m *interview.Move) turn {
	switch id {
	case "unknown":
		return write(finding(s, "unknown", places...))
	case "report":
		return r.notice("What else was noticed?", "")
	case closeID:
		return r.closeAsFound(m)
	}
	return keep(func(s *interview.Sitting) {
		for _, q := range m.Report.Ask {
			s.Declined[interview.SignKey(q.Sign)] = true
		}
	})
}

// whyAsked says what the answer tells apart.
func (r *round) whyAsked(m *interview.Move) string {
	text := "The answer changes what is done next."
	if len(m.Roots) > 0 {
		text = "The answer tells what brought on what is proved: " + r.causeAt(m.Cause) + "."
	}
	if len(m.Apart) > 1 {
		text = "The answers point to different things: " + strings.Join(m.Apart, " / ") + "."
	}
	return text + " No other open question that can be answered now is expected to tell more of use."
}

func finding(s *rules.Sign, answer string, places ...evidence.Place) record.Edit {
	if s.Level == evidence.OfPump {
		return record.SetFinding(s.ID, answer)
	}
	return record.SetFinding(s.ID, answer, places...)
}

// kinds are the answers of a sign with their words.
func kinds(s *rules.Sign) []prompt.Option {
	var options []prompt.Option
	for _, kind := range s.Kinds {
		options = append(options, option(kind.ID, kind.Title))
	}
	return options
}

// howKind asks of which kind something is that is there; "present" if nobody knows.
func howKind(p prompt.Prompt, options []prompt.Option, take func(kind string) turn) turn {
	p.Options = append(options, cannotSay)
	return ask(p, func(kind string) turn {
		if kind == cannotSay.ID {
			kind = string(evidence.Present)
		}
		return take(kind)
	})
}

var cannotSay = aside("unknown", "don't know which")

// answerHere asks at one place: of what kind, or not at all.
func (r *round) answerHere(p prompt.Prompt, s *rules.Sign, here []evidence.Place, m *interview.Move) turn {
	p.Options = []prompt.Option{option("present", "yes"), option("absent", "no")}
	if len(s.Kinds) > 0 {
		p.Options = append(kinds(s), option("present", "one of these, but I cannot say which"), option("absent", "no, none of these"))
	}
	answers := len(p.Options)
	p.Options = append(p.Options, r.extras(m)...)
	return ask(p, func(id string) turn {
		if slices.ContainsFunc(p.Options[:answers], func(o prompt.Option) bool { return o.ID == id }) {
			return write(finding(s, id, here...))
		}
		return r.extra(id, s, here, m)
	})
}

// answerWhere asks which of several places show the sign, of what kind, and
// whether the others do not.
func (r *round) answerWhere(p prompt.Prompt, s *rules.Sign, places []evidence.Place, m *interview.Move) turn {
	places = slices.DeleteFunc(r.k.Pump.Places(s.Level), func(p evidence.Place) bool { return !slices.Contains(places, p) })
	p.Ask = "Where?"
	for _, place := range places {
		p.Options = append(p.Options, placeOption(place, true))
	}
	p.Options = append(p.Options, aside("none", "none of them"), aside("all", "all of them"))
	if len(places) == len(r.k.Pump.Places(s.Level)) {
		p.Options = append(p.Options, aside("somewhere", "there, not known where"))
	}
	p.Options = append(p.Options, r.extras(m)...)
	return several(p, func(ids []string) turn {
		showing, others := parted(places, ids)
		switch {
		case len(showing) > 0:
			return r.howAtAll(s, showing, others)
		case ids[0] == "none":
			return write(finding(s, "absent", places...))
		case ids[0] == "all":
			return r.howAtAll(s, places, nil)
		case ids[0] == "somewhere":
			return somewhere(s)
		}
		return r.extra(ids[0], s, places, m)
	})
}

// placeID is the id of a place among other answers.
func placeID(p evidence.Place) string { return "at " + p.String() }

// placeOption offers a place.
func placeOption(p evidence.Place, together bool) prompt.Option {
	return prompt.Option{ID: placeID(p), Title: placeTitle(p), Together: together, About: &about("place", "", p)[0]}
}

func placeTitle(p evidence.Place) string { return strings.TrimPrefix(words.Titled("", p), ", ") }

// parted gives the places that were chosen, and the others.
func parted(places []evidence.Place, chosen []string) (showing, others []evidence.Place) {
	for _, p := range places {
		if slices.Contains(chosen, placeID(p)) {
			showing = append(showing, p)
			continue
		}
		others = append(others, p)
	}
	return showing, others
}

// howAtAll asks for the kind, at all places in one if it is the same.
func (r *round) howAtAll(s *rules.Sign, showing, others []evidence.Place) turn {
	if len(s.Kinds) == 0 {
		return r.howAtEach(s, "present", showing, others, nil)
	}
	if len(showing) == 1 {
		return r.howAtEach(s, "", showing, others, nil)
	}
	p := prompt.Prompt{ID: "kind " + s.ID, About: about("sign", s.ID, showing...), Ask: "At " + placeList(showing) + ", how?"}
	return howKind(p, append(kinds(s), option("each", "not the same at each")), func(kind string) turn {
		if kind == "each" {
			kind = ""
		}
		return r.howAtEach(s, kind, showing, others, nil)
	})
}

// howAtEach asks for the kind at each place that shows the sign, unless it is
// known, then for the others. All of it is one answer. If what was said calls for a
// stop it asks no further: the stop comes first.
func (r *round) howAtEach(s *rules.Sign, known string, showing, others []evidence.Place, said []record.Edit) turn {
	switch {
	case len(said) > 0 && r.stops(said):
		return write(said...)
	case len(showing) == 0:
		return r.andTheOthers(s, others, said)
	}
	here := func(kind string) turn {
		return r.howAtEach(s, known, showing[1:], others, append(slices.Clip(said), finding(s, kind, showing[0])))
	}
	if known != "" {
		return here(known)
	}
	p := prompt.Prompt{ID: "kind " + s.ID + " " + showing[0].String(), About: about("sign", s.ID, showing[0]), Ask: "At " + placeTitle(showing[0]) + ", how?"}
	return howKind(p, kinds(s), here)
}

// andTheOthers asks whether the other places do not show the sign.
func (r *round) andTheOthers(s *rules.Sign, others []evidence.Place, said []record.Edit) turn {
	if len(others) == 0 {
		return write(said...)
	}
	p := prompt.Prompt{
		ID: "others " + s.ID, About: about("sign", s.ID, others...), Ask: "And the others (" + placeList(others) + ")?",
		Options: []prompt.Option{option("absent", "they do not show it"), dontKnow},
	}
	return ask(p, func(answer string) turn { return write(append(slices.Clip(said), finding(s, answer, others...))...) })
}

// stops says whether the case with these edits calls for a stop that was not
// read out yet.
func (r *round) stops(edits []record.Edit) bool {
	return r.stopAfter(edits, func(s *rules.Stop) bool { return !r.s.Sitting.Read[s.ID] })
}

// somewhere notes that the sign is there, of what kind, but not where.
func somewhere(s *rules.Sign) turn {
	if len(s.Kinds) == 0 {
		return write(record.SetFinding(s.ID, "present"))
	}
	p := prompt.Prompt{ID: "kind " + s.ID, About: about("sign", s.ID), Ask: "How?"}
	return howKind(p, kinds(s), func(kind string) turn { return write(record.SetFinding(s.ID, kind)) })
}

func placeList(places []evidence.Place) string {
	var names []string
	for _, p := range places {
		names = append(names, p.String())
	}
	return strings.Join(names, ", ")
}

// lately asks what was done on the pump in the last days.
func (r *round) lately() turn {
	works := prompt.Prompt{ID: "works", Ask: "What was it? Tell it in your own words, or pick."}
	for _, w := range r.Book.Works.List {
		works.Options = append(works.Options, prompt.Option{ID: w.ID, Title: w.Title, Together: true})
	}
	works.Options = append(works.Options, aside("none", "none of these"), dontKnow)
	p := prompt.Prompt{
		ID: "lately", Body: prompt.Lines(prompt.Block, "In the last days: was work done on this pump, or something changed in mud, lines or string?"),
		Options: []prompt.Option{option("yes", "yes"), option("no", "no"), dontKnow},
	}
	return ask(p, func(id string) turn {
		if id != "yes" {
			return nothingLately()
		}
		return several(works, func(ids []string) turn {
			if ids[0] == "none" || ids[0] == dontKnow.ID {
				return nothingLately()
			}
			var edits []record.Edit
			for _, id := range ids {
				edits = append(edits, record.AddRecent(id))
			}
			return write(edits...)
		})
	})
}

// nothingLately asks no more what was done lately.
func nothingLately() turn {
	return keep(func(s *interview.Sitting) { s.Declined[interview.LatelyKey] = true })
}

// How many causes stand above a question, and from which chance all but the first.
const (
	mostLeading  = 3
	leastLeading = 0.1
)

// standing says in few lines where the case stands, if that has changed since it
// was last said: the leading causes and the check that the steps lead to. It
// says nothing while something proved is put right.
func (r *round) standing(m *interview.Move) {
	explained := len(m.Report.Confirmed) > 0 && len(m.Report.Unexplained) == 0
	if r.s.Sitting.Repairing || explained {
		return
	}
	var lines []string
	if len(m.Report.Found) > 0 {
		for i, c := range m.Report.Causes[:min(len(m.Report.Causes), mostLeading)] {
			if i > 0 && c.Probability < leastLeading {
				break
			}
			lines = append(lines, words.Capital(words.Likely(c.Probability))+": "+words.Titled(c.Title, c.Place))
		}
	}
	if step := pages.FirstCheck(m.Report); step != "" && m.Step.Kind != "check" {
		lines = append(lines, "First check: "+step+".")
	}
	if len(lines) > 0 {
		r.once("standing", append(prompt.Lines(prompt.Text, "Likeliest now:"), prompt.Lines(prompt.Below, lines...)...)...)
	}
}
