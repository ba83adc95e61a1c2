package engine

import (
	"errors"
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// watcher walks through a list of steps as a safety officer would, with the
// rulebook in hand and without a look at how the list was made.
type watcher struct {
	book *rules.Book
	k    *evidence.Case
	done map[string]bool // safety steps
	open map[evidence.At]bool
	seen map[string]bool // ids of all steps so far

	mustStop bool // a stop condition ends the running pump
	atOnce   bool // and at once: nobody agrees the moment first
	powerOff bool // a stop condition cuts the power
	keptOut  bool // a stop condition keeps the pump out of service
	beside   bool // by a stop condition, hands are inside or covers are off
	stops    []*rules.Stop
	isolated bool // an isolation step was done, or the case says so
	stopped  bool
	held     bool // a stop condition holds every opening back
}

// unsafe gives the first fault of a list, "" if there is none.
func unsafe(book *rules.Book, k *evidence.Case, r *Report) string {
	return unsafeAfter(stopsOf(book, r), book, k, r)
}

// stopsOf gives the stops of a book that an answer raises.
func stopsOf(book *rules.Book, r *Report) []*rules.Stop {
	var out []*rules.Stop
	for _, s := range r.Stop {
		if stop := book.Stops.Get(s.ID); stop != nil {
			out = append(out, stop)
		}
	}
	return out
}

// unsafeAfter gives the first fault of a list where these stops are raised.
func unsafeAfter(stops []*rules.Stop, book *rules.Book, k *evidence.Case, r *Report) string {
	w := watcher{book: book, k: k, stops: stops, done: map[string]bool{}, open: map[evidence.At]bool{}, seen: map[string]bool{}}
	w.isolated = k.Pump.State == evidence.Isolated
	w.stopped = k.Pump.State != evidence.Running
	for _, at := range k.Pump.Open {
		if book.Openings.Get(at.ID) != nil { // else of a book over this one
			w.open[evidence.At{ID: at.ID, Place: at.Place}] = true
		}
	}
	for _, stop := range stops {
		if stop.StopPump && k.Pump.State == evidence.Running {
			w.mustStop, w.atOnce = true, w.atOnce || stop.By == rules.AtOnce
		}
		w.powerOff = w.powerOff || stop.PowerOff
		w.held = w.held || stop.OpenNothing
		w.keptOut = w.keptOut || stop.OutOfService
		w.beside = w.beside || stop.When.AsksBeside()
	}
	before := 0.0
	for i, s := range r.Steps {
		if s.Number != i+1 {
			return fmt.Sprintf("step %d is numbered %d", i+1, s.Number)
		}
		if s.FoundByHere < before || s.FoundByHere > 1 {
			return fmt.Sprintf("step %d: chance %g after %g", s.Number, s.FoundByHere, before)
		}
		before = s.FoundByHere
		for _, need := range s.Needs {
			if !w.seen[need] {
				return fmt.Sprintf("step %d %s needs %s, which does not stand earlier", s.Number, s.ID, need)
			}
		}
		if fault := w.step(s, r); fault != "" {
			return fmt.Sprintf("step %d %s %s: %s", s.Number, s.Kind, s.ID, fault)
		}
		w.seen[s.ID] = true
		if fault := w.waited(r, i); fault != "" {
			return fmt.Sprintf("step %d %s: %s", s.Number, s.ID, fault)
		}
	}
	if fault := first(w.repairs(), w.leftInside()); fault != "" && !r.LeavePump {
		return fault
	}
	for at, open := range w.open {
		if open && !w.held && !r.LeavePump { // then nobody goes near it
			return fmt.Sprintf("%s %s is left open", at.ID, at.Place)
		}
	}
	return ""
}

// repairs wants before what is proved and not corrected what its repair is done
// behind: the isolation of the pump unless the book says otherwise, and the
// safety steps of its own.
func (w *watcher) repairs() string {
	if w.held {
		return "" // nothing is repaired while nothing may be opened
	}
	corrected := map[evidence.At]bool{}
	for _, at := range w.k.Corrected {
		corrected[evidence.At{ID: at.ID, Place: at.Place}] = true
	}
	for _, at := range w.k.Confirmed {
		cause, fault := w.book.Causes.Get(at.ID), ""
		if corrected[evidence.At{ID: at.ID, Place: at.Place}] {
			continue
		}
		if cause.Behind == rules.BehindPump {
			fault = w.handsIn()
		}
		if fault = first(fault, w.named(cause.Safety)); fault != "" {
			return "the repair of " + at.ID + " " + fault
		}
	}
	return ""
}

// waited looks whether a check that the book puts before this one comes later
// although this one could have waited.
func (w *watcher) waited(r *Report, at int) string {
	s := r.Steps[at]
	if s.Kind != work.StepCheck || !w.book.Checks.Get(s.ID).Pump.UnderIsolation() {
		return ""
	}
	if c := w.book.Checks.Get(s.ID); c.FirstWhen != nil && c.FirstWhen.Holds(w.k, w.book) {
		return "" // first by a rule of its own
	}
	for _, id := range w.book.Checks.Get(s.ID).AfterIn(w.k, w.book) {
		for _, later := range r.Steps[at+1:] {
			if later.ID == id && later.Kind == work.StepCheck && s.Place.Touches(later.Place) {
				return "stands before " + id
			}
		}
	}
	return ""
}

func (w *watcher) step(s work.Step, r *Report) string {
	place := s.Place
	switch s.Kind {
	case work.StepSafety:
		return w.safety(s.ID)
	case work.StepOpening:
		a := w.book.Openings.Get(s.ID)
		if fault := w.handsIn(); fault != "" {
			return fault
		}
		fault := first(w.opened(a.Needs, place), w.named(a.Safety), w.rightOpening(a, place))
		w.open[evidence.At{ID: s.ID, Place: place}] = true
		return fault
	case work.StepCheck:
		return w.check(w.book.Checks.Get(s.ID), place, r)
	}
	if a := w.book.Openings.Get(s.ID); a != nil {
		return first(w.nothingDueBefore(s, r), w.shut(a, place))
	}
	if b := w.book.Returns.Get(s.ID); b != nil && !b.Leads(w.keptOut || r.OutOfService) { // a named cause keeps it out too
		return "leads the other way"
	}
	return ""
}

func first(faults ...string) string {
	for _, f := range faults {
		if f != "" {
			return f
		}
	}
	return ""
}

func (w *watcher) safety(id string) string {
	s := w.book.Safety.Get(id)
	w.done[id] = true
	if fault := w.turning(s.Turns); fault != "" {
		return fault
	}
	w.stopped = w.stopped || s.For == rules.ForStopping && w.all(rules.ForStopping) == "" || s.For == rules.ForIsolation
	w.isolated = w.isolated || s.For == rules.ForIsolation && s.InFull
	for _, after := range s.After {
		if !w.done[after] && w.owed(w.book.Safety.Get(after)) {
			return "comes before " + after
		}
	}
	return ""
}

// owed says whether a safety step still has to be done in this list.
func (w *watcher) owed(s *rules.Safety) bool {
	if !s.When.Holds(w.k, w.book) {
		return false
	}
	if s.InFull {
		return !w.held // nothing can be proved then
	}
	if s.SkipOnStop && w.atOnce {
		return false
	}
	switch s.For {
	case rules.ForIsolation:
		return w.k.Pump.State != evidence.Isolated || s.TakenOver != nil
	case rules.ForStopping:
		return w.k.Pump.State == evidence.Running
	}
	return true
}

func (w *watcher) all(purposes ...rules.SafetyFor) string {
	for _, s := range w.book.Safety.List {
		for _, p := range purposes {
			if s.For == p && w.owed(s) && !w.done[s.ID] {
				return "before safety step " + s.ID
			}
		}
	}
	return ""
}

// besideRunning wants the guards of the running pump for whoever stands beside
// one.
func (w *watcher) besideRunning() string {
	if w.stopped {
		return ""
	}
	return w.all(rules.ForRunning)
}

func (w *watcher) handsIn() string { return w.all(rules.ForStopping, rules.ForIsolation) }

func (w *watcher) named(ids []string) string {
	for _, id := range ids {
		if !w.done[id] && w.book.Safety.Get(id).When.Holds(w.k, w.book) {
			return "before its safety step " + id
		}
	}
	return ""
}

func (w *watcher) opened(ids []string, place evidence.Place) string {
	for _, id := range ids {
		if !w.standsOpen(id, place) {
			return "before " + id + " is open"
		}
	}
	return ""
}

func (w *watcher) check(c *rules.Check, place evidence.Place, r *Report) string {
	fault := ""
	if w.mustStop && !w.stopped {
		fault = "stands before the stop"
	}
	switch c.Pump {
	case rules.NeedsRunning:
		if w.stopped || w.mustStop {
			fault = "needs the pump running, but it stands or must not run"
		}
		fault = first(fault, w.all(rules.ForRunning))
	case rules.NeedsLive:
		if w.isolated || w.powerOff {
			fault = "needs power, but the pump is isolated or must have none"
		}
		fault = first(fault, w.all(rules.ForStopping), w.bumped(c))
	case rules.NeedsStopped:
		if !w.stopped {
			fault = "needs the pump stopped"
		}
		fault = first(fault, w.all(rules.ForStopping))
	case rules.NeedsNothing:
		fault = first(fault, w.besideRunning())
	case rules.NeedsNotIsolated:
		if w.isolated {
			fault = "needs the lines open, but the pump is isolated"
		}
		fault = first(fault, w.besideRunning())
	case rules.NeedsIsolated:
		fault = first(fault, w.handsIn())
	}
	return first(fault, w.opened(c.Openings, place), w.named(c.Safety), w.turning(c.Pump == rules.NeedsRunning), w.spoiled(c, place), w.openTooFar(c, place))
}

// bumped wants no bump of a pump that a stop condition keeps out of service, nor
// while hands may be inside or covers off: a bump is a start.
func (w *watcher) bumped(c *rules.Check) string {
	turns := slices.ContainsFunc(c.Safety, func(id string) bool { return w.book.Safety.Get(id).Turns })
	switch {
	case turns && w.keptOut:
		return "bumps a pump that a stop keeps out of service"
	case turns && w.beside:
		return "bumps a pump with covers off or hands inside, by a stop"
	}
	for _, s := range w.stops {
		if turns && !slices.ContainsFunc(c.Answers, s.When.AsksAbout) {
			return "bumps a pump under the stop " + s.ID
		}
	}
	return ""
}

// shut closes something: what was opened behind it must be shut already.
func (w *watcher) shut(a *rules.Opening, place evidence.Place) string {
	at := evidence.At{ID: a.ID, Place: place}
	if !w.open[at] {
		return "closes what is not open"
	}
	if fault := w.handsIn(); fault != "" {
		return fault
	}
	w.open[at] = false
	for other, open := range w.open {
		if !open {
			continue
		}
		for _, need := range w.book.Openings.Get(other.ID).Needs {
			if other.Place.Touches(place) && (need == a.ID || slices.Contains(a.StandsFor, need)) {
				return "is closed before " + other.ID
			}
		}
	}
	return ""
}

// No list of any book for any pump and any findings puts a step before a
// safety or opening step that it needs, asks for a running pump after a stop,
// or leaves something open.
func TestNoStepStandsBeforeItsSafety(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawBook.Draw(t, "book")
		book := d.load()
		k := drawCase(t, d, book)
		drawProved(t, d, book, k)
		drawCovers(t, d, book, k)
		r, err := Diagnose(book, k)
		var impossible *chances.ImpossibleError
		if errors.As(err, &impossible) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if fault := first(unsafe(book, k, r), isolationFault(book, k, r), coversFault(book, k, r)); fault != "" {
			t.Fatalf("%s\n%s", fault, d.yaml.String())
		}
	})
}

