package engine

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/stretchr/testify/require"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// The watcher with the built-in book beneath a local one as its floor.

// floor is what the built-in book demands of a list that was made with a local
// book over it: a second pair of eyes that reads the built-in book alone.
type floor struct {
	book *rules.Book
	k    *evidence.Case
	r    *Report
}

// under gives the first thing that the built-in book demands and the list of
// another book does not keep, "" if there is none.
func (f floor) under() string {
	return first(f.stops(), f.words(), f.isolationOrder(), f.returns())
}

// beginsWith says whether lines begin with others; more may follow.
func beginsWith(lines, with []string) bool {
	return len(lines) >= len(with) && slices.Equal(lines[:len(with)], with)
}

// stops: each stop that holds by the built-in book stands in the answer, with
// its words and with what it demands, and none over a graver one; nothing else
// leaves the pump. Where one leaves it, the others say their first line.
func (f floor) stops() string {
	for _, s := range raisedBy(f.book, f.k) {
		at := slices.IndexFunc(f.r.Stop, func(r chances.Stop) bool { return r.ID == s.ID })
		if at < 0 {
			return "the stop " + s.ID + " is not raised"
		}
		got, do := f.r.Stop[at], slices.Clone(s.Do)
		if s.Standing != "" && f.k.Pump.State != evidence.Running {
			do[0] = s.Standing
		}
		if f.r.LeavePump && !s.LeavePump { // nothing further is done meanwhile
			if do = do[:1]; len(got.Do) > 1 {
				return "the stop " + s.ID + " says what to do at a pump that is left"
			}
		}
		if got.Signal != string(s.Signal) || !strings.HasPrefix(got.Title, s.Title) || !beginsWith(got.Do, chances.Bare(f.book, f.k).FillAll(do)) {
			return "the stop " + s.ID + " has other words"
		}
		if s.LeavePump && !f.r.LeavePump {
			return "the stop " + s.ID + " leaves the pump, and the answer does not"
		}
		if s.By == rules.AtOnce && got.By != string(rules.AtOnce) {
			return "the stop " + s.ID + " can wait now"
		}
	}
	if f.r.LeavePump && !slices.ContainsFunc(f.r.Stop, func(s chances.Stop) bool { b := f.book.Stops.Get(s.ID); return b != nil && b.LeavePump }) {
		return "the pump is left, and no stop of the built-in book leaves it"
	}
	if !slices.IsSortedFunc(f.r.Stop, func(a, b chances.Stop) int {
		return slices.Index(rules.Signals(), a.Signal) - slices.Index(rules.Signals(), b.Signal)
	}) {
		return "a stop stands over a graver one"
	}
	return ""
}

// words: a safety or return step of the built-in book says what it says there,
// and a check or an opening says that at least.
func (f floor) words() string {
	for _, s := range f.r.Steps {
		same, begins := [2]string{}, [2]string{}
		switch s.Kind {
		case work.StepSafety:
			if b := f.book.Safety.Get(s.ID); b != nil {
				said := rules.TakenOver{Title: b.Title, Minutes: b.Minutes, Do: b.Do}
				failed := slices.ContainsFunc(f.r.Stop, func(s chances.Stop) bool { return s.ID == "isolation-failed" }) // then nothing is taken over
				if b.TakenOver != nil && f.k.Pump.State == evidence.Isolated && !failed {
					said = *b.TakenOver
				}
				if s.Signal != string(b.Signal) || s.Minutes != said.Minutes {
					return s.ID + " has another signal or other minutes"
				}
				same = [2]string{s.Title + s.Do, said.Title + said.Do}
			}
		case work.StepReturn: // what may have brought on what was proved is told before it
			title, do := "", ""
			if b := f.book.Returns.Get(s.ID); b != nil {
				title, do = b.Title, b.Do
			} else if a := f.book.Openings.Get(s.ID); a != nil {
				title, do = a.Close.Title, a.Close.Do
			}
			if title != "" && s.Title != f.book.Fill(f.k, title) || !strings.Contains(s.Do, f.book.Fill(f.k, do)) {
				return s.ID + " has other words"
			}
		case work.StepOpening:
			if b := f.book.Openings.Get(s.ID); b != nil {
				begins = [2]string{s.Do, b.Do}
			}
		case work.StepCheck:
			if b := f.book.Checks.Get(s.ID); b != nil {
				begins = [2]string{s.Do, b.Do}
			}
		}
		if same[0] != f.book.Fill(f.k, same[1]) || !strings.HasPrefix(begins[0], f.book.Fill(f.k, begins[1])) {
			return s.ID + " has other words"
		}
	}
	return ""
}

// isolationOrder: nothing of the isolation stands behind the last step of the
// built-in one that stands in the list.
func (f floor) isolationOrder() string {
	ended := ""
	for _, s := range f.r.Steps {
		if s.Kind != work.StepSafety {
			continue
		}
		if b := f.book.Safety.Get(s.ID); b == nil && ended != "" && f.isolates(s.ID) {
			return s.ID + " stands behind " + ended + ", which proves the isolation"
		} else if b != nil && b.For == rules.ForIsolation && b.InFull {
			ended = s.ID
		}
	}
	return ""
}

// isolates says by its drawn name whether a local step is one of the isolation.
func (f floor) isolates(id string) bool { return strings.HasPrefix(id, "local-isolation") }

