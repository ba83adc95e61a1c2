package engine

import (
	"math"
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
