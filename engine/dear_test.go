package engine

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// with is a case with one more sign seen, somewhere or at one place; nil if the pump has
// no such sign or the case says something of it.
func with(book *rules.Book, k *evidence.Case, random *rand.Rand) *evidence.Case {
	s := book.Signs.List[random.IntN(len(book.Signs.List))]
	known := slices.ContainsFunc(k.Findings, func(f evidence.Finding) bool { return f.Sign == s.ID })
	if known || s.Reckoned || !s.When.HoldsForPump(&k.Pump) {
		return nil
	}
	f := evidence.Finding{Sign: s.ID, Answer: evidence.Present, Over: k.Pump.Places(s.Level)}
	if random.IntN(2) == 0 {
		f.At = f.Over[random.IntN(len(f.Over))]
		f.Over = []evidence.Place{f.At}
	}
	if kinds := s.KindIDs(); len(kinds) > 0 {
		f.Kind = kinds[random.IntN(len(kinds))]
	}
	out := *k
	out.Findings = append(slices.Clone(k.Findings), f)
	if chances.New(book, &out).LeavePump() {
		return nil
	}
	return &out
}

// climb goes from finding to finding towards what is dearest to weigh. It gives the
// dearest case that is weighed, what it takes, and the first that is refused.
func climb(t *testing.T, book *rules.Book, k *evidence.Case, seed uint64) (dearest *evidence.Case, most int, refused *evidence.Case) {
	t.Helper()
	random := rand.New(rand.NewPCG(seed, 7))
	for range 400 {
		trial := with(book, k, random)
		if trial == nil {
			continue
		}
		budget := chances.NewBudget()
		_, err := chances.New(book, trial).Within(budget).Solve()
		switch {
		case chances.TooWide(err):
			return k, most, trial
		case err != nil:
			require.True(t, cannotBe(err), "%v", err)
		default:
			require.LessOrEqual(t, budget.Done(), chances.MostWork)
			if budget.Done() > most {
				k, most = trial, budget.Done()
			}
		}
	}
	return k, most, nil
}

// However many findings hang together: a case is answered within what an answer may
// take, or refused as too wide, with its stop conditions and nothing else.
func TestTheDearestCaseIsAnsweredOrRefused(t *testing.T) {
	book := builtIn(t)
	for action, seed := range map[evidence.Action]uint64{evidence.Triplex: 1, evidence.Duplex: 2} {
		t.Run(string(action), func(t *testing.T) {
			k := rules.BareCase(action)
			k.Pump.State = evidence.Isolated
			dearest, most, refused := climb(t, book, k, seed)
			assert.Greater(t, most, chances.MostWork/1000, "it did not climb")
			require.NotNil(t, refused, "it found nothing that is refused")
			for name, k := range map[string]*evidence.Case{"the dearest": dearest, "past the bound": refused} {
				r, err := Diagnose(book, k)
				if err == nil {
					assert.NotEmpty(t, r.Causes, name)
					continue
				}
				require.True(t, chances.TooWide(err), "%s: %v", name, err)
				held, unfit := Stands(book, k)
				require.NoError(t, unfit, name)
				assert.Equal(t, held, r, name)
			}
			_, err := Diagnose(book, refused)
			assert.True(t, chances.TooWide(err))
		})
	}
}

// Of a case that is dear to weigh fewer books with moved figures are tried, always the
// same, and the answer says how many.
func TestOfADearCaseFewerBooksAreTried(t *testing.T) {
	book := *builtIn(t)
	k := rules.BareCase(evidence.Triplex)
	k.Pump.State = evidence.Isolated
	random := rand.New(rand.NewPCG(3, 7))
	for len(k.Findings) < 14 {
		if trial := with(&book, k, random); trial != nil {
			k = trial
		}
	}
	tried := func(books int) int {
		book.Firm.Books = books
		w, err := chances.New(&book, k).Solve()
		require.NoError(t, err)
		f, _, err := w.Firmness()
		require.NoError(t, err)
		return f.Books
	}
	assert.Equal(t, 3, tried(3))
	many := tried(100_000)
	assert.Greater(t, many, 3)
	assert.Less(t, many, 100_000)
	assert.Equal(t, many, tried(100_000))
}

// Looking ahead ends when its share is spent.
func TestLookingAheadEnds(t *testing.T) {
	book, k := builtInCase(t, triplexRunning+"findings: {wiper-leaks: {again: [2]}}")
	ahead, tried := NewLookAhead(book), 0
	var err error
	for ; err == nil && tried < 1000; tried++ {
		_, err = ahead.Try(k)
	}
	assert.True(t, chances.TooWide(err))
	assert.Greater(t, tried, 30, "four questions with all their answers are tried of a usual case")
	assert.Less(t, tried, 50)
}
