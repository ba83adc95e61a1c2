package engine

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// A check all of whose answers the case has exposes nothing more and is not in
// the list; one with its main question answered is not either.
func TestAnAnsweredCheckAddsNothing(t *testing.T) {
	book := builtIn(t)
	rapid.Check(t, func(t *rapid.T) {
		d := drawBuiltIn(t, book, 4)
		k := d.parse(t, book, d.findings)
		k.Taken = map[string]evidence.Taken{evidence.Others: evidence.AtLastStop}
		check := rapid.SampledFrom(book.Checks.List).Draw(t, "check")
		if !check.When.HoldsForPump(&k.Pump) || len(check.Answers) == 0 || check.FirstWhen != nil {
			t.Skip("not on this pump, answers nothing, or comes first by a rule")
		}
		place := rapid.SampledFrom(k.Pump.Places(check.Level)).Draw(t, "place")
		answers := check.Answers
		if main := check.MainQuestions(); len(main) > 0 && rapid.Bool().Draw(t, "only its main questions") {
			answers = main
		}
		asked := answerAll(t, book, k, answers, place)
		m := chances.New(book, k)
		if !asked {
			t.Skip("none of its questions makes sense here")
		}
		assert.Empty(t, work.Exposes(m, check, place), "%s %s", check.ID, place)
		r, err := Outline(book, k)
		if err != nil {
			t.Skip("impossible together")
		}
		for _, s := range r.Steps {
			assert.False(t, s.Kind == work.StepCheck && s.ID == check.ID && s.Place == place, "%s is in the list", check.ID)
		}
	})
}

// A case tells a check of which only the main question was looked at by the answer
// alone: the check is done, its other questions are still asked, and nothing is held
// against what they would have shown. "Nothing" holds all of it against the causes.
func TestACheckIsToldInPart(t *testing.T) {
	const check = "speed-and-load"
	outline := func(rest string) (*Report, *chances.Model) {
		book, k := builtInCase(t, triplexRunning+rest)
		r, err := Diagnose(book, k)
		require.NoError(t, err)
		return r, chances.New(book, k)
	}
	open, _ := outline("findings: {pressure-low: steady, squeal: {2: present}}")
	part, m := outline("findings: {pressure-low: steady, squeal: {2: present}, strokes-sag: absent}")
	whole, _ := outline("findings: {pressure-low: steady, squeal: {2: present}}\nchecked: {speed-and-load: nothing}")
	assert.True(t, m.Answered(m.Book.Checks.Get(check), evidence.Place{}))
	listed := func(r *Report) bool {
		return slices.ContainsFunc(r.Steps, func(s work.Step) bool { return s.ID == check })
	}
	assert.False(t, listed(part))
	assert.False(t, listed(whole))
	for _, id := range []string{"load-high", "load-with-pressure"} {
		assert.True(t, slices.ContainsFunc(part.Ask, func(q chances.Question) bool { return q.Sign == id }), id)
	}
	chanceOf := func(r *Report, cause string) float64 {
		i := slices.IndexFunc(r.Causes, func(c chances.Cause) bool { return c.Cause == cause })
		require.GreaterOrEqual(t, i, 0, cause)
		return r.Causes[i].Probability
	}
	assert.Greater(t, chanceOf(part, "overload"), 0.5*chanceOf(open, "overload"), "nobody looked at the rating")
	assert.Less(t, chanceOf(whole, "overload"), 0.1*chanceOf(open, "overload"))
}

// answerAll answers signs at a place; false if none of them exists there.
func answerAll(t *rapid.T, book *rules.Book, k *evidence.Case, signs []string, at evidence.Place) bool {
	any := false
	for _, id := range signs {
		s := book.Signs.Get(id)
		if !s.When.Holds(k, book) {
			continue
		}
		for _, p := range k.Pump.Under(at, s.Level) {
			if !k.Known(id, p) {
				answer := rapid.SampledFrom([]evidence.Answer{evidence.Present, evidence.Absent}).Draw(t, "answer")
				k.Findings = append(k.Findings, evidence.Finding{Sign: id, Answer: answer, At: p, Over: []evidence.Place{p}})
			}
		}
	}
	for _, id := range signs {
		s := book.Signs.Get(id)
		any = any || s.When.Holds(k, book) && s.Fits(k)
	}
	return any
}

