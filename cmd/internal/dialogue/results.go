package dialogue

import (
	"fmt"
	"slices"

	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/interview"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// check takes the result of a check: one of the results of the rulebook, that
// nothing was found, or that it settles nothing.
func (r *round) check(p prompt.Prompt, m *interview.Move) turn {
	results := map[string]work.Result{}
	p.Ask = "What came out?"
	for i, result := range m.Step.Results {
		id := fmt.Sprintf("result %d", i+1)
		results[id] = result
		p.Options = append(p.Options, option(id, result.If))
	}
	p.Options = append(p.Options, option("nothing", "nothing wrong found"))
	p.Options = append(p.Options, unclear)
	p.Options = append(p.Options, r.around(m, notNow)...)
	return ask(p, func(id string) turn {
		result, one := results[id]
		switch {
		case one:
			return told(r.result(m, result), prompt.Line{Kind: prompt.Below, Text: result.Then})
		case id == "nothing":
			return r.checked(m, "nothing", "nothing wrong found")
		case id == unclear.ID:
			return r.unclear(m, "not clear")
		}
		return r.aroundStep(id, m)
	})
}

var unclear = aside("unknown", "done, but the result is not clear")

// checked notes a check, with what was seen at it.
func (r *round) checked(m *interview.Move, result, said string, seen ...record.Edit) turn {
	edits := append(seen, record.Checked(m.Step.ID, result, named(m.Step.Place)...), r.log("checked: "+words.Titled(m.Step.Title, m.Step.Place)+": "+said))
	return writeThen(func(s *State) { s.Sitting.InARow = 0 }, edits...)
}

// result asks whether a result proves a cause.
func (r *round) result(m *interview.Move, result work.Result) turn {
	if len(result.PointsTo) == 0 && len(result.Clears) > 0 {
		return r.checked(m, "nothing", result.If)
	}
	proved := r.provable(m, result.PointsTo)
	switch {
	case len(proved) == 0:
		return r.shown(m, result)
	case len(proved) == 1 && r.leaves(proved[0]):
		// The well does not wait for a proof; whoever is in charge takes it back.
		return r.checked(m, "unclear", result.If, record.Confirm(proved[0].ID, named(proved[0].Place)...))
	}
	p := prompt.Prompt{ID: "proved " + interview.StepKey(m.Step), About: about("check", m.Step.ID, m.Step.Place), Ask: "Does that prove one of these?"}
	p.Options = []prompt.Option{option("no", "not proved yet")}
	at := map[string]evidence.At{}
	for _, cause := range proved {
		o := option(cause.ID+" "+cause.Place.String(), "proved: "+r.causeAt(cause))
		o.About = &about("cause", cause.ID, cause.Place)[0]
		at[o.ID] = cause
		p.Options = append(p.Options, o)
	}
	p.Options = append(p.Options, dontKnow)
	return ask(p, func(id string) turn {
		cause, yes := at[id]
		if !yes {
			return r.shown(m, result)
		}
		edits, _ := r.signOf(m, result)
		edits = append(edits, record.Confirm(cause.ID, named(cause.Place)...), record.Checked(m.Step.ID, "unclear", named(m.Step.Place)...), r.log("proved: "+r.causeAt(cause)))
		return writeThen(func(s *State) { s.Sitting.Repairing, s.Sitting.LookMore, s.Sitting.InARow = false, false, 0 }, edits...)
	})
}

// signOf gives the edit that writes the sign that a result is, none where it is
// no sign, is answered already, or can be at several places; open is that sign
// then.
func (r *round) signOf(m *interview.Move, result work.Result) (edits []record.Edit, open *Follow) {
	if result.Shows == "" {
		return nil, nil
	}
	s, here := r.Book.Signs.Get(result.Shows), m.Step.Place
	places := r.k.Pump.Under(here, s.Level)
	if !s.When.Holds(r.k, r.Book) || len(r.unanswered(s, places)) == 0 {
		return nil, nil
	}
	if len(places) != 1 {
		return nil, &Follow{Sign: s.ID, At: here}
	}
	answer := result.Kind
	if answer == "" {
		answer = "present"
	}
	return []record.Edit{finding(s, answer, places...)}, nil
}

// shown notes a result that proves nothing: the sign that it is goes into the
// case by itself, or it is asked where it shows; where the book names no sign
// it is asked which were seen.
func (r *round) shown(m *interview.Move, result work.Result) turn {
	edits, open := r.signOf(m, result)
	if len(edits) == 0 && open == nil {
		return r.unclear(m, result.If)
	}
	t := r.checked(m, "unclear", result.If, edits...)
	if open == nil {
		return t
	}
	return noted(t, func(s *State) { s.Follow = append(s.Follow, *open) })
}

// leaves says whether a cause, if it is there, makes everybody leave the pump.
func (r *round) leaves(at evidence.At) bool {
	return r.stopAfter([]record.Edit{record.Confirm(at.ID, named(at.Place)...)}, func(s *rules.Stop) bool { return s.LeavePump })
}

// unclear notes a check that settled nothing; then it is asked which of the signs
// that it tells of were seen: they move the ranking, the check alone does not.
func (r *round) unclear(m *interview.Move, words string) turn {
	return noted(r.checked(m, "unclear", words), func(s *State) {
		s.Follow = append(s.Follow, Follow{Check: m.Step.ID, At: m.Step.Place})
	})
}

// follow asks what a check is followed by.
func (r *round) follow(f Follow) turn {
	if f.Check != "" {
		return r.wereSeen(f)
	}
	s := r.Book.Signs.Get(f.Sign)
	places := r.unanswered(s, r.k.Pump.Under(f.At, s.Level))
	if len(places) == 0 {
		return followed()
	}
	return noted(r.answer(s, places, nil), unfollow)
}

// unfollow takes the first of what is to follow off.
func unfollow(s *State) { s.Follow = s.Follow[1:] }

func followed() turn { return prompt.End(end{note: unfollow, final: true}) }

// wereSeen asks which signs of a check were seen; these are asked then.
func (r *round) wereSeen(f Follow) turn {
	check := r.Book.Checks.Get(f.Check)
	p := prompt.Prompt{ID: "seen " + f.Check, About: about("check", f.Check, f.At), Ask: "Was one of these seen?"}
	if f.Told {
		p.Ask = "You looked at this: " + words.Titled(check.Title, f.At) + ". What did you find?"
		if slices.ContainsFunc(check.MainQuestions(), func(id string) bool {
			s := r.Book.Signs.Get(id)
			places := r.k.Pump.Under(f.At, s.Level)
			return len(r.unanswered(s, places)) < len(places)
		}) {
			return prompt.End(end{edits: r.made(f, "unclear"), note: unfollow, final: true}) // what it showed was told
		}
	}
	var none []record.Edit
	for _, id := range check.Answers {
		s := r.Book.Signs.Get(id)
		open := r.unanswered(s, r.k.Pump.Under(f.At, s.Level))
		if len(open) == 0 || !s.When.Holds(r.k, r.Book) || !s.Fits(r.k) {
			continue
		}
		p.Options = append(p.Options, prompt.Option{ID: id, Title: s.Title, Together: true, About: &about("sign", id, f.At)[0]})
		none = append(none, finding(s, "absent", open...))
		if f.Told && s.CoversOff() {
			none = append(none, r.takenWith(f.Check, id)...)
		}
	}
	if len(p.Options) == 0 {
		return followed()
	}
	p.Options = append(p.Options, aside("none", "none of these; each was looked at"), aside("unknown", "don't know, nothing to add"))
	return several(p, func(ids []string) turn {
		switch ids[0] {
		case "none":
			return writeThen(unfollow, append(none, r.made(f, "nothing")...)...)
		case "unknown":
			return writeThen(unfollow)
		}
		return writeThen(func(s *State) {
			unfollow(s)
			for _, id := range ids {
				s.Follow = append(s.Follow, Follow{Sign: id, At: f.At})
			}
		}, r.made(f, "unclear")...)
	})
}

// made notes a check that was told as made, so that nobody is sent there again. It
// found nothing only where none of its signs was seen there.
func (r *round) made(f Follow, result string) []record.Edit {
	if !f.Told {
		return nil
	}
	check := r.Book.Checks.Get(f.Check)
	seen := slices.ContainsFunc(r.k.Findings, func(o evidence.Finding) bool {
		return o.Answer == evidence.Present && slices.Contains(check.Answers, o.Sign) && o.At.Touches(f.At)
	})
	if seen {
		result = "unclear"
	}
	return append([]record.Edit{record.Checked(f.Check, result, named(f.At)...)}, r.log("checked, as told: "+words.Titled(check.Title, f.At)))
}

// takenWith notes that a sign was looked at when its check was made, where the case
// says when that was; else it is asked.
func (r *round) takenWith(check, sign string) []record.Edit {
	when, said := r.k.Taken[check]
	if !said {
		return nil
	}
	return []record.Edit{record.SetTaken(when, sign)}
}

// provable gives the causes that a result points to and that the check can
// prove, at their places within that of the check: not where they are ruled
// out, proved already, or where a look that can prove them found nothing.
func (r *round) provable(m *interview.Move, causes []string) []evidence.At {
	var out []evidence.At
	for _, id := range causes {
		cause := r.Book.Causes.Get(id)
		if !cause.When.HoldsForPump(&r.k.Pump) || !r.Book.CanProve(r.Book.Checks.Get(m.Step.ID), id) {
			continue
		}
		for _, p := range r.k.Pump.Under(m.Step.Place, cause.Level) {
			if at := (evidence.At{ID: id, Place: p}); !r.excluded(at) {
				out = append(out, at)
			}
		}
	}
	return out
}

func (r *round) excluded(at evidence.At) bool {
	same := func(other evidence.At) bool { return other.ID == at.ID && other.Place == at.Place }
	return slices.ContainsFunc(r.k.RuledOut, same) || slices.ContainsFunc(r.k.Confirmed, same) ||
		slices.ContainsFunc(r.k.Cleared, func(done evidence.At) bool {
			return done.Place == at.Place && r.Book.CanProve(r.Book.Checks.Get(done.ID), at.ID)
		})
}
