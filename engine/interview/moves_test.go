package interview

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// A crew at the pump wants to get on: after some questions a check is due, and
// after it the questions go on.
func TestAfterSomeQuestionsACheckIsDue(t *testing.T) {
	text := running + "findings: {wiper-leaks: {again: [2]}}"
	s := nothingLately()
	require.Equal(t, Ask, next(t, text, s).Kind)
	s.InARow = mostInARow
	m := next(t, text, s)
	assert.Equal(t, Do, m.Kind)
	assert.True(t, m.AskLater)
	assert.False(t, m.EnoughAsked)
	s.InARow = 0
	assert.Equal(t, Ask, next(t, text, s).Kind)
}

// What the driller or the mud man puts right needs no isolated pump.
func TestCausesAwayFromThePump(t *testing.T) {
	book := builtIn(t)
	for id, want := range map[string]bool{
		"string-washout": true, "lost-returns": true, "gas-cut-mud": true,
		"rod-clamp-misfitted": false, "crankshaft-cracked": false, "reverse-rotation": false, "chamber-gas-locked": false,
	} {
		t.Run(id, func(t *testing.T) {
			require.NotNil(t, book.Causes.Get(id), id)
			assert.Equal(t, want, book.Causes.Get(id).Behind == rules.BehindNothing, id)
		})
	}
}

func TestWhatMakesThePumpWait(t *testing.T) {
	book := builtIn(t)
	signs, causes := Waiting(book, parse(t, book, running+"findings: {pit-gain: present, flow-with-pumps-off: absent, knock: irregular}\nconfirmed: [kick]"))
	assert.Equal(t, []string{"pit-gain"}, signs)
	require.Len(t, causes, 1)
	assert.Equal(t, "kick", causes[0].ID)
}

// What was put off at one cylinder is not put off at another.
func TestPutOffAtOneCylinderOnly(t *testing.T) {
	s := NewSitting()
	at := func(kind, id, cylinder string, needs ...string) work.Step {
		return work.Step{Kind: kind, ID: id, Place: evidence.Place{Cylinder: cylinder}, Needs: needs}
	}
	r := &engine.Report{Steps: []work.Step{
		at(work.StepSafety, "lock-power", ""),
		at(work.StepOpening, "cylinder-open", "1", "lock-power"),
		at(work.StepCheck, "liner-bore", "1", "lock-power", "cylinder-open"),
		at(work.StepOpening, "cylinder-open", "2", "lock-power"),
		at(work.StepCheck, "liner-bore", "2", "lock-power", "cylinder-open"),
	}}
	for i := range r.Steps {
		r.Steps[i].Number = i + 1
	}
	s.Safe["lock-power"] = true
	s.Declined[StepKey(r.Steps[1])] = true
	step, ok := nextStep(r, s, work.StepCheck)
	require.True(t, ok)
	assert.Equal(t, r.Steps[3], step)

	s.Declined[StepKey(r.Steps[4])] = true
	_, ok = nextStep(r, s, work.StepCheck)
	assert.False(t, ok, "an opening that leads to nothing is not worth it")
}

// Closing up begins with what stands open, and not with what steps to come
// would open.
func TestOnlyWhatIsOpenIsClosed(t *testing.T) {
	s := NewSitting()
	s.Closing = true
	const text = "pump: {action: triplex-single-acting, state: isolated, open: [crosshead-cover-off: 2]}\nfindings: {wiper-leaks: {again: [2]}}"
	m := next(t, text, s)
	for ; m.Kind == Do; m = next(t, text, s) { // hands go in to close it
		s.Safe[m.Step.ID] = true
	}
	require.Contains(t, s.Safe, "try-start")
	require.Equal(t, Close, m.Kind)
	book := builtIn(t)
	closed := 0
	for _, step := range m.Returns {
		if book.Openings.Get(step.ID) != nil {
			closed++
			assert.Equal(t, "crosshead-cover-off", step.ID)
		}
	}
	assert.Equal(t, 1, closed)
}

