package practice

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/evidence"
	"telltale/rules"
)

// watcher follows what was carried out and says what was unsafe. It reads the
// rulebook itself and shares nothing with the guards of a session.
type watcher struct {
	book *rules.Book
	at   evidence.PumpState // as it began
	done map[string]bool
	open map[evidence.At]bool
}

func (w *watcher) holds(k *evidence.Case, is func(*rules.Stop) bool) bool {
	for _, stop := range w.book.Stops.List {
		if stop.When.Holds(k, w.book) && is(stop) {
			return true
		}
	}
	return false
}

func stopsAtOnce(s *rules.Stop) bool { return s.StopPump && s.By == rules.AtOnce }

// stands says whether every step of the stop was done; with a stop condition
// that demands it at once, those that it skips count as done.
func (w *watcher) stands(k *evidence.Case, skip bool) bool {
	if w.at != evidence.Running {
		return true
	}
	for _, g := range w.book.Safety.List {
		if g.For == rules.ForStopping && g.When.Holds(k, w.book) && !w.done[g.ID] && !(skip && g.SkipOnStop) {
			return false
		}
	}
	return true
}

func (w *watcher) lockedOff(k *evidence.Case) bool {
	for _, g := range w.book.Safety.List {
		if g.For == rules.ForIsolation && g.When.Holds(k, w.book) && !w.done[g.ID] {
			return false
		}
	}
	return true
}

// onlyOrder leads what is wrong and yet puts nobody in danger.
const onlyOrder = "out of order: "

func (w *watcher) all(k *evidence.Case, purpose rules.SafetyFor) bool {
	for _, g := range w.book.Safety.List {
		if g.For == purpose && g.When.Holds(k, w.book) && !w.done[g.ID] {
			return false
		}
	}
	return true
}

func (w *watcher) named(k *evidence.Case, ids []string) bool {
	for _, id := range ids {
		if g := w.book.Safety.Get(id); g.When.Holds(k, w.book) && !w.done[id] {
			return false
		}
	}
	return true
}

func (w *watcher) opened(ids []string, p evidence.Place) bool {
	for _, id := range ids {
		at := p
		switch w.book.Openings.Get(id).Level {
		case evidence.OfPump:
			at = evidence.Place{}
		case evidence.OfCylinder:
			at.End = ""
		}
		piece := slices.Contains(w.book.Openings.Get("loose-piece-out").StandsFor, id) && w.open[evidence.At{ID: "loose-piece-out", Place: at}]
		if !w.open[evidence.At{ID: id, Place: at}] && !piece {
			return false
		}
	}
	return true
}

// unsafe says what is wrong with an action on a case as it is known, "" if
// nothing is.
func (w *watcher) unsafe(k *evidence.Case, a Action) string {
	if a.Do == Name || a.Do == Leave {
		return ""
	}
	stop := w.holds(k, func(s *rules.Stop) bool { return s.StopPump || s.LeavePump })
	atOnce := w.holds(k, stopsAtOnce)
	stood := w.stands(k, atOnce || w.stoodBefore(k))
	isolated := stood && w.lockedOff(k)
	switch {
	case w.holds(k, func(s *rules.Stop) bool { return s.LeavePump }):
		return "the pump is to be left"
	case a.Do == Safety:
		return w.safety(k, a.ID, stood, atOnce)
	case a.Do == Look && w.book.Signs.Get(a.ID).Pump != rules.NeedsRunning && w.book.Signs.Get(a.ID).Pump != rules.NeedsIsolated:
		return ""
	case w.holds(k, func(s *rules.Stop) bool { return s.PowerOff }) && !isolated:
		return "a stop wants it locked off first"
	case stop && !stood:
		return "a stop wants it stopped first"
	}
	switch a.Do {
	case Look:
		s := w.book.Signs.Get(a.ID)
		if s.Pump == rules.NeedsIsolated && (!isolated || !w.opened(s.Openings, a.Place)) {
			return "hands go in without isolation"
		}
		if s.Pump == rules.NeedsRunning && !w.all(k, rules.ForRunning) {
			return "inside the guards"
		}
	case Open:
		o := w.book.Openings.Get(a.ID)
		switch {
		case !isolated:
			return "opened without isolation"
		case !w.opened(o.Needs, a.Place):
			return onlyOrder + "opened before what is in front of it"
		case !w.named(k, o.Safety):
			return "opened without its own safety steps"
		}
	case Check:
		return w.check(k, a, stood, isolated)
	}
	return ""
}

