package dialogue

import (
	"fmt"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/interview"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// readStop reads a stop condition out; nothing else is said before it is
// acknowledged.
func (r *round) readStop(m *interview.Move) turn {
	p := prompt.Prompt{
		ID: "stop " + m.Stop.ID, About: about("stop", m.Stop.ID), Back: backWrong,
		Body:    append(prompt.Lines(prompt.Head, "stop first"), prompt.Line{Kind: prompt.Text, Text: pages.StopHead(m.Stop)}),
		Options: []prompt.Option{option("read", "read and done")},
	}
	p.Body = append(p.Body, prompt.Lines(prompt.Item, m.Stop.Do...)...)
	return ask(p, func(string) turn {
		return writeThen(func(s *State) { s.Sitting.Read[m.Stop.ID] = true }, r.log(readLog+m.Stop.Title))
	})
}

// waiting asks nothing more while the pump waits for the well. Once it is over,
// what made it wait is taken back: whether it is so is asked anew.
func (r *round) waiting(m *interview.Move) turn {
	p := prompt.Prompt{
		ID:      "waiting",
		Options: []prompt.Option{option("on", "it goes on; leave the pump"), option("over", "it is over, and the person in charge of it says so")},
	}
	for _, stop := range m.Report.Stop {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Text, Text: pages.StopHead(stop)})
	}
	p.Body = append(p.Body, prompt.Line{Kind: prompt.Text, Text: "The pump waits until the stop condition is over. Nothing more is asked now."})
	return ask(p, func(id string) turn {
		if id == "on" {
			return over("Then leave the pump. Take this case up again when it is over.")
		}
		signs, causes := interview.Waiting(r.Book, r.k)
		if len(signs)+len(causes) == 0 {
			return over("What makes it wait is several findings together. Take them out of the case file by hand.")
		}
		var edits []record.Edit
		for _, id := range signs {
			edits = append(edits, record.ClearFinding(id))
		}
		for _, at := range causes {
			edits = append(edits, record.Unconfirm(at.ID, named(at.Place)...))
		}
		for _, stop := range m.Report.Stop {
			edits = append(edits, r.log(overLog+stop.Title))
		}
		return writeThen(func(s *State) {
			s.Sitting.Read = map[string]bool{}
			s.Sitting.Safe = map[string]bool{} // everybody had left, and pumps may have run for the well
		}, edits...)
	})
}

// held waits with everything that opens or closes the pump until the crew says
// that it is over. That is written as seen: what made it hold is not there any
// more. What was proved of the isolation before counts no longer.
func (r *round) held(m *interview.Move) turn {
	var stops []string
	anew, others := false, false
	for _, s := range m.Report.Stop {
		if stop := r.Book.Stops.Get(s.ID); stop.OpenNothing {
			stops, anew = append(stops, s.Title), anew || stop.IsolateAnew
			others = others || stop.When.AsksOthers()
		}
	}
	holding := strings.Join(stops, "; ")
	p := prompt.Prompt{
		ID: "held", Body: prompt.Lines(prompt.Text, "Nothing is opened, closed up or repaired until this is over: "+holding+"."), Ask: "Is it over?",
		Options: []prompt.Option{option("over", "it is over: seen by whoever is in charge of the permit"), option("report", "report something that was noticed"), dontKnow},
	}
	if m.Step.ID != "" {
		p.Options = append(p.Options, option("meanwhile", "it goes on; do meanwhile what needs nothing opened"))
	}
	return ask(p, func(id string) turn {
		switch id {
		case "report":
			return r.report()
		case "meanwhile":
			return decline(interview.HeldKey)
		case dontKnow.ID:
			return say("Then nothing is opened. Ask whoever is in charge of the permit.")
		}
		signs, causes := interview.Holding(r.Book, r.k)
		if len(signs)+len(causes) == 0 && others {
			return say("It is over once the other job says so. Go to that job, and write there how the pump stands, what was closed and which locks are off.")
		}
		if len(signs)+len(causes) == 0 {
			return say("What holds it back is several findings together. Put them right in the case file by hand.")
		}
		edits := []record.Edit{r.log(overLog + holding)}
		for _, id := range signs {
			edits = append(edits, record.SetFinding(id, "absent"))
		}
		for _, at := range causes {
			edits = append(edits, record.Unconfirm(at.ID, named(at.Place)...))
		}
		if !anew {
			return writeThen(r.proveAnew, edits...)
		}
		return r.isolateAnew(edits)
	})
}

// madeAnew is what State.Told keeps of an isolation that is made anew.
const madeAnew = "the isolation is made anew"

