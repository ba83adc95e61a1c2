package dialogue

import (
	"slices"

	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/talk"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// repair says how a proved cause is corrected, and behind what.
func (d *Dialogue) repair(k *evidence.Case, m *interview.Move) error {
	cause := d.book.Causes.Get(m.Cause.ID)
	title := words.Titled(cause.Title, m.Cause.Place)
	if err := d.term.Head("proved"); err != nil {
		return err
	}
	if err := d.term.Say(0, title); err != nil {
		return err
	}
	if !d.sitting.Repairing {
		return d.whatNow(k, m, title)
	}
	if err := d.term.Say(2, d.fill(k, cause.Repair)); err != nil {
		return err
	}
	var openable []evidence.At
	if cause.Behind == rules.BehindPump {
		openable = engine.Openable(d.book, k, m.Cause.Place)
	}
	options := []talk.Option{{Text: "corrected"}, {Text: "not yet; look on"}}
	if len(openable) > 0 {
		options = append(options, talk.Option{Text: "something must be opened for it that is not open yet"})
	}
	i, err := d.choose(behind(m), options)
	if err != nil {
		return err
	}
	switch i {
	case 1:
		d.remember()
		d.sitting.Repairing, d.sitting.LookMore = false, true
		return nil
	case 2:
		return d.toOpen(openable)
	}
	if len(openable) > 0 && !anyOpen(k, m.Cause.Place) {
		shut, err := d.choose("By the case nothing is open there.", []talk.Option{{Text: "it was put right with nothing opened"}, {Text: "something is or must be opened for it"}})
		if err != nil {
			return err
		}
		if shut == 1 {
			return d.toOpen(openable)
		}
	}
	return d.writeThen(func(s *interview.Sitting) { s.Repairing, s.ToOpen = false, nil },
		record.Corrected(m.Cause.ID, placesAt(m.Cause)...), d.log("corrected: "+title))
}

// behind says what the repair of a proved cause is done behind.
func behind(m *interview.Move) string {
	i := slices.IndexFunc(m.Report.Confirmed, func(c engine.ConfirmedReport) bool {
		return c.Cause == m.Cause.ID && c.Cylinder == m.Cause.Place.Cylinder && c.End == m.Cause.Place.End
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
func (d *Dialogue) toOpen(openable []evidence.At) error {
	var options []talk.Option
	for _, at := range openable {
		options = append(options, talk.Option{Text: words.Titled(d.book.Openings.Get(at.ID).Title, at.Place)})
	}
	options = append(options, talk.Option{Key: "b", Text: "back"}, talk.Option{Key: "q", Text: "leave"})
	chosen, err := d.term.Several("What must be opened? What comes before it is added. (several numbers with blanks between)", options)
	if err != nil {
		return err
	}
	switch options[chosen[0]].Key {
	case "b":
		return nil
	case "q":
		return errLeave
	}
	d.remember()
	for _, c := range chosen {
		d.sitting.ToOpen = append(d.sitting.ToOpen, openable[c])
		delete(d.sitting.Declined, interview.StepKey(engine.StepReport{
			Kind: engine.StepOpening, ID: openable[c].ID, Place: openable[c].Place,
		}))
	}
	return nil
}

// whatNow asks whether to correct what is proved, or to look on.
func (d *Dialogue) whatNow(k *evidence.Case, m *interview.Move, title string) error {
	for _, u := range m.Report.Unexplained {
		if err := d.term.Say(2, "It does not explain: "+words.Unexplained(m.Report, u)); err != nil {
			return err
		}
	}
	if len(m.Report.Unexplained) == 0 {
		if err := d.term.Say(2, "It explains, more likely than not, each sign that was seen."); err != nil {
			return err
		}
	}
	options := []talk.Option{{Text: correctNow[d.book.Causes.Get(m.Cause.ID).Behind]}, {Text: "look on first"}, {Text: "it is not proved after all"}}
	if interview.Outside(d.book, m.Cause.ID) {
		if err := d.term.Say(2, d.fill(k, d.book.Causes.Get(m.Cause.ID).Repair)); err != nil {
			return err
		}
		options = append(options, talk.Option{Text: "it is put right; nobody opened or touched the pump for it"})
	}
	i, err := d.choose("What now?", options)
	if err != nil {
		return err
	}
	switch i {
	case 2:
		return d.write(record.Unconfirm(m.Cause.ID, placesAt(m.Cause)...), d.log("not proved after all: "+title))
	case 3:
		return d.write(record.Corrected(m.Cause.ID, placesAt(m.Cause)...), d.log("corrected without touching the pump: "+title))
	}
	d.remember()
	d.sitting.Repairing, d.sitting.LookMore = i == 0, i == 1
	return nil
}

// lookAgain asks for the look again after a correction.
func (d *Dialogue) lookAgain(k *evidence.Case, m *interview.Move) error {
	cause := d.book.Causes.Get(m.Cause.ID)
	if err := d.term.Head("look again"); err != nil {
		return err
	}
	title := words.Titled(cause.Title, m.Cause.Place)
	if err := d.term.Say(0, "Corrected: "+title); err != nil {
		return err
	}
	if err := d.term.Say(2, d.fill(k, cause.LookAgain)); err != nil {
		return err
	}
	i, err := d.choose("", []talk.Option{{Text: "looked again, it is right"}, {Text: "looked again, it is NOT right"}, {Text: "later: it only shows when closed up or running"}})
	if err != nil {
		return err
	}
	switch i {
	case 0:
		return d.write(record.LookedAgain(m.Cause.ID, placesAt(m.Cause)...), d.log("looked at again, right: "+title))
	case 1:
		return d.writeThen(func(s *interview.Sitting) { s.Repairing = true },
			record.Uncorrected(m.Cause.ID, placesAt(m.Cause)...), d.log("looked at again, NOT right: "+title))
	}
	d.remember()
	d.sitting.Declined[interview.LookAgainKey(m.Cause)] = true
	return nil
}

// closing puts one step of closing up and going back to service.
func (d *Dialogue) closing(k *evidence.Case, m *interview.Move) error {
	s := m.Step
	if err := d.term.Head("closing up"); err != nil {
		return err
	}
	if err := d.term.Say(0, words.Titled(s.Title, s.Place)); err != nil {
		return err
	}
	if err := d.term.Say(2, s.Do); err != nil {
		return err
	}
	done := "done"
	if s.Minutes == 0 {
		done = "noted for then" // nothing to do now
	}
	options := []talk.Option{{Text: done}, {Key: "n", Text: "not done, or it cannot be done"}, {Key: "r", Text: "report something that was noticed"}}
	locks, open := d.lists(k, s.ID)
	if len(locks)+len(open) > 0 {
		options = append(options, talk.Option{Key: "l", Text: "write down whose locks are off, what is shut"})
	}
	i, err := d.choose("", options)
	if err != nil {
		return err
	}
	switch options[i].Key {
	case "l":
		return d.takenOff(locks, open)
	case "n":
		return d.term.Say(0, "Then the pump stays as it is. What comes after this step waits.")
	case "r":
		return d.report(k, "What was noticed?")
	}
	return d.closed(k, m)
}

// closed notes a step back to service. The case says that all is open until the
// last of it is closed: whoever takes it up in between goes through all of the
// closing again, as some of its steps are owed because of what was open. Then
// the pump is isolated no more: whoever wants to open it again begins from the
// start. With the last step it runs.
func (d *Dialogue) closed(k *evidence.Case, m *interview.Move) error {
	after := d.sitting.Copy()
	if len(after.Returning) == 0 {
		after.Returning = m.Returns
	}
	after.Closed[interview.StepKey(m.Step)] = true
	edits := []record.Edit{d.log("closing up: " + words.Titled(m.Step.Title, m.Step.Place))}
	left := m.Returns[1:]
	last := len(left) == 0
	shut := !slices.ContainsFunc(left, func(r engine.StepReport) bool { return d.book.Openings.Get(r.ID) != nil })
	if shut && k.Pump.State == evidence.Isolated {
		edits = append(edits, d.closings(after)...)
		edits = append(edits, record.SetPump("state", string(evidence.Stopped)))
		after.Safe = map[string]bool{}
	}
	if last {
		edits = append(edits, record.SetPump("state", string(evidence.Running)))
		after = interview.NewSitting() // what only shows running can be looked at now
		after.Read = d.sitting.Read
	}
	return d.writeThen(func(s *interview.Sitting) { *s = *after }, edits...)
}

// closings closes in the case what was closed in this sitting.
func (d *Dialogue) closings(s *interview.Sitting) []record.Edit {
	var edits []record.Edit
	for _, step := range s.Returning {
		if d.book.Openings.Get(step.ID) != nil && s.Closed[interview.StepKey(step)] {
			edits = append(edits, record.Closed(step.ID, placesOf(step.Place)...))
		}
	}
	return edits
}

// breakOff ends a closing up that is not over because something else comes
// first. What was closed is closed.
func (d *Dialogue) breakOff(k *evidence.Case) error {
	var edits []record.Edit
	if k.Pump.State == evidence.Isolated {
		edits = d.closings(d.sitting)
	}
	err := d.write(append(edits, d.log("closing up broken off"))...)
	d.sitting.Returning, d.sitting.Closed, d.sitting.Closing = nil, map[string]bool{}, false
	return err
}

// done says what was found, corrected and looked at again, and that nothing is
// left but what is noticed from now on.
func (d *Dialogue) done(k *evidence.Case) (over bool, err error) {
	if err := d.term.Head("done"); err != nil {
		return false, err
	}
	for _, at := range k.Confirmed {
		if err := d.term.Say(2, "- "+words.Titled(d.book.Causes.Get(at.ID).Title, at.Place)); err != nil {
			return false, err
		}
	}
	text := "Found, corrected, looked at again and closed up."
	if len(k.LookedAgain) < len(k.Corrected) {
		text = "Found, corrected and closed up. Still to be looked at again: what only shows running. Take this case up again then."
	}
	if err := d.term.Say(0, text); err != nil {
		return false, err
	}
	i, err := d.choose("", []talk.Option{{Text: "that is all"}, {Text: "report something that was noticed"}})
	if err != nil || i == 0 {
		return err == nil, err
	}
	return false, d.report(k, "What was noticed?")
}

// nothingLeft ends the search when the rulebook has nothing more to offer.
func (d *Dialogue) nothingLeft(k *evidence.Case, m *interview.Move) (over bool, err error) {
	if err := d.standing(m); err != nil {
		return false, err
	}
	if err := d.term.Say(0, "No question or check of the rulebook that was not put off would settle what is open. Call the maintenance engineer, or take up what was put off."); err != nil {
		return false, err
	}
	options := []talk.Option{{Text: "take up what was put off"}, {Text: "report something else"}}
	if k.Pump.State == evidence.Isolated {
		options = append(options, talk.Option{Text: "close up and return to service"})
	}
	i, err := d.choose("", options)
	if err != nil {
		return false, err
	}
	if i == 1 {
		return false, d.report(k, "What was noticed?")
	}
	d.remember()
	if i == 2 {
		d.sitting.Closing = true
		return false, nil
	}
	d.sitting.Declined = map[string]bool{}
	d.sitting.LookMore = false
	return false, nil
}
