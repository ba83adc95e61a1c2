package interview

import (
	"slices"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// mustStop says whether the pump runs and must stop: a stop condition stops it, or it
// cannot wait.
func mustStop(book *rules.Book, k *evidence.Case, r *engine.Report) bool {
	cannotWait := r.Haste != nil && r.Haste.Verdict == string(rules.StopNow)
	return k.Pump.State == evidence.Running && (cannotWait || slices.ContainsFunc(r.Stop, func(s chances.Stop) bool { return book.Stops.Get(s.ID).StopPump }))
}

// stopsFirst gives the next step of stopping a pump that runs and must stop: that is
// done, and nothing is asked meanwhile.
func stopsFirst(book *rules.Book, k *evidence.Case, s *Sitting, r *engine.Report) (work.Step, bool) {
	if !mustStop(book, k, r) {
		return work.Step{}, false
	}
	for _, step := range Stopping(book, k, r) {
		if !s.Safe[step.ID] {
			return step, true
		}
	}
	return work.Step{}, false
}

// rightElsewhere says whether what is proved is put right away from the pump, by whoever
// runs the well, and no stop condition stops the pump: it is said first, and may be right
// already.
func rightElsewhere(book *rules.Book, k *evidence.Case, r *engine.Report) bool {
	return len(r.Stop) == 0 && slices.ContainsFunc(k.Confirmed, func(at evidence.At) bool {
		return !has(k.LookedAgain, at) && book.Causes.Get(at.ID).Behind == rules.BehindNothing
	})
}

// Stopping gives the steps of stopping the pump: those of the list, or where no check of
// the list needs it stopped and it must stop all the same, those of the book.
func Stopping(book *rules.Book, k *evidence.Case, r *engine.Report) (out []work.Step) {
	for _, step := range r.Steps {
		if step.Kind == work.StepSafety && book.Safety.Get(step.ID).For == rules.ForStopping {
			out = append(out, step)
		}
	}
	if len(out) > 0 || !mustStop(book, k, r) {
		return out
	}
	atOnce := slices.ContainsFunc(r.Stop, func(s chances.Stop) bool { return s.By == string(rules.AtOnce) })
	for _, g := range book.Safety.List {
		if g.For == rules.ForStopping && g.When.Holds(k, book) && !(g.SkipOnStop && atOnce) {
			out = append(out, work.Step{
				Kind: work.StepSafety, ID: g.ID, Title: book.Fill(k, g.Title), Do: book.Fill(k, g.Do), Signal: string(g.Signal), Minutes: g.Minutes, FromLocal: g.FromLocal,
			})
		}
	}
	return out
}
