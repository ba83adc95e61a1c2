package dialogue

import (
	"telltale/cmd/internal/page"
	"telltale/cmd/internal/talk"
	"telltale/engine"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
)

// repair says how a proved cause is corrected, behind the isolation.
func (d *Dialogue) repair(k *evidence.Case, m *interview.Move) error {
	cause := d.book.Causes.Get(m.Cause.ID)
	title := page.Titled(cause.Title, engine.Where{Cylinder: m.Cause.Place.Cylinder, End: m.Cause.Place.End})
	if err := d.term.Head("proved"); err != nil {
		return err
	}
	if err := d.term.Say(0, title); err != nil {
		return err
	}
	if !d.sitting.Repairing {
		return d.whatNow(k, m)
	}
	if err := d.term.Say(2, d.fill(k, cause.Repair)); err != nil {
		return err
	}
	i, err := d.choose("Only behind the isolation.", []talk.Option{{Text: "corrected"}, {Text: "not yet; look on"}})
	if err != nil {
		return err
	}
	if i == 1 {
		d.remember()
		d.sitting.Repairing, d.sitting.LookMore = false, true
		return nil
	}
	return d.write(record.Corrected(m.Cause.ID, placesAt(m.Cause)...), d.log("corrected: "+title))
}

// whatNow asks whether to correct what is proved, or to look on.
func (d *Dialogue) whatNow(k *evidence.Case, m *interview.Move) error {
	for _, u := range m.Report.Unexplained {
		if err := d.term.Say(2, "It does not explain: "+u.Finding); err != nil {
			return err
		}
	}
	if len(m.Report.Unexplained) == 0 {
		if err := d.term.Say(2, "It explains, more likely than not, each sign that was seen."); err != nil {
			return err
		}
	}
	options := []talk.Option{{Text: "correct it now"}, {Text: "look on first"}, {Key: "b", Text: "back: it is not proved"}, {Key: "q", Text: "leave"}}
	i, err := d.term.Choose("What now?", options)
	switch {
	case err != nil:
		return err
	case i == 2:
		return d.back()
	case i == 3:
		return errLeave
	}
	d.remember()
	d.sitting.Repairing, d.sitting.LookMore = i == 0, i == 1
	return nil
}

// recheck asks for the look again after a correction.
func (d *Dialogue) recheck(k *evidence.Case, m *interview.Move) error {
	cause := d.book.Causes.Get(m.Cause.ID)
	if err := d.term.Head("look again"); err != nil {
		return err
	}
	if err := d.term.Say(0, page.Titled(cause.Title, engine.Where{Cylinder: m.Cause.Place.Cylinder, End: m.Cause.Place.End})+", corrected."); err != nil {
		return err
	}
	if err := d.term.Say(2, d.fill(k, cause.Again)); err != nil {
		return err
	}
	i, err := d.choose("", []talk.Option{{Text: "looked again, it is right"}, {Text: "looked again, it is NOT right"}, {Text: "later: it only shows when closed up or running"}})
	if err != nil {
		return err
	}
	switch i {
	case 0:
		return d.write(record.CheckedAgain(m.Cause.ID, placesAt(m.Cause)...), d.log("checked again, right: "+cause.Title))
	case 1:
		d.sitting.Repairing = true
		return d.write(record.Uncorrected(m.Cause.ID, placesAt(m.Cause)...), d.log("checked again, NOT right: "+cause.Title))
	}
	d.remember()
	d.sitting.Declined[interview.RecheckKey(m.Cause)] = true
	return nil
}

// closing puts one step of closing up and going back to service.
func (d *Dialogue) closing(k *evidence.Case, m *interview.Move) error {
	s := m.Step
	if err := d.term.Head("closing up"); err != nil {
		return err
	}
	if err := d.term.Say(0, page.Titled(s.Title, s.Where)); err != nil {
		return err
	}
	if err := d.term.Say(2, s.Do); err != nil {
		return err
	}
	i, err := d.choose("", []talk.Option{{Text: "done"}, {Text: "not done, or it cannot be done"}})
	if err != nil {
		return err
	}
	if i == 1 {
		return d.term.Say(0, "Then the pump stays as it is. What comes after this step waits.")
	}
	edits := []record.Edit{d.log("closing up: " + page.Titled(s.Title, s.Where))}
	if d.book.Access.Get(s.ID) != nil {
		edits = append(edits, record.CloseAccess(s.ID, placesOf(s.Where)...))
	}
	after := d.sitting.Copy()
	after.Closed[interview.StepKey(s)] = true
	if lastReturn(m.Report, after) {
		edits = append(edits, record.SetPump("state", string(evidence.Running)))
		for key := range after.Declined {
			delete(after.Declined, key) // what only shows running can be looked at now
		}
	}
	written := len(d.before)
	if err := d.write(edits...); err != nil {
		return err
	}
	if len(d.before) > written {
		d.sitting = after
	}
	return nil
}

func lastReturn(r *engine.Report, s *interview.Sitting) bool {
	for _, step := range r.Steps {
		if step.Kind == engine.StepReturn && !s.Closed[interview.StepKey(step)] {
			return false
		}
	}
	return true
}

// done says what was found, corrected and looked at again.
func (d *Dialogue) done(k *evidence.Case) error {
	if err := d.term.Head("done"); err != nil {
		return err
	}
	for _, at := range k.Confirmed {
		if err := d.term.Say(2, "- "+page.Titled(d.book.Causes.Get(at.ID).Title, engine.Where{Cylinder: at.Place.Cylinder, End: at.Place.End})); err != nil {
			return err
		}
	}
	if len(k.Rechecked) < len(k.Corrected) {
		return d.term.Say(0, "Still to be looked at again: what only shows running. Take this case up again then.")
	}
	return d.term.Say(0, "Found, corrected, looked at again and closed up. Look once more in the first hour.")
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
	switch i {
	case 0:
		d.sitting.Declined = map[string]bool{}
		d.sitting.LookMore = false
		return false, nil
	case 1:
		return false, d.notice(k, "What was noticed?")
	}
	d.sitting.Closing = true
	return false, nil
}