// What was done lately is asked once, before the first question, and never
// while something must stop or once the crew is at work.
func TestWhatWasDoneLately(t *testing.T) {
	sign := running + "findings: {wiper-leaks: {again: [2]}}"
	assert.Equal(t, Lately, next(t, sign, NewSitting()).Kind)
	assert.NotEqual(t, Lately, next(t, sign, nothingLately()).Kind)
	atWork := NewSitting()
	atWork.Safe["clear-of-pressure"] = true
	assert.NotEqual(t, Lately, next(t, sign, atWork).Kind)
	assert.NotEqual(t, Lately, next(t, sign+"\nchecked: {listen-round: nothing}", NewSitting()).Kind)
	stop := running + "findings: {rod-broken: {3: present}}"
	s := NewSitting()
	m := next(t, stop, s)
	for m.Kind == Stop {
		s.Read[m.Stop.ID] = true
		m = next(t, stop, s)
	}
	assert.Equal(t, Do, m.Kind)
}

// A sign that only makes sense after another one stands behind all that make sense
// before that shows, and triage does not ask for it.
func TestSignsThatFollowOthers(t *testing.T) {
	book := builtIn(t)
	require.Equal(t, []string{"knock"}, book.Signs.Get("knock-when-slower").Follows)
	quiet, knocks := running+"findings: {pressure-low: steady}", running+"findings: {knock: irregular}"
	for _, text := range []string{quiet, knocks} {
		k, behind := parse(t, book, text), false
		for _, s := range Signs(book, k) {
			behind = behind || !s.Fits(k)
			assert.Equal(t, behind, !s.Fits(k), s.ID)
			assert.False(t, s.ID == "knock-when-slower" && s.Fits(k) != (text == knocks))
		}
		assert.True(t, behind)
	}
	for text, asked := range map[string]bool{quiet: false, knocks: true} {
		r, err := engine.Diagnose(book, parse(t, book, text))
		require.NoError(t, err)
		assert.Equal(t, asked, slices.ContainsFunc(r.Ask, func(q chances.Question) bool { return q.Sign == "knock-when-slower" }), text)
	}
}

// With a broken rod at one cylinder, what turns the crank for another waits
// until the loose piece is out: putting that off puts off all of it.
func TestPuttingOffTheLoosePiecePutsOffAllTurning(t *testing.T) {
	book := builtIn(t)
	k := parse(t, book, "pump: {action: triplex-single-acting, state: isolated}\nfindings: {rod-broken: {1: present, absent: others}, wiper-leaks: {3: again}, pistons-fail-often: {one-sided: [3]}}")
	r, err := engine.Diagnose(book, k)
	require.NoError(t, err)
	s := NewSitting()
	turning := 0
	for _, step := range r.Steps {
		switch {
		case step.Kind == work.StepSafety:
			s.Safe[step.ID] = true
		case step.BeforeTurning:
			require.Equal(t, "1", step.Cylinder)
			s.Declined[StepKey(step)] = true
		}
	}
	for _, step := range r.Steps {
		if step.Cylinder == "3" && slices.Contains(step.Needs, "bar-by-hand") {
			turning++
			assert.True(t, blocked(step, r, s), step.ID)
		}
	}
	assert.NotZero(t, turning)
}

// A stop is read out before anything is weighed: it comes without the causes, and of a case
// that cannot be weighed too.
func TestAStopComesBeforeTheWeighing(t *testing.T) {
	book := builtIn(t)
	k := parse(t, book, "pump: {action: triplex-single-acting, state: isolated}\nfindings: {rod-broken: {3: present}}")
	for _, s := range book.Signs.List {
		if s.When.HoldsForPump(&k.Pump) && s.ID != "rod-broken" {
			seen := *k
			seen.Findings = append(slices.Clone(k.Findings), evidence.Finding{Sign: s.ID, Answer: evidence.Present, Over: k.Pump.Places(s.Level)})
			if !chances.New(book, &seen).LeavePump() { // of a pump that is left nothing is weighed
				k = &seen
			}
		}
	}
	s, read := NewSitting(), 0
	m, err := Next(book, k, s)
	for ; m.Kind == Stop; m, err = Next(book, k, s) {
		require.NoError(t, err)
		assert.Empty(t, m.Report.Causes)
		s.Read[m.Stop.ID] = true
		read++
	}
	assert.Greater(t, read, 1)
	assert.True(t, chances.TooWide(err))
	assert.Empty(t, m.Kind)
}
