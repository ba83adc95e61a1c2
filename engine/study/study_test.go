package study

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine"
	"telltale/evidence"
	"telltale/rules"
)

func parse(t testing.TB, text string) (*rules.Book, *evidence.Case) {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	k, err := evidence.ParseCase("case.yaml", []byte(text), book.Vocabulary())
	require.NoError(t, err)
	return book, k
}

const clampCase = `pump: {action: triplex-single-acting, state: isolated}
recent: [rod-clamp-opened, wipers-changed: {cured: no}]
findings:
  wiper-leaks: {again: [2], absent: others}
  rod-joint-moved: {present: [2], absent: others}
confirmed: [rod-clamp-misfitted: 2]
ruled-out: [reverse-rotation]
log:
  - {at: 2026-03-01T10:00:00Z, did: "confirmed: Lock every power source off"}
  - {at: 2026-03-01T11:30:00Z, by: JK, did: "proved: Rod clamp badly fitted"}
`

// One closed case scored by hand from the ranking without what was proved.
func TestOneCaseByHand(t *testing.T) {
	book, k := parse(t, clampCase)
	s := New(book)
	require.NoError(t, s.Add(k))
	_, open := parse(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {wiper-leaks: {again: [2]}}")
	require.NoError(t, s.Add(open))
	r, err := s.Result(50, 0.95)
	require.NoError(t, err)

	_, blind := parse(t, "pump: {action: triplex-single-acting, state: isolated}\nrecent: [rod-clamp-opened, wipers-changed: {done: after-trouble}]\nfindings: {wiper-leaks: {again: [2], absent: others}, rod-joint-moved: {present: [2], absent: others}}")
	report, err := engine.Diagnose(book, blind)
	require.NoError(t, err)
	brier, log := 0.0, 0.0
	for _, c := range report.Causes {
		if c.Cause == "rod-clamp-misfitted" && c.Cylinder == "2" {
			brier += math.Pow(1-c.Probability, 2)
			log -= math.Log(c.Probability)
			continue
		}
		brier += c.Probability * c.Probability
		log -= math.Log(1 - c.Probability)
	}
	assert.Equal(t, 1, r.Closed)
	assert.Equal(t, 1, r.Open)
	assert.InDelta(t, brier, r.Brier, 1e-4)
	assert.InDelta(t, log, r.Log, 1e-4)
	assert.Equal(t, 1, r.Timed)
	assert.InDelta(t, 90, r.Took, 1e-9)
	assert.Positive(t, r.Planned)

	// Beta-binomial by hand: mean (P w + k)/(w + n).
	p := book.Causes.Get("rod-clamp-misfitted").Common
	require.Len(t, r.Common, 1)
	assert.InDelta(t, (p*50+1)/51, r.Common[0].Record, 1e-12)
	assert.Less(t, r.Common[0].Low, r.Common[0].Record)
	assert.Greater(t, r.Common[0].High, r.Common[0].Record)
}

func TestACauseThatTheBookDoesNotSeeIsAMiss(t *testing.T) {
	book, k := parse(t, "pump: {action: triplex-single-acting, state: isolated}\nfindings: {wiper-leaks: {again: [2], absent: others}}\nconfirmed: [oil-low]")
	s := New(book)
	require.NoError(t, s.Add(k))
	r, err := s.Result(50, 0.95)
	require.NoError(t, err)
	assert.Zero(t, r.Failure.Three+r.Alone.Three)
	require.Len(t, r.Misses, 1)
	assert.Equal(t, "oil-low", r.Misses[0].Cause)
}
