package dialogue

import (
	"fmt"
	"strings"

	"telltale/cmd/internal/page"
	"telltale/cmd/internal/talk"
	"telltale/engine"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// readStop reads a stop condition out; nothing else is said before it is
// acknowledged.
func (d *Dialogue) readStop(m *interview.Move) error {
	if err := d.term.Head("stop first"); err != nil {
		return err
	}
	if err := d.term.Say(0, page.StopHead(m.Stop)); err != nil {
		return err
	}
	for _, do := range m.Stop.Do {
		if err := d.term.Say(2, "- "+do); err != nil {
			return err
		}
	}
	options := []talk.Option{{Text: "read and done"}, {Key: "b", Text: "back: the last answer was wrong"}, {Key: "q", Text: "leave"}}
	i, err := d.term.Choose("", options)
	switch {
	case err != nil:
		return err
	case i == 1:
		return errBack
	case i == 2:
		return errLeave
	}
	return d.writeThen(func(s *interview.Sitting) { s.Read[m.Stop.ID] = true }, d.log("read the stop condition: "+m.Stop.Title))
}

// waiting ends the talk while the pump waits for the well. Once it is over, what
// made it wait is taken back: whether it is so is asked anew.
func (d *Dialogue) waiting(k *evidence.Case, m *interview.Move) (over bool, err error) {
	if err := d.term.Say(0, "The pump waits until the stop condition is over. Nothing more is asked now."); err != nil {
		return false, err
	}
	if _, err := d.choose("", []talk.Option{{Text: "it is over, and the person in charge of it says so"}}); err != nil {
		return false, err
	}
	symptoms, causes := interview.Waiting(d.book, k)
	if len(symptoms)+len(causes) == 0 {
		return true, d.term.Say(0, "What makes it wait is several findings together. Take them out of the case file by hand.")
	}
	var edits []record.Edit
	for _, id := range symptoms {
		edits = append(edits, record.ClearFinding(id))
	}
	for _, at := range causes {
		edits = append(edits, record.Unconfirm(at.ID, placesAt(at)...))
	}
	for _, stop := range m.Report.Stop {
		edits = append(edits, d.log("said to be over: "+stop.Title))
	}
	return false, d.writeThen(func(s *interview.Sitting) { s.Read = map[string]bool{} }, edits...)
}

// step puts the next step of the list: a guard, an opening or a check.
func (d *Dialogue) step(k *evidence.Case, m *interview.Move) error {
	if err := d.standing(m); err != nil {
		return err
	}
	s := m.Step
	if m.EnoughAsked && !d.sitting.Enough {
		d.sitting.Enough = true
		if err := d.term.Say(0, "Enough asked: no other answer would change what to do now."); err != nil {
			return err
		}
	}
	if m.AskLater && s.Kind == engine.StepCheck {
		if err := d.term.Say(0, "Enough asked for now: a check tells more. The other questions come after it."); err != nil {
			return err
		}
	}
	title := page.Titled(s.Title, s.Where)
	if s.Signal != "" {
		title = strings.ToUpper(s.Signal) + ": " + title
	}
	if err := d.term.Head(fmt.Sprintf("next step (%s)", page.Minutes(s.Minutes))); err != nil {
		return err
	}
	if err := d.term.Say(0, title); err != nil {
		return err
	}
	if err := d.term.Say(2, s.Do); err != nil {
		return err
	}
	if len(s.Tools) > 0 {
		if err := d.term.Say(2, "Tools: "+strings.Join(s.Tools, ", ")+"."); err != nil {
			return err
		}
	}
	switch s.Kind {
	case engine.StepSafety:
		return d.guard(k, m)
	case engine.StepAccess:
		return d.opening(k, m)
	}
	return d.check(k, m)
}

// around are the answers that every step offers besides its own.
func around(declined string) []talk.Option {
	return []talk.Option{
		{Key: "n", Text: declined}, {Key: "r", Text: "report something that was noticed"},
		{Key: "p", Text: "plan: the whole list"}, {Key: "b", Text: "back to the last answer"}, {Key: "q", Text: "leave"},
	}
}

func (d *Dialogue) aroundStep(k *evidence.Case, m *interview.Move, key string) error {
	switch key {
	case "n":
		d.remember()
		d.sitting.Declined[interview.StepKey(m.Step)] = true
		return nil
	case "r":
		return d.report(k, "What was noticed?")
	case "p":
		return d.plan(m)
	case "b":
		return errBack
	}
	return errLeave
}

// guard asks for one safety step. It cannot be passed over: without it nothing
// that stands behind it is offered.
func (d *Dialogue) guard(k *evidence.Case, m *interview.Move) error {
	options := append([]talk.Option{{Text: "done"}}, around("not done, or it cannot be done")...)
	options = append(options, talk.Option{Key: "i", Text: "who confirms: " + whoever(d.by)})
	i, err := d.term.Choose("", options)
	if err != nil {
		return err
	}
	switch key := options[i].Key; key {
	case "":
		return d.guardDone(k, m)
	case "i":
		return d.who()
	case "n":
		return d.term.Say(0, "Then nobody goes further. What stands behind this step waits until it is done. If it cannot be done, leave here and tell the person in charge.")
	default:
		return d.aroundStep(k, m, key)
	}
}

func whoever(by string) string {
	if by == "" {
		return "nobody named"
	}
	return by
}

// who takes the name of whoever confirms, for the log.
func (d *Dialogue) who() error {
	if err := d.term.Say(0, "The name or initials of whoever confirms; Enter for none."); err != nil {
		return err
	}
	name, err := d.term.Ask("")
	if err != nil {
		return err
	}
	d.by = name
	return nil
}

// guardDone notes a safety step, and with the last one of stopping or of the
// isolation how the pump stands now.
func (d *Dialogue) guardDone(k *evidence.Case, m *interview.Move) error {
	done := func(s *interview.Sitting) { s.Safe[m.Step.ID] = true }
	after := d.sitting.Copy()
	done(after)
	edits := []record.Edit{d.log("confirmed: " + m.Step.Title)}
	if state := d.stateAfter(k, m, after); state != k.Pump.State {
		edits = append(edits, record.SetPump("state", string(state)))
	}
	return d.writeThen(done, edits...)
}

func (d *Dialogue) stateAfter(k *evidence.Case, m *interview.Move, after *interview.Sitting) evidence.PumpState {
	switch {
	case k.Pump.State == evidence.Isolated || !interview.Isolates(d.book, m.Step.ID):
		return k.Pump.State
	case interview.Isolated(d.book, m.Report, after) && isolates(d.book, m.Report):
		return evidence.Isolated
	case k.Pump.State == evidence.Running && stopped(d.book, m.Report, after):
		return evidence.Stopped
	}
	return k.Pump.State
}

// isolates says whether the list has the isolation in it.
func isolates(book *rules.Book, r *engine.Report) bool {
	for _, s := range r.Steps {
		if s.Kind == engine.StepSafety && book.Safety.Get(s.ID).For == rules.ForIsolation {
			return true
		}
	}
	return false
}

// stopped says whether every step of stopping in the list was done.
func stopped(book *rules.Book, r *engine.Report, s *interview.Sitting) bool {
	any := false
	for _, step := range r.Steps {
		if step.Kind == engine.StepSafety && book.Safety.Get(step.ID).For == rules.ForStopping {
			any = true
			if !s.Safe[step.ID] {
				return false
			}
		}
	}
	return any
}

func (d *Dialogue) opening(k *evidence.Case, m *interview.Move) error {
	options := append([]talk.Option{{Text: "it is open now"}}, around("not now")...)
	i, err := d.term.Choose("", options)
	if err != nil {
		return err
	}
	if key := options[i].Key; key != "" {
		return d.aroundStep(k, m, key)
	}
	return d.write(record.OpenAccess(m.Step.ID, placesOf(m.Step.Where)...), d.log("opened: "+page.Titled(m.Step.Title, m.Step.Where)))
}

// placesOf is a place for the record: none for the whole pump.
func placesOf(w engine.Where) []evidence.Place {
	if w.Cylinder == "" {
		return nil
	}
	return []evidence.Place{{Cylinder: w.Cylinder, End: w.End}}
}

// plan shows the whole list, a line a step.
func (d *Dialogue) plan(m *interview.Move) error {
	for _, s := range m.Report.Steps {
		mark := " "
		if s.Kind == engine.StepSafety && d.sitting.Safe[s.ID] {
			mark = "x"
		}
		if err := d.term.Say(0, fmt.Sprintf("[%s] %d. %s (%s)", mark, s.Number, page.Titled(s.Title, s.Where), page.Minutes(s.Minutes))); err != nil {
			return err
		}
	}
	return nil
}
