package engine

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// The short answer lists each open cause of at least so much with the chance that the
// whole weighing gives it, and no other, whatever was ranked before it.
func TestTheShortAnswerIsTheWhole(t *testing.T) {
	built := builtIn(t)
	builtInRanker := chances.NewRanker(built)
	rapid.Check(t, func(t *rapid.T) {
		for range 3 {
			text := builtInCaseText(t, built)
			k, err := evidence.ParseCase("drawn.yaml", []byte(text), built.Vocabulary())
			if err != nil {
				t.Skip("the signs exclude each other")
			}
			sameAsWhole(t, built, builtInRanker, k, text)
		}
		d := drawChains.Draw(t, "book")
		book := d.load()
		ranker := chances.NewRanker(book)
		for range 3 {
			sameAsWhole(t, book, ranker, drawCase(t, d, book), d.yaml.String())
		}
	})
}

func sameAsWhole(t *rapid.T, book *rules.Book, ranker *chances.Ranker, k *evidence.Case, text string) {
	least := rapid.SampledFrom([]float64{0, 0.02, 0.3}).Draw(t, "least")
	short, err := ranker.Rank(k, least)
	m, unfit := chances.Lay(book, k)
	if unfit != nil || m.LeavePump() {
		assert.Empty(t, short.Causes)
		return
	}
	whole, wholeErr := m.Solve()
	require.Equal(t, wholeErr, err, text)
	if err != nil {
		return
	}
	listed := map[evidence.At]float64{}
	for i, c := range short.Causes {
		if i > 0 {
			assert.False(t, chances.Likelier(c.Probability, short.Causes[i-1].Probability), text)
		}
		listed[evidence.At{ID: c.Cause, Place: c.Place}] = c.Probability
	}
	for i, in := range whole.Causes {
		p, at := whole.Posterior[i], evidence.At{ID: in.Cause.ID, Place: in.Place}
		said, is := listed[at]
		if whole.Confirmed(i) || whole.RuledOut(i) {
			assert.False(t, is, "%v is settled\n%s", at, text)
			continue
		}
		if math.Abs(p-least) > 1e-9 {
			assert.Equal(t, p >= least, is, "%v has %g\n%s", at, p, text)
		}
		if is {
			assert.InDelta(t, p, said, 1e-6, "%v\n%s", at, text)
		}
	}
	none, err := whole.NoneOfThese()
	require.NoError(t, err)
	assert.InDelta(t, none, short.NoneOfThese, 1e-9, text)
	haste, err := whole.Haste(nil)
	require.NoError(t, err)
	assert.Equal(t, haste.Verdict, short.Haste.Verdict, text)
}
