package interview

import (
	"maps"
	"slices"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// Kind is what a Move is.
type Kind string

// The kinds of a move.
const (
	Stop      Kind = "stop"       // a stop condition that was not read out yet
	Leave     Kind = "leave"      // the pump waits; nothing more is asked
	Notice    Kind = "notice"     // nothing was noticed yet: what is it about?
	Lately    Kind = "lately"     // nobody said yet what was done on the pump lately
	Ask       Kind = "ask"        // a question whose answer would change what to do
	Do        Kind = "do"         // the next safety step, opening or check of the list
	Repair    Kind = "repair"     // a proved cause is to be corrected, behind the isolation
	LookAgain Kind = "look-again" // a correction is to be looked at again
	Close     Kind = "close"      // the next step of closing up and going back to service
	Done      Kind = "done"       // explained, corrected and closed up
	Taken     Kind = "taken"      // when was something taken that needs covers off?
	Which     Kind = "which"      // two words of the case do not go together
	Straight  Kind = "straight"   // one look can prove a cause that is very likely
	Held      Kind = "held"       // nothing is opened or closed until a stop condition is over
	Root      Kind = "root"       // a look that tells what brought on what was proved
	Nothing   Kind = "nothing"    // no check or question of the book would settle what is open
)

// Move is what comes next.
type Move struct {
	Kind   Kind
	Stop   chances.Stop          // of Stop
	Sign   *rules.Sign           // of Ask
	Places []evidence.Place      // of Ask: where it is open
	Apart  []string              // of Ask: the causes that the answers tell apart
	Step   work.Step             // of Do and Close, and of Held if something can be done meanwhile; of Root the look, if there is one
	Cause  evidence.At           // of Repair, LookAgain and Root, and of Ask if it is about what brought that on
	Roots  []chances.Root        // of Root and Ask: what may have brought Cause on and was not looked at
	Names  []string              // of Taken: signs, checks and blocks of readings
	Which  chances.Contradiction // of Which
	// Returns of a Close are the steps back to service that are left, Step first; of a Do
	// those that it comes before.
	Returns []work.Step
	// First: the pump runs and must stop; nothing is asked before that is done. Of Do.
	First bool
	// EnoughAsked: questions are left, but no answer would change what to do.
	EnoughAsked bool
	// AskLater: questions are left, but a check is due first.
	AskLater bool
	Report   *engine.Report
}

// Sitting is what was said and done since the conversation was taken up: guards
// are proved again after every break, so it does not outlive the sitting.
type Sitting struct {
	Read      map[string]bool `json:"read"`      // stop conditions that were read out
	Safe      map[string]bool `json:"safe"`      // safety steps that were done
	Closed    map[string]bool `json:"closed"`    // return steps that were done
	Declined  map[string]bool `json:"declined"`  // questions and steps that were put off, by Key
	Repairing bool            `json:"repairing"` // the crew wants to correct what is proved now
	ToOpen    []evidence.At   `json:"to_open"`   // what the crew wants to open for the repair
	LookMore  bool            `json:"look_more"` // the crew wants to look on although something is proved
	Closing   bool            `json:"closing"`   // the crew wants to close up
	Straight  string          `json:"straight"`  // the look that the crew goes straight to, by StraightKey
	Toward    string          `json:"toward"`    // the look for a root that the crew goes to, by StepKey
	InARow    int             `json:"in_a_row"`  // questions answered since the last check
	// Returning are the steps back to service as they stood when closing up
	// began: some are owed because of what was open then.
	Returning []work.Step `json:"returning"`
}

// NewSitting starts a sitting.
func NewSitting() *Sitting {
	return &Sitting{Read: map[string]bool{}, Safe: map[string]bool{}, Closed: map[string]bool{}, Declined: map[string]bool{}}
}

// Copy gives a sitting of its own.
func (s *Sitting) Copy() *Sitting {
	out := *s
	out.ToOpen = slices.Clone(s.ToOpen)
	for _, m := range []*map[string]bool{&out.Read, &out.Safe, &out.Closed, &out.Declined} {
		if *m = maps.Clone(*m); *m == nil {
			*m = map[string]bool{}
		}
	}
	return &out
}

// StepKey and SignKey are the keys of what can be declined.
func StepKey(s work.Step) string {
	return s.Kind + " " + s.ID + " " + s.Cylinder + " " + s.End
}

// SignKey is the key of a question.
func SignKey(id string) string { return "ask " + id }

// Next decides the next move. How firm the answer is counts for none, so its
// Report does not say. The error is one of engine.Diagnose; the move has no kind then. A
// Stop that was not read yet comes without one, and its Report has the stop conditions
// alone: nothing was weighed for it.
func Next(book *rules.Book, k *evidence.Case, s *Sitting) (Move, error) {
	r, _ := engine.Stands(book, k) // a stop is read out before the case is weighed
	m := Move{Report: r}
	for _, stop := range r.Stop {
		if s.Read[stop.ID] {
			continue
		}
		if names := unsaid(book, k); len(names) > 0 && book.Stops.Get(stop.ID).When.AsksBeside() {
			m.Kind, m.Names = Taken, names
			return m, nil
		}
		m.Kind, m.Stop = Stop, stop
		return m, nil
	}
	book = book.WithoutFirmness()
	r, err := engine.Diagnose(book, k)
	if m.Report = r; err != nil {
		return m, err
	}
	if r.LeavePump {
		m.Kind = Leave
		return m, nil
	}
	step, stops := stopsFirst(book, k, s, r)
	if stops && !rightElsewhere(book, k, r) {
		m.Kind, m.Step, m.First = Do, step, true
		return m, nil
	}
	if r.OpenNothing {
		return held(book, s, m), nil
	}
	for _, c := range r.Contradictions {
		if !s.Declined[WhichKey(c)] {
			m.Kind, m.Which = Which, c
			return m, nil
		}
	}
	if move, ok, err := afterProof(book, k, s, m); ok || err != nil {
		return move, err
	}
	if stops {
		m.Kind, m.Step, m.First = Do, step, true
		return m, nil
	}
	if !anyPresent(k) {
		m.Kind = Notice
		return m, nil
	}
	if asksLately(k, s, r) {
		m.Kind = Lately
		return m, nil
	}
	return ahead(book, k, s, m)
}

// unsaid names what needs covers off and of which the case does not say when it
// was taken.
func unsaid(book *rules.Book, k *evidence.Case) []string {
	return slices.DeleteFunc(book.TakenBeside(k), func(name string) bool { return k.TakenAt(name) != "" })
}

// WhichKey and StraightKey are the keys of what can be put off.
func WhichKey(c chances.Contradiction) string {
	return "which " + c.Check + " " + c.Place.String() + " " + c.Sign + c.Cause + " " + c.Kind + " " + c.At.String()
}

// StraightKey is the key of the offer to go straight to a look.
func StraightKey(g *work.GoStraight) string {
	return "straight " + g.Cause + " " + g.Cylinder + " " + g.End + " " + g.Check + " " + g.At.Cylinder + " " + g.At.End
}

// onTheWay is the report with the steps of the offer alone.
func onTheWay(r *engine.Report) *engine.Report {
	out := *r
	out.Steps = slices.DeleteFunc(slices.Clone(r.Steps), func(step work.Step) bool { return !r.GoStraight.Passes(step.Number) })
	return &out
}

// LatelyKey is the key of the question what was done lately.
const LatelyKey = "lately"

// asksLately says whether to ask what was done lately: it turns many a ranking,
// so it comes before the first question, but never while something must stop
// or once the crew is at work.
func asksLately(k *evidence.Case, s *Sitting, r *engine.Report) bool {
	atWork := len(s.Safe) > 0 || len(k.Cleared) > 0 || len(k.Confirmed) > 0
	return len(k.Recent) == 0 && !s.Declined[LatelyKey] && !atWork && len(r.Stop) == 0
}

func anyPresent(k *evidence.Case) bool {
	read := k.Measured
	if k.Job.Pump != "" {
		read.PartRecords = nil // of a job it is what its pump's jobs changed before
	}
	if read.Any() {
		return true
	}
	return slices.ContainsFunc(k.Findings, func(f evidence.Finding) bool { return f.Answer == evidence.Present })
}

// afterProof is what follows once a cause is proved: its repair behind the
// isolation, the look again, and closing up when nothing is left open.
func afterProof(book *rules.Book, k *evidence.Case, s *Sitting, m Move) (Move, bool, error) {
	for _, at := range k.Corrected {
		if !has(k.LookedAgain, at) && !s.Declined[LookAgainKey(at)] {
			m.Kind, m.Cause = LookAgain, at
			return m, true, nil
		}
	}
	if move, ok, err := linked(book, k, s, m); ok || err != nil {
		return move, ok, err
	}
	for _, at := range k.Confirmed {
		if has(k.Corrected, at) || s.LookMore {
			continue
		}
		if step, ok := beforeRepair(book, k, s, m.Report, at); ok {
			m.Kind, m.Step = Do, step
			return m, true, nil
		}
		m.Kind, m.Cause = Repair, at
		return m, true, nil
	}
	explained := len(k.Confirmed) > 0 && len(k.Corrected) == len(k.Confirmed) && len(m.Report.Unexplained) == 0
	if explained || s.Closing {
		m, err := closing(book, k, s, m)
		return m, true, err
	}
	return m, false, nil
}

// beforeRepair gives the next step before hands correct something: what is left
// of the isolation if the repair is done behind it, the repair's own safety
// steps, then what the crew wants to open, behind its guards. An opening that
// was put off is passed over with all that needs it.
func beforeRepair(book *rules.Book, k *evidence.Case, s *Sitting, r *engine.Report, at evidence.At) (work.Step, bool) {
	if !s.Repairing {
		return work.Step{}, false
	}
	cause := book.Causes.Get(at.ID)
	if step, ok := nextSafety(book, r, s); ok && cause.Behind == rules.BehindPump {
		return step, true
	}
	if step, ok := ownSafety(book, r, s, cause); ok {
		return step, true
	}
	return nextStep(&engine.Report{Steps: work.Openings(book, k, s.ToOpen)}, s, work.StepOpening)
}

// ownSafety gives the first safety step of a repair's own, or one that it comes
// after, that was not done in this sitting.
func ownSafety(book *rules.Book, r *engine.Report, s *Sitting, cause *rules.Cause) (work.Step, bool) {
	wanted := map[string]bool{}
	var want func(ids []string)
	want = func(ids []string) {
		for _, id := range ids {
			if _, seen := wanted[id]; !seen {
				wanted[id] = book.Safety.Get(id).For == rules.ForNamed
				want(book.Safety.Get(id).After)
			}
		}
	}
	want(cause.Safety)
	return undone(r.Steps, s, func(id string) bool { return wanted[id] })
}

// undone gives the first safety step of some kind in a list that was not done in
// this sitting.
func undone(steps []work.Step, s *Sitting, which func(id string) bool) (work.Step, bool) {
	for _, step := range steps {
		if step.Kind == work.StepSafety && !s.Safe[step.ID] && which(step.ID) {
			return step, true
		}
	}
	return work.Step{}, false
}

// unseen gives the first step of the isolation that nobody did or saw in this sitting.
func unseen(book *rules.Book, k *evidence.Case, s *Sitting) (work.Step, bool) {
	return undone(work.Isolation(book, k), s, func(string) bool { return true })
}

// LookAgainKey is the key of the look at a correction.
func LookAgainKey(at evidence.At) string { return "look-again " + at.ID + " " + at.Place.String() }

func has(list []evidence.At, at evidence.At) bool {
	return slices.ContainsFunc(list, func(x evidence.At) bool { return x.ID == at.ID && x.Place == at.Place })
}

// nextSafety gives the first step of stopping and isolating in the list that was
// not done in this sitting.
func nextSafety(book *rules.Book, r *engine.Report, s *Sitting) (work.Step, bool) {
	return undone(r.Steps, s, func(id string) bool { return Isolates(book, id) })
}

// Isolates says whether a safety step belongs to stopping and isolating the
// pump.
func Isolates(book *rules.Book, safety string) bool {
	purpose := book.Safety.Get(safety).For
	return purpose == rules.ForStopping || purpose == rules.ForIsolation
}

// Isolated says whether every step of the isolation in the list was done in
// this sitting.
func Isolated(book *rules.Book, r *engine.Report, s *Sitting) bool {
	_, left := nextSafety(book, r, s)
	return !left
}

// handsIn says whether hands go into the pump to close it up: as long as something is
// open, and on a pump that is closed already where whoever closes begins on what others
// left. Before it he proves the isolation, as before a look.
func handsIn(book *rules.Book, k *evidence.Case, s *Sitting, left []work.Step) bool {
	switch {
	case k.Pump.State == evidence.Isolated:
		return slices.ContainsFunc(left, func(step work.Step) bool { return book.Openings.Get(step.ID) != nil })
	case len(left) == 0 || len(s.Returning) > 0:
		return false
	}
	return len(k.Pump.ClosedAgain) > 0 || slices.ContainsFunc(k.Corrected, func(at evidence.At) bool { return book.Causes.Get(at.ID).Behind == rules.BehindPump })
}

// closing gives the next return step; Done when none is left.
func closing(book *rules.Book, k *evidence.Case, s *Sitting, m Move) (Move, error) {
	all, err := s.Returning, error(nil)
	if len(all) == 0 {
		all, err = returns(book, k, m.Report)
	}
	for _, step := range all {
		if !s.Closed[StepKey(step)] {
			if r := book.Returns.Get(step.ID); r != nil {
				step.Do = work.ReturnDo(book, k, r) // what it lists of the case, as it is now
			}
			m.Returns = append(m.Returns, step)
		}
	}
	if handsIn(book, k, s, m.Returns) {
		if step, left := unseen(book, k, s); left {
			m.Kind, m.Step = Do, step
			return m, err
		}
	}
	m.Kind = Done
	if len(m.Returns) > 0 {
		m.Kind, m.Step = Close, m.Returns[0]
	}
	return m, err
}

// returns gives the steps back to service. A pump that is closed up counts as
// stopped and no longer as isolated, but the way back to service goes on.
func returns(book *rules.Book, k *evidence.Case, r *engine.Report) ([]work.Step, error) {
	if k.Pump.State == evidence.Running {
		return nil, nil
	}
	if k.Pump.State == evidence.Stopped {
		isolated := *k
		isolated.Pump.State = evidence.Isolated
		var err error
		if r, err = engine.Diagnose(book, &isolated); err != nil {
			return nil, err
		}
	}
	var out []work.Step
	for _, step := range r.Steps {
		if step.Kind == work.StepReturn && !closesUnopened(book, k, step) {
			out = append(out, step)
		}
	}
	return out, nil
}

// closesUnopened says whether a step closes what only steps still to come would
// open.
func closesUnopened(book *rules.Book, k *evidence.Case, step work.Step) bool {
	return book.Openings.Get(step.ID) != nil && !k.Pump.Has(step.ID, step.Place)
}

// stopping says whether a stop condition holds and the pump is not safe yet.
func stopping(k *evidence.Case, r *engine.Report) bool {
	return len(r.Stop) > 0 && k.Pump.State != evidence.Isolated
}

// mostInARow is how many questions are asked before a check is done: a crew at
// the pump wants to get on.
const mostInARow = 5

// ahead is the search for what is open: a question that is worth it, else the
// next step.
func ahead(book *rules.Book, k *evidence.Case, s *Sitting, m Move) (Move, error) {
	straight := m.Report.GoStraight
	if straight != nil && s.Straight == StraightKey(straight) {
		if step, any := nextStep(onTheWay(m.Report), s, work.StepCheck); any {
			m.Kind, m.Step = Do, step
			return m, nil
		}
	}
	step, any := nextStep(m.Report, s, work.StepCheck)
	// Guards that were begun are not left half done for a question, and while a
	// stop condition holds nobody is asked before the pump is safe.
	if any && step.Kind == work.StepSafety && (stopping(k, m.Report) || begun(m.Report, s)) {
		m.Kind, m.Step = Do, step
		return m, nil
	}
	if straight != nil && s.Straight != StraightKey(straight) && !s.Declined[StraightKey(straight)] && !s.Declined[StepKey(work.Step{Kind: work.StepCheck, ID: straight.Check, Place: straight.At})] {
		m.Kind = Straight
		return m, nil
	}
	asked, left, err := worthAsking(book, k, s, m.Report, nil)
	if err != nil {
		return m, err
	}
	if asked != nil && book.Signs.Get(asked.sign).Pump == rules.NeedsIsolated { // hands go in for the answer
		if safety, left := unseen(book, k, s); left {
			m.Kind, m.Step = Do, safety
			return m, nil
		}
	}
	m.AskLater = asked != nil && any && s.InARow >= mostInARow
	if asked != nil && !m.AskLater {
		m.Kind, m.Sign, m.Places, m.Apart = Ask, book.Signs.Get(asked.sign), asked.places, asked.apart
		return m, nil
	}
	m.EnoughAsked = left && asked == nil
	if any {
		m.Kind, m.Step = Do, step
		return m, nil
	}
	m.Kind = Nothing
	return m, nil
}

// nextStep gives the first step of the list that was not done or put off and that
// leads to a step of some kind.
func nextStep(r *engine.Report, s *Sitting, to string) (work.Step, bool) {
	for _, step := range r.Steps {
		switch {
		case step.Kind == work.StepReturn:
			return work.Step{}, false
		case step.Kind == work.StepSafety && s.Safe[step.ID]:
		case s.Declined[StepKey(step)] || blocked(step, r, s):
		case leadsTo(to, step, r, s):
			return step, true
		}
	}
	return work.Step{}, false
}

// leadsTo says whether a step is one of a kind, or is needed by one that was not
// put off: a safety step or an opening that leads only to what was put off is
// passed over.
func leadsTo(kind string, step work.Step, r *engine.Report, s *Sitting) bool {
	return step.Kind == kind || slices.ContainsFunc(r.Steps, func(later work.Step) bool {
		return later.Kind == kind && needs(later, step) && !s.Declined[StepKey(later)] && !blocked(later, r, s)
	})
}

// blocked says whether a step needs one that was put off.
func blocked(step work.Step, r *engine.Report, s *Sitting) bool {
	return slices.ContainsFunc(r.Steps, func(other work.Step) bool { return s.Declined[StepKey(other)] && needs(step, other) })
}

// needs says whether a step needs another one: of the whole pump, or at the
// same place. One that stands before all turning is needed from anywhere.
func needs(step, other work.Step) bool {
	return slices.Contains(step.Needs, other.ID) && (other.BeforeTurning || step.Place.Touches(other.Place))
}

// begun says whether a guard of the list was done in this sitting.
func begun(r *engine.Report, s *Sitting) bool {
	return slices.ContainsFunc(r.Steps, func(step work.Step) bool { return step.Kind == work.StepSafety && s.Safe[step.ID] })
}
