package interview

import (
	"slices"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// What brought a proved failure on is asked and looked for before it is repaired,
// while the way to it is open; what a proved root has probably spoilt likewise.

// RootKey is the key of going on without looking for what brought a proved cause
// on, or for what it spoilt.
func RootKey(at evidence.At) string { return "root " + at.ID + " " + at.Place.String() }

// RootsLeft is what may have brought a proved cause on and was not looked at; none
// if the crew leaves it.
func RootsLeft(r *engine.Report, at evidence.At) []chances.Root {
	for _, c := range r.Confirmed {
		if c.Cause == at.ID && c.Place == at.Place && !c.RootLeft {
			return c.RootsLeft
		}
	}
	return nil
}

// linked is what comes before the repair of what was proved: a question or a look
// that tells what brought it on, or the look at what it has probably spoilt that the
// crew goes to. It waits
// while a stop condition holds, a repair is under way, or the pump is closed up.
func linked(book *rules.Book, k *evidence.Case, s *Sitting, m Move) (Move, bool, error) {
	if s.Repairing || s.Closing || len(s.Returning) > 0 || stopping(k, m.Report) {
		return m, false, nil
	}
	for _, at := range k.Confirmed {
		if roots := RootsLeft(m.Report, at); len(roots) > 0 && !s.Declined[RootKey(at)] {
			if move, ok, err := towardRoots(book, k, s, m, at, roots); ok || err != nil {
				return move, ok, err
			}
		}
	}
	for _, at := range k.Confirmed {
		if step, ok := SpoiltLook(book, k, s, m.Report, at); ok && s.Toward == StepKey(step) && !has(k.Corrected, at) {
			m.Cause = at
			return onTheWayTo(book, k, s, m, step), true, nil
		}
	}
	return m, false, nil
}

// towardRoots is the question, or the look, that tells most of some roots. Of what
// is corrected already the crew is asked even where neither is left.
func towardRoots(book *rules.Book, k *evidence.Case, s *Sitting, m Move, at evidence.At, roots []chances.Root) (Move, bool, error) {
	step, look := bestLook(book, k, s, m.Report, at, wantRoots(roots))
	if look && s.Toward == StepKey(step) {
		return onTheWayTo(book, k, s, m, step), true, nil
	}
	asked, _, err := worthAsking(book, k, s, m.Report, roots)
	if err != nil {
		return m, false, err
	}
	m.Cause, m.Roots = at, roots
	switch {
	case asked != nil && (s.InARow < mostInARow || !look):
		m.Kind, m.Sign, m.Places, m.Apart = Ask, book.Signs.Get(asked.sign), asked.places, asked.apart
	case look:
		m = onTheWayTo(book, k, s, m, step)
	case has(k.Corrected, at):
		m.Kind = Root
	default:
		return m, false, nil
	}
	return m, true, nil
}

// RootLook is the look that tells most of what may have brought a proved cause on;
// false if there is none that was not put off.
func RootLook(book *rules.Book, k *evidence.Case, s *Sitting, r *engine.Report, at evidence.At) (work.Step, bool) {
	return bestLook(book, k, s, r, at, wantRoots(RootsLeft(r, at)))
}

// Spoilt are the open causes that a proved root is likelier than not to have
// brought on.
func Spoilt(r *engine.Report, at evidence.At) []chances.Told {
	var out []chances.Told
	for _, c := range r.Causes {
		for _, root := range c.BroughtOnBy {
			if p := c.Probability * root.Probability; root.Cause == at.ID && root.Place == at.Place && p > 0.5 {
				out = append(out, chances.Told{Cause: c.Cause, Place: c.Place, Title: c.Title, Role: c.Role, Probability: c.Probability})
			}
		}
	}
	return out
}

// SpoiltLook is the look that tells most of what a proved root has probably spoilt;
// false if there is none that was not put off.
func SpoiltLook(book *rules.Book, k *evidence.Case, s *Sitting, r *engine.Report, at evidence.At) (work.Step, bool) {
	return bestLook(book, k, s, r, at, wantSpoilt(Spoilt(r, at)))
}

// wanted is how much a cause at a place is looked for.
type wanted func(cause string, place evidence.Place) float64

func wantRoots(roots []chances.Root) wanted {
	return func(cause string, place evidence.Place) (sum float64) {
		for _, r := range roots {
			if r.Cause == cause && r.Place.Touches(place) {
				sum += r.Probability
			}
		}
		return sum
	}
}

func wantSpoilt(spoilt []chances.Told) wanted {
	return func(cause string, place evidence.Place) (sum float64) {
		for _, c := range spoilt {
			if c.Cause == cause && c.Place.Touches(place) {
				sum += c.Probability
			}
		}
		return sum
	}
}

// bestLook is the check of the list that finds most of what is wanted for each
// minute until it is done, what must come before it counted; the one that the crew
// goes to stays the best. What was done without a clear result is not offered again,
// and of what is corrected nothing that the pump must be opened for anew.
func bestLook(book *rules.Book, k *evidence.Case, s *Sitting, r *engine.Report, at evidence.At, want wanted) (work.Step, bool) {
	var best work.Step
	most := 0.0
	for _, step := range r.Steps {
		if step.Kind != work.StepCheck || s.Declined[StepKey(step)] || blocked(step, r, s) || doneAt(k, step) {
			continue
		}
		check := book.Checks.Get(step.ID)
		if has(k.Corrected, at) && check.Pump == rules.NeedsIsolated && k.Pump.State != evidence.Isolated {
			continue
		}
		gain, minutes := 0.0, 0.0
		for _, f := range check.Finds {
			gain += f.Sure * want(f.Cause, step.Place)
		}
		for _, before := range way(book, k, r, step) {
			if before.Kind != work.StepSafety || !s.Safe[before.ID] {
				minutes += before.Minutes
			}
		}
		switch rate := gain / max(1, minutes); {
		case gain == 0:
		case s.Toward == StepKey(step):
			return step, true
		case rate > most*(1+1e-9):
			best, most = step, rate
		}
	}
	return best, most > 0
}

// doneAt says whether the case has a result of a check.
func doneAt(k *evidence.Case, step work.Step) bool {
	at := evidence.At{ID: step.ID, Place: step.Place}
	return has(k.Cleared, at) || has(k.Unclear, at)
}

// way is a check of the list with what comes before it all the same: what it needs,
// and the checks that the book puts before it.
func way(book *rules.Book, k *evidence.Case, r *engine.Report, to work.Step) []work.Step {
	var out []work.Step
	for _, step := range r.Steps {
		switch {
		case step.Number > to.Number:
		case step.Number == to.Number, step.Kind == work.StepCheck && comesFirst(book, k, step.ID, to.ID):
			out = append(out, step)
		}
	}
	checks := slices.Clone(out)
	for _, step := range r.Steps {
		if step.Kind != work.StepCheck && slices.ContainsFunc(checks, func(check work.Step) bool { return step.Number < check.Number && needs(check, step) }) {
			out = append(out, step)
		}
	}
	slices.SortStableFunc(out, func(a, b work.Step) int { return a.Number - b.Number })
	return out
}

// comesFirst says whether the book puts a check before all others, or before this
// one.
func comesFirst(book *rules.Book, k *evidence.Case, id, to string) bool {
	if first := book.Checks.Get(id).FirstWhen; first != nil && first.Holds(k, book) {
		return true
	}
	for before := range book.ChecksBefore(to) {
		if before == id {
			return true
		}
	}
	return false
}

// onTheWayTo offers a look, or gives the next step on the way to it once the crew
// goes there, or is on it already.
func onTheWayTo(book *rules.Book, k *evidence.Case, s *Sitting, m Move, to work.Step) Move {
	m.Kind, m.Step = Root, to
	if s.Toward == StepKey(to) {
		if step, ok := nextStep(&engine.Report{Steps: way(book, k, m.Report, to)}, s, work.StepCheck); ok {
			m.Kind, m.Step = Do, step
		}
	}
	return m
}