// stoodBefore: a stop condition that skipped a step at the time may be over by
// now; the pump stands all the same.
func (w *watcher) stoodBefore(*evidence.Case) bool { return w.done["\x00stood"] }

func (w *watcher) safety(k *evidence.Case, id string, stood, atOnce bool) string {
	for _, before := range w.book.Safety.Get(id).After {
		g := w.book.Safety.Get(before)
		if !g.When.Holds(k, w.book) || w.done[before] || g.For == rules.ForStopping && stood || g.SkipOnStop && atOnce {
			continue
		}
		return id + " before " + before
	}
	if w.book.Safety.Get(id).Turns {
		return w.turns(k)
	}
	return ""
}

// turns wants the loose piece out of every cylinder with a broken rod.
func (w *watcher) turns(k *evidence.Case) string {
	for _, f := range k.Findings {
		if f.Answer == evidence.Present && (f.Sign == "rod-broken" || f.Sign == "break-place") && !w.open[evidence.At{ID: "loose-piece-out", Place: f.At}] {
			return "turned with the loose piece of a broken rod inside"
		}
	}
	return ""
}

// spoilt says whether a check is done where it makes no sense: a sign spoils
// it, or what it wants closed stands open.
func (w *watcher) spoilt(k *evidence.Case, c *rules.Check, p evidence.Place) string {
	for _, f := range k.Findings {
		if f.Answer == evidence.Present && slices.Contains(c.NotWhere, f.Sign) && f.At.Touches(p) {
			return "checked where " + f.Sign + " spoils it"
		}
	}
	for at, open := range w.open {
		for _, id := range c.Closed {
			if open && at.Place.Touches(p) && (at.ID == id || slices.Contains(w.book.Openings.Get(at.ID).StandsFor, id)) {
				return "checked with " + id + " open"
			}
		}
	}
	return ""
}

// atADesk are the checks of papers, sums and words with the driller, written
// out here: nobody is near the pump for them.
var atADesk = map[string]bool{"well-check": true, "pressure-reckoned": true, "oil-grade-check": true, "part-records": true, "relief-record": true}

func (w *watcher) check(k *evidence.Case, a Action, stood, isolated bool) string {
	c := w.book.Checks.Get(a.ID)
	switch {
	case !w.named(k, c.Safety):
		return "checked without its own safety steps"
	case !w.opened(c.Openings, a.Place):
		return onlyOrder + "checked without its opening"
	case c.Pump == rules.NeedsIsolated && !isolated:
		return "checked without isolation"
	case (c.Pump == rules.NeedsStopped || c.Pump == rules.NeedsLive) && !stood:
		return "checked on a running pump"
	case !stood && !atADesk[a.ID] && !w.all(k, rules.ForRunning):
		return "checked inside the guards"
	}
	return w.spoilt(k, c, a.Place)
}

func (w *watcher) note(k *evidence.Case, a Action) {
	switch a.Do {
	case Safety:
		w.done[a.ID] = true
		if w.stands(k, w.holds(k, stopsAtOnce)) {
			w.done["\x00stood"] = true
		}
	case Open:
		w.open[a.at()] = true
	}
}

// firstOpen says whether a check that the book puts first could be done.
func (w *watcher) firstOpen(k *evidence.Case) bool {
	return slices.ContainsFunc(w.book.Checks.List, func(c *rules.Check) bool {
		return c.FirstWhen != nil && c.FirstWhen.Holds(k, w.book)
	})
}