// returns: each return step that the built-in book demands after an isolation
// stands in the list, in the order of that book, before the closing that it
// comes before.
func (f floor) returns() string {
	opened, isolated := map[string]bool{}, f.k.Pump.State == evidence.Isolated && len(f.r.Steps) > 0
	for _, at := range f.k.Pump.Open {
		opened[at.ID] = true
	}
	place := map[string]int{}
	for i, s := range f.r.Steps {
		switch {
		case s.Kind == work.StepOpening:
			opened[s.ID], isolated = true, true
		case s.Kind == work.StepSafety && f.book.Safety.Get(s.ID) != nil:
			isolated = isolated || f.book.Safety.Get(s.ID).For == rules.ForIsolation
		case s.Kind == work.StepReturn:
			if _, there := place[s.ID]; !there {
				place[s.ID] = i
			}
		}
	}
	if !isolated || f.r.LeavePump || f.r.OpenNothing {
		return ""
	}
	last, closed := -1, 0
	for i, s := range f.r.Steps {
		if s.Kind == work.StepReturn && f.book.Openings.Get(s.ID) != nil {
			closed = i
		}
	}
	for _, stop := range f.r.Stop {
		if b := f.book.Stops.Get(stop.ID); b != nil && b.OutOfService && !f.r.OutOfService {
			return "the stop " + stop.ID + " lets the pump run again"
		}
	}
	for _, b := range f.book.Returns.List {
		if b.For == rules.ForService && f.r.OutOfService || b.For == rules.ForOutOfService && !f.r.OutOfService {
			if _, there := place[b.ID]; there {
				return "the return step " + b.ID + " leads the other way"
			}
			continue
		}
		if !b.When.Holds(f.k, f.book) || len(b.Opened) > 0 && !slices.ContainsFunc(b.Opened, func(id string) bool { return opened[id] }) {
			continue
		}
		at, there := place[b.ID]
		if !there {
			return "the return step " + b.ID + " is not in the list"
		}
		if at < last {
			return "the return step " + b.ID + " stands before another that comes first"
		}
		if len(b.Before) == 0 && at < closed {
			return "the return step " + b.ID + " stands before all is closed"
		}
		last = at
		for _, opening := range b.Before {
			if closing, there := place[opening]; there && closing < at {
				return opening + " is closed before the return step " + b.ID
			}
		}
	}
	return ""
}

// unsafeOver gives the first fault of a list that was made with a local book:
// by that book with all that it adds, and by the built-in one for what is its
// own.
func unsafeOver(book, built *rules.Book, k *evidence.Case, r *Report) string {
	own := *r
	own.Steps = nil
	for _, s := range r.Steps {
		if built.Safety.Get(s.ID) == nil && built.Openings.Get(s.ID) == nil && built.Checks.Get(s.ID) == nil && built.Returns.Get(s.ID) == nil {
			continue
		}
		if b := built.Checks.Get(s.ID); b != nil && string(b.Pump) != s.Pump {
			if !slices.Contains(safelyMoved[b.Pump], rules.PumpNeed(s.Pump)) {
				return fmt.Sprintf("%s needs the pump %s and is done with it %s", s.ID, b.Pump, s.Pump)
			}
			continue // the other watcher looks at it
		}
		s.Number, s.Needs = len(own.Steps)+1, nil
		own.Steps = append(own.Steps, s)
	}
	return first(unsafe(book, k, r), unsafeAfter(append(raisedBy(built, k), stopsOf(book, r)...), built, k, &own))
}

// raisedBy gives the stops that a book raises: by their conditions alone, but where
// something was put right and looked at again, by what the engine makes of it.
func raisedBy(book *rules.Book, k *evidence.Case) []*rules.Stop {
	if len(k.LookedAgain) > 0 {
		return slices.Clone(chances.Bare(book, k).Stops())
	}
	return slices.DeleteFunc(slices.Clone(book.Stops.List), func(s *rules.Stop) bool { return !s.When.Holds(k, book) })
}

// safelyMoved says for each state of the pump which others are no worse for
// hands.
var safelyMoved = map[rules.PumpNeed][]rules.PumpNeed{
	rules.NeedsRunning: {rules.NeedsStopped, rules.NeedsIsolated},
	rules.NeedsLive:    {rules.NeedsStopped, rules.NeedsIsolated},
	rules.NeedsNothing: {rules.NeedsStopped, rules.NeedsIsolated},
	rules.NeedsStopped: {rules.NeedsIsolated},
}

// watchedOver gives the answer of a book to a case that is written in its own
// words, and the fault that a watcher sees who goes by the book and by the
// built-in one beneath it.
func watchedOver(t require.TestingT, book *rules.Book, text string, teardown bool) string {
	built, err := rules.BuiltIn()
	require.NoError(t, err)
	k, err := evidence.ParseCase("drawn.yaml", []byte(text), book.Vocabulary())
	require.NoError(t, err, text)
	r, err := Diagnose(book, k)
	var impossible *chances.ImpossibleError
	if err != nil && !errors.As(err, &impossible) {
		require.NoError(t, err, text)
	}
	low := floor{built, k, r}
	if err != nil { // the stops speak all the same
		return low.stops()
	}
	fault := first(unsafeOver(book, built, k, r), low.under())
	if fault != "" || !teardown {
		return fault
	}
	alone, err := Diagnose(built, k)
	if err == nil && rules.Wait(alone.Haste.Verdict).Sooner(rules.Wait(r.Haste.Verdict)) && !r.LeavePump {
		return fmt.Sprintf("it can wait: %s; by the built-in book alone: %s", r.Haste.Verdict, alone.Haste.Verdict)
	}
	plan, err := PlanTeardown(book, k, nil)
	require.NoError(t, err, text)
	return first(unsafeOver(book, built, k, plan.Report), floor{built, k, plan.Report}.under())
}