// What was answered is taken off what a check is said to find by its step.
func TestHearingItAgainFindsNothing(t *testing.T) {
	book := builtIn(t)
	sure := func(findings string) float64 {
		k, err := evidence.ParseCase("case.yaml", []byte("pump: {action: duplex-double-acting, state: running}\nfindings: "+findings), book.Vocabulary())
		require.NoError(t, err)
		m := chances.New(book, k)
		at := evidence.Place{Cylinder: "left", End: "head"}
		i, ok := m.Find("suction-valve-cut", at)
		require.True(t, ok)
		for _, f := range work.Exposes(m, book.Checks.Get("listen-round"), evidence.Place{}) {
			if f.Cause == i {
				return f.Sure
			}
		}
		return 0
	}
	whole := sure("{}")
	side := sure("{noise-loudest-at-valve-pot: {left head: present, absent: others}}")
	assert.Less(t, side, whole, "one of its side questions is answered")
	assert.Positive(t, side)
	assert.Zero(t, sure("{hiss: {left head: discharge-stroke}}"), "the hiss was heard; nobody listens again")
	assert.InDelta(t, whole, sure("{hiss: {left: discharge-stroke}}"), 1e-12, "nobody knows yet which end")
	assert.False(t, math.IsNaN(side))
}

// A cause that came in several ways shows its signs in each that is there. What a check
// still exposes of it, once some of its signs were looked for in vain, is summed over every
// state of its ways, with what lies above them. Ways with the same head are likelier there
// together than is reckoned with, which makes a small difference.
func TestWhatACheckStillExposesOverTheWaysOfACause(t *testing.T) {
	book, compared, shared := builtIn(t), 0, 0
	rapid.Check(t, func(t *rapid.T) {
		d := drawBuiltIn(t, book, 0)
		k := d.parse(t, book, d.findings)
		check := rapid.SampledFrom(book.Checks.List).Draw(t, "check")
		place := rapid.SampledFrom(k.Pump.Places(check.Level)).Draw(t, "place")
		if len(check.Answers) < 2 || !answerAll(t, book, k, rapid.SliceOfNDistinct(rapid.SampledFrom(check.Answers), 1, len(check.Answers)-1, rapid.ID[string]).Draw(t, "answered"), place) {
			t.Skip("nothing is answered, or all")
		}
		m := chances.New(book, k)
		ways := waysOf(m)
		for _, find := range work.Exposes(m, check, place) {
			in, sure := m.Causes[find.Cause], 0.0
			for _, f := range check.Finds {
				if f.Cause == in.Cause.ID {
					sure = f.Sure
				}
			}
			quiet, silent, apart, ok := stillQuiet(m, ways, find.Cause, check, place)
			if !ok || quiet < 1e-6 {
				continue
			}
			want := 1 - (1-sure)/quiet // it sees something of its own besides
			if shown := 1 - silent; sure < shown {
				want = sure / shown * (1 - silent/quiet) // it is blind at times
			}
			if compared++; apart {
				assert.InDelta(t, want, find.Sure, 1e-9, "%s %s", check.ID, in.Cause.ID)
			} else {
				shared++
				assert.InDelta(t, want, find.Sure, 0.02, "%s %s", check.ID, in.Cause.ID)
			}
		}
	})
	t.Log("compared:", compared, "with ways of one head:", shared)
}

// stillQuiet enumerates the states of the ways of a cause: the chance that none of its
// answered signs of a check shows, and that none at all does, given that it is there; and
// whether each way has a head of its own. It is not ok with too many states.
func stillQuiet(m *chances.Model, ways []oneWay, cause int, c *rules.Check, place evidence.Place) (quiet, silent float64, apart, ok bool) {
	var used []int // those of the cause and what they lie under, before them
	heads := map[int]bool{}
	apart = true
	for i, w := range ways {
		if w.cause != cause {
			continue
		}
		apart, heads[w.head] = apart && !heads[w.head], true
		for at := i; at >= 0 && !slices.Contains(used, at); at = ways[at].under {
			used = append(used, at)
		}
	}
	if len(used) > 14 {
		return 0, 0, false, false
	}
	there := 0.0
	for state := range 1 << len(used) {
		on := func(way int) bool { return state>>slices.Index(used, way)&1 == 1 }
		p, is, noAnswered, none := 1.0, false, 1.0, 1.0
		for _, i := range used {
			w := ways[i]
			switch {
			case w.under >= 0 && !on(w.under):
				if on(i) {
					p = 0
				}
				continue
			case !on(i):
				p *= 1 - w.chance
				continue
			}
			if p *= w.chance; w.cause != cause {
				continue
			}
			is = true
			for _, link := range w.links {
				here := slices.DeleteFunc(m.Case.Pump.Under(place, m.Book.Signs.Get(link.Sign).Level), func(at evidence.Place) bool { return !at.Touches(m.Causes[cause].Place) })
				if !slices.Contains(c.Answers, link.Sign) || len(here) == 0 {
					continue
				}
				none *= 1 - link.Total
				if m.AnsweredAt(link.Sign, here) {
					noAnswered *= 1 - link.Total
				}
			}
		}
		if is {
			there, quiet, silent = there+p, quiet+p*noAnswered, silent+p*none
		}
	}
	return quiet / there, silent / there, apart, there > 0
}
