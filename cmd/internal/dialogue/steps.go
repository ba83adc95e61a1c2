package dialogue

import (
	"fmt"
	"strings"

	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/talk"
	"telltale/cmd/internal/words"
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
	if err := d.term.Say(0, pages.StopHead(m.Stop)); err != nil {
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
	signs, causes := interview.Waiting(d.book, k)
	if len(signs)+len(causes) == 0 {
		return true, d.term.Say(0, "What makes it wait is several findings together. Take them out of the case file by hand.")
	}
	var edits []record.Edit
	for _, id := range signs {
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

// held waits with everything that opens or closes the pump until the crew says
// that it is over. That is written as seen: what made it hold is not there any
// more. What was proved of the isolation before counts no longer.
func (d *Dialogue) held(k *evidence.Case, m *interview.Move) error {
	if err := d.term.Say(0, "Nothing is opened, closed up or repaired until this is over: "+holding(d.book, m.Report)+"."); err != nil {
		return err
	}
	options := []talk.Option{{Text: "it is over: seen by whoever is in charge of the permit"}, {Text: "report something that was noticed"}}
	if m.Step.ID != "" {
		options = append(options, talk.Option{Text: "it goes on; do meanwhile what needs nothing opened"})
	}
	i, err := d.choose("Is it over?", options)
	switch {
	case err != nil:
		return err
	case i == 1:
		return d.report(k, "What was noticed?")
	case i == 2:
		d.remember()
		d.sitting.Declined[interview.HeldKey] = true
		return nil
	}
	signs, causes := interview.Holding(d.book, k)
	if len(signs)+len(causes) == 0 {
		return d.term.Say(0, "What holds it back is several findings together. Put them right in the case file by hand.")
	}
	edits := []record.Edit{d.log("said to be over: " + holding(d.book, m.Report))}
	for _, id := range signs {
		edits = append(edits, record.SetFinding(id, "absent"))
	}
	for _, at := range causes {
		edits = append(edits, record.Unconfirm(at.ID, placesAt(at)...))
	}
	return d.writeThen(d.proveAnew, edits...)
}

// holding names the stop conditions that hold every opening back.
func holding(book *rules.Book, r *engine.Report) string {
	var out []string
	for _, s := range r.Stop {
		if book.Stops.Get(s.ID).OpenNothing {
			out = append(out, s.Title)
		}
	}
	return strings.Join(out, "; ")
}

// proveAnew forgets what has to be proved again, and that the stop conditions
// were read: should one come again, it is read again.
func (d *Dialogue) proveAnew(s *interview.Sitting) {
	s.Read = map[string]bool{}
	delete(s.Declined, interview.HeldKey)
	for _, g := range d.book.Safety.List {
		if g.InFull {
			delete(s.Safe, g.ID)
		}
	}
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
	title := words.Titled(s.Title, s.Place)
	if s.Signal != "" {
		title = strings.ToUpper(s.Signal) + ": " + title
	}
	if err := d.term.Head(fmt.Sprintf("next step (%s)", words.Minutes(s.Minutes))); err != nil {
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
		return d.safety(k, m)
	case engine.StepOpening:
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
func (d *Dialogue) safety(k *evidence.Case, m *interview.Move) error {
	options := append([]talk.Option{{Text: "done"}}, around("not done, or it cannot be done")...)
	options = append(options, talk.Option{Key: "i", Text: "who confirms: " + whoever(d.by)})
	if g := d.book.Safety.Get(m.Step.ID); len(g.LockOn)+len(g.LeavesOpen) > 0 {
		options = append(options, talk.Option{Key: "l", Text: lockOption(g)})
	}
	doubts := d.doubts(k, m.Step.ID)
	for n, s := range doubts {
		options = append(options, talk.Option{Key: doubtKey(n), Text: s.Title})
	}
	i, err := d.term.Choose("", options)
	if err != nil {
		return err
	}
	for n, s := range doubts {
		if options[i].Key == doubtKey(n) {
			return d.answer(k, s, k.Pump.Places(s.Level), nil)
		}
	}
	switch key := options[i].Key; key {
	case "":
		return d.safetyDone(k, m)
	case "i":
		return d.who()
	case "l":
		return d.lockHere(d.book.Safety.Get(m.Step.ID))
	case "n":
		return d.term.Say(0, "Then nobody goes further. What stands behind this step waits until it is done. If it cannot be done, leave here and tell the person in charge.")
	default:
		return d.aroundStep(k, m, key)
	}
}

// doubts are the signs that show that a safety step does not hold, as far as
// they are not known to be there.
func (d *Dialogue) doubts(k *evidence.Case, step string) []*rules.Sign {
	var out []*rules.Sign
	for _, id := range d.book.Safety.Get(step).Reports {
		if s := d.book.Signs.Get(id); s.When.Holds(k, d.book) && !k.Shows(id, "") {
			out = append(out, s)
		}
	}
	return out
}

// doubtKey is what is typed for a sign that is offered at a safety step: d for
// the first, then d2, d3.
func doubtKey(n int) string {
	if n == 0 {
		return "d"
	}
	return fmt.Sprintf("d%d", n+1)
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

// safetyDone notes a safety step, and with the last one of stopping or of the
// isolation how the pump stands now.
func (d *Dialogue) safetyDone(k *evidence.Case, m *interview.Move) error {
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
	case m.Report.OpenNothing && k.Pump.State != evidence.Running:
		return k.Pump.State // not proved yet
	case !m.Report.OpenNothing && interview.Isolated(d.book, m.Report, after) && isolates(d.book, m.Report):
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
	return d.write(record.Opened(m.Step.ID, placesOf(m.Step.Place)...), d.log("opened: "+words.Titled(m.Step.Title, m.Step.Place)))
}

// placesOf is a place for the record: none for the whole pump.
func placesOf(w evidence.Place) []evidence.Place {
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
		if err := d.term.Say(0, fmt.Sprintf("[%s] %d. %s (%s)", mark, s.Number, words.Titled(s.Title, s.Place), words.Minutes(s.Minutes))); err != nil {
			return err
		}
	}
	return nil
}
