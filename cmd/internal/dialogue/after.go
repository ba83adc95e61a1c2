package dialogue

import (
	"slices"
	"strconv"
	"strings"

	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/chances"
	"telltale/engine/interview"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// repair says how a proved cause is corrected, and behind what.
func (r *round) repair(m *interview.Move) turn {
	cause, title := r.Book.Causes.Get(m.Cause.ID), r.causeAt(m.Cause)
	p := prompt.Prompt{
		ID: "repair " + m.Cause.ID + " " + m.Cause.Place.String(), About: about("cause", m.Cause.ID, m.Cause.Place),
		Body: append(prompt.Lines(prompt.Head, "proved"), prompt.Line{Kind: prompt.Text, Text: title}),
	}
	if !r.s.Sitting.Repairing {
		return r.whatNow(p, m)
	}
	p.Body = append(p.Body, prompt.Line{Kind: prompt.Below, Text: r.fill(cause.Repair)})
	var openable []evidence.At
	if cause.Behind == rules.BehindPump {
		openable = work.Openable(r.Book, r.k, m.Cause.Place)
	}
	p.Ask = behind(m)
	p.Options = []prompt.Option{option("corrected", "corrected"), option("look-on", "not yet; look on")}
	if len(openable) > 0 {
		p.Options = append(p.Options, option("open", "something must be opened for it that is not open yet"))
	}
	corrected := func() turn { return r.corrected(m, "corrected") }
	return ask(p, func(id string) turn {
		switch {
		case id == "look-on":
			return keep(func(s *interview.Sitting) { s.Repairing, s.LookMore = false, true })
		case id == "open":
			return r.toOpen(openable)
		case len(openable) == 0 || anyOpen(r.k, m.Cause.Place):
			return corrected()
		}
		shut := prompt.Prompt{
			ID: "shut " + m.Cause.ID, About: p.About, Ask: "By the case nothing is open there.",
			Options: []prompt.Option{option("shut", "it was put right with nothing opened"), option("open", "something is or must be opened for it")},
		}
		return ask(shut, func(id string) turn {
			if id == "open" {
				return r.toOpen(openable)
			}
			return corrected()
		})
	})
}

// behind says what the repair of a proved cause is done behind.
func behind(m *interview.Move) string {
	i := slices.IndexFunc(m.Report.Confirmed, func(c chances.Confirmed) bool {
		return c.Cause == m.Cause.ID && c.Place == m.Cause.Place
	})
	return pages.BehindWords(m.Report.Confirmed[i])
}

// correctNow is the answer that goes on to the repair.
var correctNow = map[rules.Behind]string{
	rules.BehindPump:    "correct it now, behind the isolation",
	rules.BehindLine:    "correct it now, behind its own line, shut, locked and at zero",
	rules.BehindNothing: "put it right now; the pump is not opened for it",
}

// anyOpen says whether the case has something open at a place.
func anyOpen(k *evidence.Case, place evidence.Place) bool {
	return slices.ContainsFunc(k.Pump.Open, func(at evidence.At) bool { return at.Place.Touches(place) })
}

// toOpen asks what is to be opened for a repair. It then comes step by step,
// with what must come before it, and is closed again with the rest.
func (r *round) toOpen(openable []evidence.At) turn {
	p := prompt.Prompt{ID: "open", Ask: "What must be opened? What comes before it is added."}
	at := map[string]evidence.At{}
	for _, o := range openable {
		step := interview.StepKey(work.Step{Kind: work.StepOpening, ID: o.ID, Place: o.Place})
		at[step] = o
		p.Options = append(p.Options, prompt.Option{ID: step, Title: words.Titled(r.Book.Openings.Get(o.ID).Title, o.Place), Together: true, About: &about("opening", o.ID, o.Place)[0]})
	}
	return several(p, func(steps []string) turn {
		return keep(func(s *interview.Sitting) {
			for _, step := range steps {
				s.ToOpen = append(s.ToOpen, at[step])
				delete(s.Declined, step)
			}
		})
	})
}

// whatNow asks whether to correct what is proved, or to look on.
func (r *round) whatNow(p prompt.Prompt, m *interview.Move) turn {
	cause := r.Book.Causes.Get(m.Cause.ID)
	for _, text := range words.Unexplained(m.Report) {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Below, Text: "It does not explain: " + text})
	}
	if len(m.Report.Unexplained) == 0 {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Below, Text: "It explains, more likely than not, each sign that was seen."})
	}
	if roots := interview.RootsLeft(m.Report, m.Cause); len(roots) > 0 {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Below, Text: "Nobody has looked at what may have brought it on: " + strings.Join(words.Roots(roots), "; ") + "."})
	}
	p.Body = append(p.Body, toldSpoilt(interview.Spoilt(m.Report, m.Cause))...)
	p.Ask = "What now?"
	p.Options = []prompt.Option{option("correct", correctNow[cause.Behind]), option("look-on", "look on first"), option("not-proved", "it is not proved after all")}
	if cause.Behind == rules.BehindNothing {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Below, Text: r.fill(cause.Repair)})
		p.Options = append(p.Options, option("put-right", "it is put right; nobody opened or touched the pump for it"))
	}
	spoilt, look := interview.SpoiltLook(r.Book, r.k, r.s.Sitting, m.Report, m.Cause)
	if look {
		p.Options = append(p.Options, option("spoilt", "look first at what it has probably spoilt: "+words.Titled(spoilt.Title, spoilt.Place)))
	}
	return ask(p, func(id string) turn {
		switch id {
		case "spoilt":
			return keep(func(s *interview.Sitting) { s.Toward = interview.StepKey(spoilt) })
		case "not-proved":
			return r.notProved(m.Cause)
		case "put-right":
			return r.corrected(m, "corrected without touching the pump")
		}
		return keep(func(s *interview.Sitting) { s.Repairing, s.LookMore = id == "correct", id == "look-on" })
	})
}

