package interview

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

func builtIn(t testing.TB) *rules.Book {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	return book
}

func parse(t testing.TB, book *rules.Book, text string) *evidence.Case {
	t.Helper()
	k, err := evidence.ParseCase("case.yaml", []byte(text), book.Vocabulary())
	require.NoError(t, err)
	return k
}

func next(t testing.TB, text string, s *Sitting) Move {
	t.Helper()
	book := builtIn(t)
	m, err := Next(book, parse(t, book, text), s)
	require.NoError(t, err)
	return m
}

// nothingLately is a sitting in which it was said that no work was done lately.
func nothingLately() *Sitting {
	s := NewSitting()
	s.Declined[LatelyKey] = true
	return s
}

const running = "pump: {action: triplex-single-acting, state: running}\n"

func TestWhatComesNext(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		want Kind
	}{
		"nothing noticed":        {running, Notice},
		"only what is not there": {running + "findings: {knock: absent}", Notice},
		"a sign":                 {running + "findings: {wiper-leaks: {again: [2]}}", Lately},
		"work known":             {running + "recent: [wipers-changed]\nfindings: {wiper-leaks: {again: [2]}}", Ask},
		"a stop comes first":     {running + "findings: {rod-broken: {3: present}}", Stop},
		"proved":                 {"pump: {action: triplex-single-acting, state: isolated}\nfindings: {wiper-leaks: {again: [2], absent: others}}\nconfirmed: [rod-clamp-misfitted: 2]", Repair},
		"corrected":              {"pump: {action: triplex-single-acting, state: isolated}\nfindings: {wiper-leaks: {again: [2], absent: others}}\nconfirmed: [rod-clamp-misfitted: 2]\ncorrected: [rod-clamp-misfitted: 2]", LookAgain},
		"looked at again":        {"pump: {action: triplex-single-acting, state: isolated}\nfindings: {wiper-leaks: {again: [2], absent: others}}\nconfirmed: [rod-clamp-misfitted: 2, wiper-worn-out: 2]\ncorrected: [rod-clamp-misfitted: 2, wiper-worn-out: 2]\nlooked-again: [rod-clamp-misfitted: 2, wiper-worn-out: 2]", Close},
		"closed up and running":  {running + "findings: {wiper-leaks: {again: [2], absent: others}}\nconfirmed: [rod-clamp-misfitted: 2, wiper-worn-out: 2]\ncorrected: [rod-clamp-misfitted: 2, wiper-worn-out: 2]\nlooked-again: [rod-clamp-misfitted: 2, wiper-worn-out: 2]", Done},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, c.want, next(t, c.text, NewSitting()).Kind, name)
		})
	}
}

// Well control comes before everything: once it is read out the pump waits.
func TestThePumpWaitsForTheWell(t *testing.T) {
	s := NewSitting()
	text := running + "findings: {pressure-low: fell-suddenly, pit-gain: present}"
	m := next(t, text, s)
	for m.Kind == Stop {
		s.Read[m.Stop.ID] = true
		m = next(t, text, s)
	}
	assert.Equal(t, Leave, m.Kind)
}

// A question that was answered with "don't know" is not asked again, and one
// that was put off neither.
func TestNobodyIsAskedTwice(t *testing.T) {
	text := running + "findings: {wiper-leaks: {again: [2]}}"
	first := next(t, text, nothingLately())
	require.Equal(t, Ask, first.Kind)
	s := nothingLately()
	s.Declined[SignKey(first.Sign.ID)] = true
	second := next(t, text, s)
	assert.NotEqual(t, first.Sign, second.Sign)

	unknown := running + "findings: {wiper-leaks: {again: [2]}, " + first.Sign.ID + ": unknown}"
	assert.NotEqual(t, first.Sign, next(t, unknown, nothingLately()).Sign)
}

// A proved cause is not corrected before every step of the isolation was done
// in this sitting.
func TestRepairsStandBehindTheIsolation(t *testing.T) {
	book := builtIn(t)
	k := parse(t, book, running+"findings: {wiper-leaks: {again: [2], absent: others}}\nconfirmed: [rod-clamp-misfitted: 2]")
	s := NewSitting()
	m, err := Next(book, k, s)
	require.NoError(t, err)
	require.Equal(t, Repair, m.Kind, "the crew is asked what to do")
	s.Repairing = true
	for range 100 {
		m, err = Next(book, k, s)
		require.NoError(t, err)
		if m.Kind != Do {
			break
		}
		require.Equal(t, work.StepSafety, m.Step.Kind)
		s.Safe[m.Step.ID] = true
	}
	require.Equal(t, Repair, m.Kind)
	for _, safety := range book.Safety.List {
		if safety.For == rules.ForIsolation && safety.When.Holds(k, book) {
			assert.True(t, s.Safe[safety.ID], safety.ID)
		}
	}
}

// crew answers at random, as evidence and not as text, and watches that no
// hand goes in before its guards.
type crew struct {
	t       *testing.T
	r       *rand.Rand
	book    *rules.Book
	k       *evidence.Case
	s       *Sitting
	started evidence.PumpState
}

// move carries out one move; over says that the talk has ended.
func (c *crew) move(m Move) (over bool) {
	switch m.Kind {
	case Stop:
		c.s.Read[m.Stop.ID] = true
	case Notice:
		signs := Signs(c.book, c.k)
		c.answer(signs[c.r.IntN(min(12, len(signs)))], nil)
	case Ask:
		require.NotEmpty(c.t, m.Places)
		c.answer(m.Sign, m.Places)
	case Do:
		c.do(m)
	case Repair:
		if !c.s.Repairing {
			c.s.Repairing = true
			return false
		}
		if c.book.Causes.Get(m.Cause.ID).Behind != rules.BehindNothing { // else no hand goes to the pump
			c.guarded("repair " + m.Cause.ID)
		}
		c.k.Corrected = append(c.k.Corrected, m.Cause)
	case LookAgain:
		c.k.LookedAgain = append(c.k.LookedAgain, m.Cause)
	case Close:
		c.s.Closed[StepKey(m.Step)] = true
	default:
		return true
	}
	return false
}