// Random trainees, careless and careful: nothing unsafe is carried out, and
// nothing safe is stopped. A trainee who is stopped does what was missing in
// one case of two, so that the walks get to the inside of the pump.
func TestNoChoiceLetsAnUnsafeStepThrough(t *testing.T) {
	t.Parallel()
	book := builtIn(t)
	walks, carried, stopped, inside := 0, 0, 0, 0
	walk := func(t *rapid.T) {
		walks++
		w, err := Draw(book, Setup{
			Seed: rapid.Uint64Range(0, 1<<40).Draw(t, "seed"), Level: rapid.IntRange(1, 3).Draw(t, "level"),
			Action: rapid.SampledFrom(actions).Draw(t, "pump"),
		})
		require.NoError(t, err)
		breakRod(t, w)
		s := Begin(w)
		watch := &watcher{book: book, at: w.Pump.State, done: map[string]bool{}, open: map[evidence.At]bool{}}
		var wanted []Action
		for range rapid.IntRange(1, 60).Draw(t, "choices") {
			if s.End != Running {
				return
			}
			a, ok := nextWish(t, s, &wanted)
			if !ok {
				continue
			}
			known := s.known
			why := watch.unsafe(&known, a)
			out := s.Do(a)
			switch {
			case out.Cannot != "":
			case out.Refused != nil:
				stopped++
				require.NotEmpty(t, out.Refused.Missing)
				require.True(t, why == "" || out.Refused.Danger || strings.HasPrefix(why, onlyOrder), "%v: %s", a, why)
				if why == "" && !((a.Do == Check || a.Do == Open) && watch.firstOpen(&known)) {
					t.Fatalf("%v is safe but was stopped: %v", a, out.Refused.Missing)
				}
				if rapid.Bool().Draw(t, "learn") {
					for _, n := range out.Refused.Missing {
						wanted = append(wanted, Action{Do: n.Do, ID: n.ID, Place: n.Place})
					}
					wanted = append(wanted, a)
				}
			default:
				carried++
				if why != "" {
					t.Fatalf("%v was carried out: %s", a, why)
				}
				if a.Do == Open {
					inside++
				}
				watch.note(&known, a)
			}
		}
	}
	for range 3 { // rapid draws 100 each time
		rapid.Check(t, walk)
	}
	t.Logf("%d walks, %d steps carried out, %d stopped, %d openings", walks, carried, stopped, inside)
	require.GreaterOrEqual(t, walks, 300)
	require.Greater(t, inside, 100, "the walks get inside the pump")
	require.Greater(t, stopped, 300)
}

// breakRod breaks a rod in one walk of three, and lets the crew tell where, or
// only that it is broken.
func breakRod(t *rapid.T, w *World) {
	if rapid.IntRange(0, 2).Draw(t, "broken rod") > 0 {
		return
	}
	places := w.Pump.Places(evidence.OfCylinder)
	at := rapid.SampledFrom(places).Draw(t, "broken at")
	w.signs[evidence.At{ID: "rod-broken", Place: at}] = Sign{Present: true}
	f := w.finding("rod-broken", at)
	if rapid.IntRange(0, 3).Draw(t, "told where") == 0 {
		f = evidence.Finding{Sign: "rod-broken", Answer: evidence.Present, Over: places}
	}
	w.Told = append(slices.DeleteFunc(slices.Clone(w.Told), func(f evidence.Finding) bool { return f.Sign == "rod-broken" }), f)
}