// isolateAnew forgets all that was done of the isolation. A pump of which nothing is
// open counts as stopped only, so that no step is taken over from before.
func (r *round) isolateAnew(edits []record.Edit) turn {
	says := "What was done of the isolation counts no more. It is made anew from its first step."
	switch {
	case len(r.k.Pump.Open) > 0:
		says = "What was done of the isolation counts no more. Something stands open: keep clear of it till the isolation is made anew from its first step, by the site's procedure, and every step of it is seen again."
	case r.k.Pump.State == evidence.Isolated:
		edits = append(edits, record.SetPump("state", string(evidence.Stopped)))
	}
	t := writeThen(func(s *State) {
		r.proveAnew(s)
		s.Sitting.Safe = map[string]bool{}
		s.Told[madeAnew] = says
	}, edits...)
	return told(t, prompt.Line{Kind: prompt.Text, Text: says})
}

// decline puts something off, by its key.
func decline(key string) turn {
	return keep(func(s *interview.Sitting) { s.Declined[key] = true })
}

func (r *round) report() turn { return r.notice("What was noticed?", "") }

// proveAnew forgets what has to be proved again, and that the stop conditions
// were read: should one come again, it is read again.
func (r *round) proveAnew(s *State) {
	s.Sitting.Read = map[string]bool{}
	delete(s.Sitting.Declined, interview.HeldKey)
	for _, g := range r.Book.Safety.List {
		if g.InFull {
			delete(s.Sitting.Safe, g.ID)
		}
	}
}

// step puts the next step of the list: a safety step, an opening or a check.
func (r *round) step(m *interview.Move) turn {
	s := m.Step
	if h := m.Report.Haste; h == nil || h.Verdict != string(rules.StopNow) || s.Kind == work.StepCheck { // the stop comes before what it may be
		r.standing(m)
	}
	if m.EnoughAsked {
		r.once("enough", prompt.Line{Kind: prompt.Text, Text: "Enough asked: no other answer would change what to do now."})
	}
	if m.AskLater && s.Kind == work.StepCheck {
		r.news = append(r.news, prompt.Line{Kind: prompt.Text, Text: "Enough asked for now: a check tells more. The other questions come after it."})
	}
	p := prompt.Prompt{
		ID: "step " + interview.StepKey(s), About: about(s.Kind, s.ID, s.Place), Back: backOne,
		Body: append(prompt.Lines(prompt.Head, fmt.Sprintf("next step (%s)", words.Minutes(s.Minutes))), prompt.Line{Kind: prompt.Text, Text: signalled(s)}, prompt.Line{Kind: prompt.Below, Text: s.Do}),
	}
	if len(s.Tools) > 0 {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Below, Text: "Tools: " + strings.Join(s.Tools, ", ") + "."})
	}
	switch s.Kind {
	case work.StepSafety:
		return r.safetyStep(p, m)
	case work.StepOpening:
		return r.opening(p, m)
	}
	return r.check(p, m)
}

// signalled is a step by its title, behind its signal word if it has one.
func signalled(s work.Step) string {
	return doc.If(s.Signal != "", strings.ToUpper(s.Signal)+": ") + words.Titled(s.Title, s.Place)
}

// around are the answers that every step offers besides its own.
func (r *round) around(m *interview.Move, declined prompt.Option) []prompt.Option {
	plan := aside("plan", "plan")
	for _, s := range m.Report.Steps {
		kind := prompt.Open
		if s.Kind == work.StepSafety && r.s.Sitting.Safe[s.ID] {
			kind = prompt.Done
		}
		plan.Shows = append(plan.Shows, prompt.Line{Kind: kind, Text: fmt.Sprintf("%d. %s (%s)", s.Number, words.Titled(s.Title, s.Place), words.Minutes(s.Minutes))})
	}
	return append([]prompt.Option{declined, aside("report", "report something"), plan}, r.closeAsItIs()...)
}

var notNow = aside("not-now", "not now")

// aroundStep does what an option beside a step asks for.
func (r *round) aroundStep(id string, m *interview.Move) turn {
	switch id {
	case "report":
		return r.report()
	case closeID:
		return r.closeAsFound(m)
	}
	return decline(interview.StepKey(m.Step))
}