// The watcher is itself tested: it must cry out when a step is taken away or
// two are swapped.
func TestTheWatcherSeesFaults(t *testing.T) {
	for _, text := range []string{
		"pump: {action: triplex-single-acting, state: running}\nfindings: {wiper-leaks: {again: [2], absent: others}}",
		"pump: {action: triplex-single-acting, state: running}\nfindings: {gauges-disagree: present}\nconfirmed: [gauge-faulty]",
		"pump: {action: triplex-single-acting, state: running}\nfindings: {line-pulses: present}\nconfirmed: [discharge-line-unsupported]",
	} {
		book, k := builtInCase(t, text)
		r, err := Diagnose(book, k)
		if err != nil {
			t.Fatal(err)
		}
		if fault := unsafe(book, k, r); fault != "" {
			t.Fatal(fault)
		}
		for i, s := range r.Steps {
			if s.Kind != work.StepSafety && s.Kind != work.StepOpening {
				continue
			}
			less := *r
			less.Steps = append(append([]work.Step{}, r.Steps[:i]...), r.Steps[i+1:]...)
			for j := range less.Steps {
				less.Steps[j].Number = j + 1
				less.Steps[j].Needs = nil // the watcher's own eyes must do
			}
			if unsafe(book, k, &less) == "" {
				t.Errorf("nothing was noticed when %s %s was left out of: %s", s.Kind, s.ID, text)
			}
		}
	}
}