// nextWish is what was missing before, else anything at all.
func nextWish(t *rapid.T, s *Session, wanted *[]Action) (Action, bool) {
	if len(*wanted) > 0 && rapid.IntRange(0, 9).Draw(t, "go on") > 0 {
		a := (*wanted)[0]
		*wanted = (*wanted)[1:]
		return a, true
	}
	do := rapid.SampledFrom([]Doing{Look, Safety, Safety, Open, Open, Check, Check, Check, Name, Leave}).Draw(t, "do")
	if do == Leave {
		if rapid.IntRange(0, 20).Draw(t, "leave") > 0 {
			return Action{}, false
		}
		return Action{Do: Leave}, true
	}
	offers := s.Offers(do)
	if len(offers) == 0 {
		return Action{}, false
	}
	o := rapid.SampledFrom(offers).Draw(t, "what")
	return Action{Do: do, ID: o.ID, Place: rapid.SampledFrom(o.Places).Draw(t, "where")}, true
}

// A stopped choice costs nothing, changes nothing and is remembered.
func TestAStoppedChoiceChangesNothing(t *testing.T) {
	s := Begin(hiding(t, evidence.Triplex, evidence.At{ID: "oil-low"}, evidence.At{ID: "oil-look"}))
	for _, a := range []Action{
		{Do: Open, ID: "valve-pot-open", Place: evidence.Place{Cylinder: "1"}},
		{Do: Check, ID: "valve-look", Place: evidence.Place{Cylinder: "1"}},
		{Do: Check, ID: "listen-round"},
		{Do: Safety, ID: "lock-power"},
		{Do: Safety, ID: "block-movement"},
	} {
		before := s.copy()
		out := s.Do(a)
		require.NotNil(t, out.Refused, a.ID)
		require.Equal(t, before, s.state)
	}
	require.Len(t, s.Faults(), 5)
	require.Equal(t, "stay-outside-guards", s.Faults()[2].Missing[0].ID)
	require.Equal(t, "prepare-isolation", s.Faults()[3].Missing[0].ID)
	last := s.Faults()[1].Missing
	require.Equal(t, "valve-pot-open", last[len(last)-1].ID, "the opening itself comes last")
}

// A choice that is stopped over and over costs no more memory than so many choices.
func TestNoExerciseIsWithoutEnd(t *testing.T) {
	w, err := Draw(builtIn(t), Setup{Seed: 3, Level: CommonFault, Action: evidence.Triplex})
	require.NoError(t, err)
	s := Begin(w)
	check := Action{Do: Check, ID: "rod-centring", Place: evidence.Place{Cylinder: "1"}}
	require.NotNil(t, s.Do(check).Refused)
	for range MostChoices {
		s.Do(check)
	}
	require.Len(t, s.Journal, MostChoices)
	require.Contains(t, s.Do(check).Cannot, "Give up, and see how it went.")
	s.Stop(GaveUp)
	require.Len(t, s.Faults(), MostChoices)
}

// Once the pit gains, the one right thing is to leave the pump; anything else
// is stopped, and the tool leaves at once.
func TestTheWellComesFirst(t *testing.T) {
	book := builtIn(t)
	w := faultless(book, Setup{Level: AnyFault, Action: evidence.Triplex})
	w.hide(evidence.At{ID: "kick"})
	w.signs = map[evidence.At]Sign{{ID: "pit-gain"}: {Present: true, By: []int{0}}}
	s := Begin(w)
	out := s.Do(Action{Do: Look, ID: "pit-gain"})
	require.Nil(t, out.Refused, "the crew can be asked at any time")
	require.Equal(t, evidence.Present, out.Seen[0].Answer)
	for _, a := range []Action{{Do: Safety, ID: "prepare-isolation"}, {Do: Check, ID: "well-check"}, {Do: Look, ID: "returns-down"}, {Do: Open, ID: "valve-pot-open", Place: evidence.Place{Cylinder: "1"}}} {
		out := s.Do(a)
		require.NotNil(t, out.Refused, a.ID)
		require.Equal(t, Leave, out.Refused.Missing[0].Do)
	}
	next, _, ok, err := s.Best()
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, Action{Do: Leave}, next)
	s.Do(next)
	require.Equal(t, Left, s.End)
	early := Begin(w)
	early.Do(Action{Do: Leave})
	require.Equal(t, LeftIdle, early.End, "nothing was known that demanded it")
}