// lookAgain asks for the look again after a correction.
func (r *round) lookAgain(m *interview.Move) turn {
	title := r.causeAt(m.Cause)
	p := prompt.Prompt{
		ID: interview.LookAgainKey(m.Cause), About: about("cause", m.Cause.ID, m.Cause.Place),
		Body: append(prompt.Lines(prompt.Head, "look again"), prompt.Line{Kind: prompt.Text, Text: "Corrected: " + title}, prompt.Line{Kind: prompt.Below, Text: r.fill(r.Book.Causes.Get(m.Cause.ID).LookAgain)}),
		Options: []prompt.Option{
			option("right", "looked again, it is right"), option("wrong", "looked again, it is NOT right"), aside("unknown", "later: it only shows when closed up or running"),
		},
	}
	return ask(p, func(id string) turn {
		switch id {
		case "right":
			return write(record.LookedAgain(m.Cause.ID, named(m.Cause.Place)...), r.log("looked at again, right: "+title))
		case "wrong":
			return writeThen(func(s *State) { s.Sitting.Repairing = true },
				record.Uncorrected(m.Cause.ID, named(m.Cause.Place)...), r.log("looked at again, NOT right: "+title))
		}
		return decline(interview.LookAgainKey(m.Cause))
	})
}

// closing puts one step of closing up and going back to service.
func (r *round) closing(m *interview.Move) turn {
	s := m.Step
	done := "done"
	if s.Minutes == 0 {
		done = "noted for then" // nothing to do now
	}
	p := prompt.Prompt{
		ID: "step " + interview.StepKey(s), About: about(s.Kind, s.ID, s.Place),
		Body:    append(prompt.Lines(prompt.Head, "closing up"), prompt.Line{Kind: prompt.Text, Text: signalled(s)}, prompt.Line{Kind: prompt.Below, Text: s.Do + " (" + strconv.Itoa(len(m.Returns)) + " left, with this one)"}),
		Options: []prompt.Option{option("done", done), aside("not-done", "not done, or cannot be"), aside("report", "report something")},
	}
	locks, open := r.lists(s.ID)
	if len(locks)+len(open) > 0 {
		p.Options = append(p.Options, aside("lock", "write down whose locks are off, what is shut"))
	}
	return ask(p, func(id string) turn {
		switch id {
		case "lock":
			return r.takenOff(locks, open)
		case "not-done":
			return r.waits(m, "Then the pump stays as it is. What comes after this step waits.")
		case "report":
			return r.report()
		}
		if len(locks)+len(open) > 0 { // done is what is written as done
			return told(r.takenOff(locks, open), prompt.Line{Kind: prompt.Text, Text: "By the case this is not all off and shut yet. The step is done once it is."})
		}
		return r.closed(m)
	})
}

// closed notes a step back to service. The case says that all is open until the
// last of it is closed: whoever takes it up in between goes through all of the
// closing again, as some of its steps are owed because of what was open. Then
// the pump is isolated no more: whoever wants to open it again begins from the
// start. With the last step it runs. Of a pump that a stop condition keeps out of
// service the locks stay on.
func (r *round) closed(m *interview.Move) turn {
	after := r.s.Sitting.Copy()
	if len(after.Returning) == 0 {
		after.Returning = m.Returns
	}
	after.Closed[interview.StepKey(m.Step)] = true
	edits := []record.Edit{r.log(closingLog + ": " + words.Titled(m.Step.Title, m.Step.Place))}
	left := m.Returns[1:]
	shut := !slices.ContainsFunc(left, func(s work.Step) bool { return r.Book.Openings.Get(s.ID) != nil })
	if shut && r.k.Pump.State == evidence.Isolated {
		edits = append(edits, r.closings(after)...)
		if !m.Report.OutOfService {
			edits = append(edits, record.SetPump("state", string(evidence.Stopped)))
			after.Safe = map[string]bool{}
		}
	}
	switch {
	case len(left) == 0 && m.Report.OutOfService:
		after.Returning = nil // it stays as it is
	case len(left) == 0:
		edits = append(edits, record.SetPump("state", string(evidence.Running)), record.BackInService())
		read := after.Read
		after = interview.NewSitting() // what only shows running can be looked at now
		after.Read = read
	}
	return writeThen(func(s *State) { s.Sitting = after }, edits...)
}