// safetyStep asks for one safety step. It cannot be passed over: without it
// nothing that stands behind it is offered.
func (r *round) safetyStep(p prompt.Prompt, m *interview.Move) turn {
	g := r.Book.Safety.Get(m.Step.ID)
	who := r.s.By
	if who == "" {
		who = "nobody named"
	}
	if r.s.Told[madeAnew] != "" && g.For == rules.ForIsolation {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Below, Text: "The isolation failed before: nothing is taken over from it. Make this step anew, by the site's procedure."})
	}
	fails := r.doubts(g)
	p.Options = []prompt.Option{option("done", "done")}
	if len(fails) > 0 {
		p.Options[0].Title = "done, and it holds"
	}
	p.Options = append(append(p.Options, fails...), r.around(m, aside("not-done", "not done, or cannot be"))...)
	p.Options = append(p.Options, aside("who", "who confirms: "+who))
	switch {
	case len(g.LockOn) > 0:
		p.Options = append(p.Options, aside("lock", "whose lock hangs here? write it down"))
	case len(g.LeavesOpen) > 0:
		p.Options = append(p.Options, aside("lock", "what stays open? write it down"))
	}
	notDone := func() turn {
		return r.waits(m, "Then nobody goes further. What stands behind this step waits until it is done. If it cannot be done, leave here and tell the person in charge.")
	}
	return ask(p, func(id string) turn {
		if sign, ok := strings.CutPrefix(id, doubt); ok {
			return r.doesNotHold(m, sign)
		}
		switch id {
		case "done":
			return r.safetyDone(m)
		case "who":
			return entry("who", "The name or initials of whoever confirms?", "for none", func(name string) turn {
				return prompt.End(end{note: func(s *State) { s.By = name }, final: true})
			})
		case "lock":
			return r.lockHere(g)
		case "not-done":
			if len(fails) == 0 {
				return notDone()
			}
			// A "no" here may mean that it was done and did not hold.
			why := prompt.Prompt{
				ID: "holds " + p.ID, About: p.About, Body: prompt.Lines(prompt.Text, "You said no: "+words.Titled(m.Step.Title, m.Step.Place)), Ask: "Was it done, and does it not hold?",
				Options: append(slices.Clone(fails), option("not-done", "it is not done yet, or cannot be")),
			}
			return ask(why, func(id string) turn {
				if sign, ok := strings.CutPrefix(id, doubt); ok {
					return r.doesNotHold(m, sign)
				}
				return notDone()
			})
		}
		return r.aroundStep(id, m)
	})
}

// doubts are the signs that a safety step does not hold, as far as they are not known
// to be there.
func (r *round) doubts(g *rules.Safety) (out []prompt.Option) {
	for _, id := range g.Reports {
		if s := r.Book.Signs.Get(id); s.When.Holds(r.k, r.Book) && !r.k.Shows(id, "") {
			out = append(out, option(doubt+id, s.Title))
		}
	}
	return out
}

// doesNotHold notes a sign that a safety step does not hold; of which kind is asked
// first where it has kinds.
func (r *round) doesNotHold(m *interview.Move, sign string) turn {
	s := r.Book.Signs.Get(sign)
	if places := r.k.Pump.Places(s.Level); len(places) > 1 || len(s.Kinds) > 0 {
		return r.answer(s, places, nil)
	}
	return write(record.SetFinding(s.ID, string(evidence.Present)), r.log("does not hold: "+m.Step.Title+": "+s.Title))
}

// waits says once what it means that a step is not done; said again, it ends the
// talk: nothing is offered past the step.
func (r *round) waits(m *interview.Move, what string) turn {
	key := "waits " + interview.StepKey(m.Step)
	if r.s.Told[key] != "" {
		return over("The step is not done. The talk ends here. Tell the person in charge.")
	}
	return prompt.End(end{news: prompt.Lines(prompt.Text, what), note: func(s *State) { s.Told[key] = what }, final: true})
}

// doubt begins the id of a sign that is offered at a safety step.
const doubt = "doubt "

// safetyDone notes a safety step, and with the last one of stopping or of the
// isolation how the pump stands now.
func (r *round) safetyDone(m *interview.Move) turn {
	after := r.s.Sitting.Copy()
	after.Safe[m.Step.ID] = true
	edits := []record.Edit{r.log(confirmedLog + m.Step.Title)}
	if state := r.stateAfter(m, after); state != r.k.Pump.State {
		edits = append(edits, record.SetPump("state", string(state)))
	}
	return writeThen(func(s *State) { s.Sitting.Safe[m.Step.ID] = true }, edits...)
}

