package study

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

var two = evidence.Place{Cylinder: "2"}

// toldReport tells a worn piston, probably by sandy mud, and a main bearing.
func toldReport() *engine.Report {
	return &engine.Report{Troubles: []chances.Trouble{
		{
			Failed:      []chances.Told{{Cause: "piston-worn", Place: two, Probability: 0.5}, {Cause: "wiper-worn-out", Place: two, Probability: 0.1}},
			BroughtOnBy: []chances.Root{{Cause: "sandy-mud", Probability: 0.4}, {Cause: "wash-nozzle-blocked", Place: two, Probability: 0.25}, {Cause: "wrong-rubber", Probability: 0.1}},
			ByItself:    0.3,
			Or:          []chances.Told{{Cause: "liner-scored", Place: two, Probability: 0.2}},
		},
		{Failed: []chances.Told{{Cause: "main-bearing-worn", Probability: 0.3}}, BroughtOnBy: []chances.Root{}, ByItself: 1},
	}}
}

func told(t *testing.T, text string, r *engine.Report) *Result {
	t.Helper()
	book, k := parse(t, "pump: {action: triplex-single-acting, state: isolated}\n"+text)
	s := New(book)
	s.tell(k, r)
	return &s.out
}

// What failed and what brought it on are counted apart, by hand.
func TestFailureAndRootAreCountedApart(t *testing.T) {
	for text, want := range map[string]Result{
		"confirmed: [piston-worn: 2]":         {Failure: Right{Of: 1, First: 1, Three: 1}},
		"confirmed: [main-bearing-worn]":      {Failure: Right{Of: 1, Three: 1}},
		"confirmed: [liner-scored: 2]":        {Failure: Right{Of: 1, Three: 1}},
		"confirmed: [wiper-worn-out: 2]":      {Failure: Right{Of: 1}, Misses: []Miss{{Cause: "wiper-worn-out", Place: "2", Rank: 4, Said: 0.1}}},
		"confirmed: [discharge-valve-cut: 2]": {Failure: Right{Of: 1, NotTold: 1}, Misses: []Miss{{Cause: "discharge-valve-cut", Place: "2"}}},
		"confirmed: [piston-worn: 2]\nbrought-on-by: [{failed: {piston-worn: 2}, by: sandy-mud}]": {
			Failure: Right{Of: 1, First: 1, Three: 1}, Root: Right{Of: 1, First: 1, Three: 1}},
		"confirmed: [piston-worn: 2]\nbrought-on-by: [{failed: {piston-worn: 2}, by: nothing}]": {
			Failure: Right{Of: 1, First: 1, Three: 1}, Root: Right{Of: 1, Three: 1}},
		"confirmed: [piston-worn: 2]\nbrought-on-by: [{failed: {piston-worn: 2}, by: wrong-rubber}]": {
			Failure: Right{Of: 1, First: 1, Three: 1}, Root: Right{Of: 1}, Misses: []Miss{{Cause: "wrong-rubber", Of: "piston-worn 2", Rank: 4, Said: 0.1}}},
		"confirmed: [piston-worn: 2]\nbrought-on-by: [{failed: {piston-worn: 2}, by: {wash-nozzle-blocked: 1}}]": {
			Failure: Right{Of: 1, First: 1, Three: 1}, Root: Right{Of: 1, NotTold: 1}, Misses: []Miss{{Cause: "wash-nozzle-blocked", Place: "1", Of: "piston-worn 2"}}},
		"confirmed: [liner-scored: 3]\nbrought-on-by: [{failed: {liner-scored: 3}, by: nothing}]": {
			Failure: Right{Of: 1, NotTold: 1}, Root: Right{Of: 1, NotTold: 1}, Misses: []Miss{{Cause: "liner-scored", Place: "3"}, {Cause: "nothing", Of: "liner-scored 3"}}},
	} {
		t.Run(text, func(t *testing.T) {
			r := told(t, text, toldReport())
			assert.Equal(t, want.Failure, r.Failure)
			assert.Equal(t, want.Root, r.Root)
			assert.Equal(t, want.Alone, r.Alone)
			require.Len(t, r.Misses, len(want.Misses))
			for i, m := range want.Misses {
				m.Case = r.Misses[i].Case
				assert.Equal(t, m, r.Misses[i])
			}
		})
	}
}

// An answer that tells no trouble tells neither what failed nor its root.
func TestNoTroubleIsNotTold(t *testing.T) {
	r := told(t, "confirmed: [piston-worn: 2]\nbrought-on-by: [{failed: {piston-worn: 2}, by: nothing}]", &engine.Report{
		Causes: []chances.Cause{{Cause: "piston-worn", Place: two, Probability: 0.9, ByItself: 1}},
	})
	assert.Equal(t, Right{Of: 1, NotTold: 1}, r.Failure)
	assert.Equal(t, Right{Of: 1, NotTold: 1}, r.Root)
}

// Where only a root was proved, it counts neither as a failure nor as a root
// given one.
func TestARootAloneIsCountedAlone(t *testing.T) {
	book, k := parse(t, "pump: {action: triplex-single-acting, state: isolated}\nconfirmed: [main-bearing-worn]")
	s := New(book)
	c := s.book.Causes.Get("main-bearing-worn")
	role := c.Role
	t.Cleanup(func() { c.Role = role })
	c.Role = rules.Root
	s.tell(k, toldReport())
	assert.Equal(t, Right{Of: 1, Three: 1}, s.out.Alone)
	assert.Zero(t, s.out.Failure)
}

// A root that the case names counts as there in the chances of all causes.
func TestANamedRootIsTheTruth(t *testing.T) {
	book, k := parse(t, "pump: {action: triplex-single-acting, state: isolated}\nconfirmed: [piston-worn: 2]\nbrought-on-by: [{failed: {piston-worn: 2}, by: sandy-mud}]")
	s := New(book)
	require.NoError(t, s.Add(k))
	r, err := s.Result(50, 0.95)
	require.NoError(t, err)
	proved := map[string]int{}
	for _, c := range r.Common {
		proved[c.Cause] = c.Proved
	}
	assert.Equal(t, 1, proved["sandy-mud"])
	assert.Equal(t, 1, proved["piston-worn"])
	assert.Equal(t, 1, r.Failure.Of)
	assert.Equal(t, 1, r.Root.Of)
}