func (c *crew) answer(s *rules.Sign, places []evidence.Place) {
	if places == nil {
		places = c.k.Pump.Places(s.Level)
	}
	place := places[c.r.IntN(len(places))]
	f := evidence.Finding{Sign: s.ID, Answer: evidence.Absent, At: place, Over: []evidence.Place{place}}
	choice := c.r.IntN(8)
	if choice == 1 && len(c.k.Findings) > 12 {
		choice = 7 // a talk, not an inventory: many findings are slow to weigh
	}
	if len(c.k.Findings) == 0 {
		choice = 1
	}
	switch choice {
	case 0:
		for _, p := range places {
			c.k.NotKnown = append(c.k.NotKnown, evidence.At{ID: s.ID, Place: p})
		}
		return
	case 1:
		f.Answer = evidence.Present
		if kinds := s.KindIDs(); len(kinds) > 0 {
			f.Kind = kinds[c.r.IntN(len(kinds))]
		}
	}
	trial := *c.k
	trial.Findings = append(append([]evidence.Finding{}, c.k.Findings...), f)
	if _, err := engine.Outline(c.book, &trial); err == nil {
		c.k.Findings = trial.Findings
		return
	}
	c.k.NotKnown = append(c.k.NotKnown, evidence.At{ID: s.ID, Place: place})
}

func (c *crew) do(m Move) {
	s := m.Step
	place := s.Place
	switch s.Kind {
	case work.StepSafety:
		c.s.Safe[s.ID] = true
		if Isolated(c.book, m.Report, c.s) && hasIsolation(c.book, m.Report) {
			c.k.Pump.State = evidence.Isolated
		}
	case work.StepOpening:
		c.guarded("open " + s.ID)
		c.k.Pump.Open = append(c.k.Pump.Open, evidence.At{ID: s.ID, Place: place})
	default:
		check := c.book.Checks.Get(s.ID)
		if check.Pump == rules.NeedsIsolated {
			c.guarded("check " + s.ID)
		}
		for _, need := range s.Needs {
			if c.book.Safety.Get(need) != nil {
				require.True(c.t, c.s.Safe[need], "%s before %s", s.ID, need)
			}
		}
		if c.r.IntN(6) == 0 && len(check.Finds) > 0 {
			cause := c.book.Causes.Get(check.Finds[0].Cause)
			if cause.When.HoldsForPump(&c.k.Pump) {
				at := evidence.At{ID: cause.ID, Place: c.k.Pump.Under(place, cause.Level)[0]}
				if !has(c.k.Confirmed, at) {
					c.k.Confirmed = append(c.k.Confirmed, at)
				}
			}
		}
		c.k.Unclear = append(c.k.Unclear, evidence.At{ID: s.ID, Place: place})
	}
}

func hasIsolation(book *rules.Book, r *engine.Report) bool {
	for _, s := range r.Steps {
		if s.Kind == work.StepSafety && book.Safety.Get(s.ID).For == rules.ForIsolation {
			return true
		}
	}
	return false
}

// guarded looks, with the rulebook alone, whether hands may go in.
func (c *crew) guarded(what string) {
	c.t.Helper()
	for _, s := range c.book.Safety.List {
		owed := s.InFull || c.started != evidence.Isolated && s.For == rules.ForIsolation || c.started == evidence.Running && s.For == rules.ForStopping && !s.SkipOnStop
		if (s.For == rules.ForIsolation || s.For == rules.ForStopping && s.InFull == false && c.started == evidence.Running) && owed && s.When.Holds(c.k, c.book) {
			require.True(c.t, c.s.Safe[s.ID], "%s before %s", what, s.ID)
		}
	}
}

// Whatever the crew answers, the talk ends, and no hand goes in before every
// guard was asked for and confirmed in the sitting.
func TestEveryTalkEndsAndIsGuarded(t *testing.T) {
	book := builtIn(t)
	for seed := range uint64(5) {
		r := rand.New(rand.NewPCG(6, seed))
		action := []evidence.Action{evidence.Triplex, evidence.Duplex}[r.IntN(2)]
		state := []evidence.PumpState{evidence.Running, evidence.Stopped, evidence.Isolated}[r.IntN(3)]
		k := &evidence.Case{Pump: evidence.Pump{Layout: evidence.Layout{Action: action, Cylinders: evidence.DefaultCylinders(action)}, State: state, Rotation: evidence.RotationUnknown}}
		c := &crew{t: t, r: r, book: book, k: k, s: NewSitting(), started: state}
		over := false
		for n := 0; n < 400 && !over; n++ {
			m, err := Next(book, c.k, c.s)
			require.NoError(t, err, "seed %d", seed)
			over = c.move(m)
		}
		assert.True(t, over, fmt.Sprintf("seed %d does not end", seed))
	}
}

// The usual signs first, and none that needs the pump opened while it runs.
func TestSignsThatCanBeReported(t *testing.T) {
	book := builtIn(t)
	signs := Signs(book, parse(t, book, running))
	require.NotEmpty(t, signs)
	for _, s := range signs {
		assert.NotEqual(t, rules.NeedsIsolated, s.Pump)
		assert.False(t, s.Reckoned)
	}
}