func (r *round) stateAfter(m *interview.Move, after *interview.Sitting) evidence.PumpState {
	isolation := slices.ContainsFunc(m.Report.Steps, func(s work.Step) bool {
		return s.Kind == work.StepSafety && r.Book.Safety.Get(s.ID).For == rules.ForIsolation
	})
	stopping := interview.Stopping(r.Book, r.k, m.Report)
	stopped := len(stopping) > 0 && !slices.ContainsFunc(stopping, func(s work.Step) bool { return !after.Safe[s.ID] })
	now := r.k.Pump.State
	switch {
	case now == evidence.Isolated || !interview.Isolates(r.Book, m.Step.ID):
	case m.Report.OpenNothing && now != evidence.Running: // not proved yet
	case !m.Report.OpenNothing && interview.Isolated(r.Book, m.Report, after) && isolation:
		return evidence.Isolated
	case now == evidence.Running && stopped:
		return evidence.Stopped
	}
	return now
}

func (r *round) opening(p prompt.Prompt, m *interview.Move) turn {
	p.Options = append([]prompt.Option{option("open", "it is open now")}, r.around(m, notNow)...)
	return ask(p, func(id string) turn {
		if id != "open" {
			return r.aroundStep(id, m)
		}
		return write(record.Opened(m.Step.ID, named(m.Step.Place)...), r.log("opened: "+words.Titled(m.Step.Title, m.Step.Place)))
	})
}

// taken asks when something was taken that needs covers off.
func (r *round) taken(m *interview.Move) turn {
	p := prompt.Prompt{
		ID: "taken", Body: prompt.Lines(prompt.Head, "covers off"), Ask: "The pump runs. This can only be had with covers off. When was it taken?",
		Options: []prompt.Option{
			option(string(evidence.AtLastStop), "at the last stop, pump locked off"),
			option(string(evidence.WhileRunning), "with the pump running, beside moving parts"),
			aside("unknown", "nobody knows; then it is not used"),
		},
	}
	for _, name := range m.Names {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Item, Text: r.Book.TakenTitle(name)})
	}
	return ask(p, func(id string) turn {
		when := evidence.WhileRunning
		if id == string(evidence.AtLastStop) {
			when = evidence.AtLastStop
		}
		return write(record.SetTaken(when, m.Names...), r.log("said when it was taken: "+string(when)))
	})
}

// which asks which of two words stands that do not go together.
func (r *round) which(m *interview.Move) turn {
	c, question := m.Which, words.Contradiction(m.Which)
	other := "what was seen stands: take the check out"
	if c.Cause != "" {
		other = "the proved cause stands: take the check out"
	}
	p := prompt.Prompt{
		ID: "which " + c.Check, About: about("check", c.Check, c.Place), Body: prompt.Lines(prompt.Head, "does not fit together"), Ask: question,
		Options: []prompt.Option{option("check", "the check stands: nothing was found"), option("other", other), aside("unknown", "don't know; leave both for later")},
	}
	return ask(p, func(id string) turn {
		log := r.log("settled: " + question)
		settled := func(s *State) { s.Sitting.Declined[interview.WhichKey(c)] = true } // it is asked once
		switch {
		case id == "unknown":
			return decline(interview.WhichKey(c))
		case id == "other":
			return writeThen(settled, record.Unchecked(c.Check, named(c.Place)...), log)
		case c.Cause != "":
			return writeThen(settled, record.Unconfirm(c.Cause, named(c.At)...), log)
		}
		return writeThen(settled, record.SetFinding(c.Sign, "unknown", named(c.At)...), log)
	})
}

// straight offers to go straight to the look that can prove a very likely
// cause.
func (r *round) straight(m *interview.Move) turn {
	r.standing(m)
	g := m.Report.GoStraight
	p := prompt.Prompt{
		ID: interview.StraightKey(g), About: slices.Concat(about("cause", g.Cause, g.Place), about("check", g.Check, g.At)),
		Ask:     fmt.Sprintf("%s: %s. One look can prove it: %s. Go straight there?", words.Titled(g.Title, g.Place), words.Likely(g.Probability), words.Titled(g.CheckTitle, g.At)),
		Options: []prompt.Option{option("yes", "yes; what makes it safe and what must be open still comes first"), option("no", "no; go on with the questions and the list"), aside("report", "report something")},
	}
	return ask(p, func(id string) turn {
		switch id {
		case "no":
			return decline(interview.StraightKey(g))
		case "report":
			return r.report()
		}
		return keep(func(s *interview.Sitting) {
			s.Straight = interview.StraightKey(g)
			for _, step := range m.Report.Steps { // what was put off of the way there is not put off any more
				if step.Number <= g.Step {
					delete(s.Declined, interview.StepKey(step))
				}
			}
		})
	})
}
