package practice

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/rules"
)

// Every question of many quizzes has exactly one right answer by the book. The
// book is read here by its own entries, not through the code of the quiz.
func TestEachQuestionHasOneRightAnswerByTheBook(t *testing.T) {
	t.Parallel()
	book := builtIn(t)
	topics := map[Topic]int{}
	for seed := uint64(0); seed < 150; seed++ {
		questions, err := Quiz(book, 8, seed)
		require.NoError(t, err)
		require.Len(t, questions, 8)
		texts := map[string]bool{}
		for _, q := range questions {
			topics[q.Topic]++
			text := strings.Join(q.Text, "\n")
			assert.False(t, texts[text], "asked twice: %s", text)
			texts[text] = true
			assert.NotEmpty(t, q.Why)
			read := map[string]bool{}
			var right []int
			for i := range q.Options {
				assert.NotEmpty(t, q.Options[i])
				assert.False(t, read[q.Options[i]], "two answers read alike: %s", q.Options[i])
				read[q.Options[i]] = true
				if rightByTheBook(t, book, &q, i) {
					right = append(right, i)
				}
			}
			assert.Equal(t, []int{q.Right}, right, "seed %d: %s %v", seed, text, q.IDs)
		}
	}
	for _, topic := range []Topic{SignsOf, Before, Reading, Result} {
		assert.Equal(t, 300, topics[topic], "%s", topic)
	}
}

func rightByTheBook(t *testing.T, b *rules.Book, q *Question, i int) bool {
	t.Helper()
	k := rules.BareCase(q.Action)
	switch q.Topic {
	case SignsOf:
		return showsAll(b, k, b.Causes.Get(q.IDs[i]), q.Signs)
	case Before:
		return comesBefore(b, k, b.Checks.Get(q.Check), q.IDs[i])
	case Reading:
		// Half of upper less lower, common practice, no source.
		return fmt.Sprint((q.Reading.Top[1]-q.Reading.Bottom[1])/2) == q.IDs[i]
	}
	asked := resultOf(b, q.IDs[q.Right])
	require.Contains(t, q.Text[1], firstPlain(asked.If))
	other := resultOf(b, q.IDs[i])
	if i != q.Right {
		for _, id := range asked.PointsTo {
			assert.NotContains(t, other.PointsTo, id)
		}
		assert.NotEqual(t, asked.If, other.If)
	}
	return other.Then == asked.Then
}

// firstPlain is a text up to the first figure that is filled in.
func firstPlain(s string) string {
	s, _, _ = strings.Cut(s, "{")
	return strings.TrimSpace(s)
}

func showsAll(b *rules.Book, k *evidence.Case, c *rules.Cause, signs []SignKind) bool {
	for _, s := range signs {
		shows := false
		for _, link := range c.LinksFor(k, b) {
			if link.Symptom != s.Symptom {
				continue
			}
			shows = s.Kind == "" && link.Total > 0
			for i, kind := range b.Symptoms.Get(s.Symptom).Kinds {
				shows = shows || kind.ID == s.Kind && link.Kinds[i] > 0
			}
		}
		if !shows {
			return false
		}
	}
	return len(signs) > 1
}

// comesBefore follows the book's entries from a check, on a running pump.
func comesBefore(b *rules.Book, k *evidence.Case, c *rules.Check, id string) bool {
	found := map[string]bool{}
	var safety func(string)
	safety = func(id string) {
		if !found["s "+id] {
			found["s "+id] = b.Safety.Get(id).When.Holds(k, b)
			for _, before := range b.Safety.Get(id).After {
				safety(before)
			}
		}
	}
	purpose := func(p rules.SafetyFor) {
		for _, g := range b.Safety.List {
			if g.For == p {
				safety(g.ID)
			}
		}
	}
	var access func(string)
	access = func(id string) {
		found["a "+id] = true
		purpose(rules.ForStopping)
		purpose(rules.ForIsolation)
		for _, s := range b.Access.Get(id).Safety {
			safety(s)
		}
		for _, a := range b.Access.Get(id).Needs {
			access(a)
		}
	}
	switch c.Pump {
	case rules.NeedsIsolated:
		purpose(rules.ForStopping)
		purpose(rules.ForIsolation)
	case rules.NeedsStopped, rules.NeedsLive:
		purpose(rules.ForStopping)
	default:
		purpose(rules.ForRunning)
	}
	for _, s := range c.Safety {
		safety(s)
	}
	for _, a := range c.Access {
		access(a)
	}
	return found["s "+id] || found["a "+id]
}

func resultOf(b *rules.Book, id string) rules.Result {
	var n int
	check, number, _ := strings.Cut(id, "/")
	if _, err := fmt.Sscan(number, &n); err != nil {
		panic(err)
	}
	return b.Checks.Get(check).Results[n]
}

func TestTheSameSeedGivesTheSameQuiz(t *testing.T) {
	book := builtIn(t)
	one, err := Quiz(book, 10, 5)
	require.NoError(t, err)
	two, err := Quiz(book, 10, 5)
	require.NoError(t, err)
	assert.Equal(t, one, two)
	other, err := Quiz(book, 10, 6)
	require.NoError(t, err)
	assert.NotEqual(t, one, other)
	for _, n := range []int{0, -1, MostQuestions + 1} {
		_, err := Quiz(book, n, 1)
		require.Error(t, err)
	}
	whole, err := Quiz(book, MostQuestions, 1)
	require.NoError(t, err)
	assert.Len(t, whole, MostQuestions)
}