// closings closes in the case what was closed in a sitting.
func (r *round) closings(s *interview.Sitting) []record.Edit {
	var edits []record.Edit
	for _, step := range s.Returning {
		if r.Book.Openings.Get(step.ID) != nil && s.Closed[interview.StepKey(step)] {
			edits = append(edits, record.Closed(step.ID, named(step.Place)...))
		}
	}
	return edits
}

// breakOff ends a closing up that is not over because something else comes
// first. What was closed is closed.
func (r *round) breakOff() turn {
	var edits []record.Edit
	if r.k.Pump.State == evidence.Isolated {
		edits = r.closings(r.s.Sitting)
	}
	return prompt.End(end{edits: append(edits, r.log(closingLog+" broken off")), final: true, note: func(s *State) {
		s.Sitting.Returning, s.Sitting.Closed, s.Sitting.Closing = nil, map[string]bool{}, false
	}})
}

// done says what was found, corrected and looked at again, and that nothing is
// left but what is noticed from now on.
func (r *round) done(m *interview.Move) turn {
	p := prompt.Prompt{ID: "done", Body: prompt.Lines(prompt.Head, "done")}
	for _, at := range r.k.Confirmed {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Item, Text: r.causeAt(at)})
		if roots := interview.RootsLeft(m.Report, at); len(roots) > 0 {
			p.Body = append(p.Body, prompt.Line{Kind: prompt.Under, Text: "Not looked at yet: " + strings.Join(words.Roots(roots), "; ") + ". The case stays open for it."})
		}
	}
	for _, c := range m.Report.Confirmed {
		if c.RootLeft && len(c.RootsLeft) > 0 {
			p.Body = append(p.Body, prompt.Line{Kind: prompt.Item, Text: "Left unlooked at by the crew: " + strings.Join(words.Roots(c.RootsLeft), "; ")})
		}
	}
	text := "Found, corrected, looked at again and closed up."
	if m.Report.OutOfService {
		text = "Closed up. The pump does not run: a stop condition keeps it out of service, and the locks stay on."
	} else if len(r.k.LookedAgain) < len(r.k.Corrected) {
		text = "Found, corrected and closed up. Still to be looked at again: what only shows running. Take this case up again then."
	}
	if len(r.k.Pump.ClosedAgain) > 0 && !m.Report.OutOfService {
		text = "Found and corrected. By the case the pump runs, but it did not go all the way back to service."
	}
	p.Body = append(p.Body, prompt.Line{Kind: prompt.Text, Text: text})
	p.Options = []prompt.Option{option("all", "that is all"), option("report", "report something that was noticed")}
	r.closable(m, &p)
	return ask(p, func(id string) turn {
		switch id {
		case "report":
			return r.report()
		case "close":
			return r.closeJob(closingJob{})
		case goneThroughID:
			return r.wentThrough()
		}
		return over()
	})
}

// nothingLeft ends the search when the rulebook has nothing more to offer.
func (r *round) nothingLeft(m *interview.Move) turn {
	r.standing(m)
	p := prompt.Prompt{
		ID: "nothing", Body: prompt.Lines(prompt.Text, "No question or check of the rulebook would settle what is open. Call the maintenance engineer."),
	}
	if off := r.s.Sitting.LookMore || len(r.s.Sitting.Declined) > 0; off && r.s.TakenUp != says(r.text) {
		p.Body = prompt.Lines(prompt.Text, "No question or check of the rulebook that was not put off would settle what is open. Call the maintenance engineer, or take up what was put off.")
		p.Options = append(p.Options, option("take-up", "take up what was put off"))
	}
	p.Options = append(p.Options, option("all", "that is all for now"), option("report", "report something else"))
	if r.k.Pump.State == evidence.Isolated {
		up := "close up and return to service"
		if m.Report.OutOfService {
			up = "close up; the pump does not run again"
		}
		p.Options = append(p.Options, option("close", up))
	}
	if as := r.closeAsItIs(); len(as) > 0 {
		as[0].Aside = false
		p.Options = append(as, p.Options...)
	}
	return ask(p, func(id string) turn {
		switch id {
		case closeID:
			return r.closeAsFound(m)
		case "report":
			return r.report()
		case "close":
			return keep(func(s *interview.Sitting) { s.Closing = true })
		case "all":
			return over()
		}
		return prompt.End(end{note: func(s *State) {
			s.TakenUp, s.Sitting.Declined, s.Sitting.LookMore = says(r.text), map[string]bool{}, false
		}})
	})
}
