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
	all := []Topic{SignsOf, Before, Reading, Result, Behind, Clearance, Tight, Ends}
	for seed := uint64(0); seed < 150; seed++ {
		questions, err := Quiz(book, 8, seed)
		require.NoError(t, err)
		require.Len(t, questions, 8)
		texts := map[string]bool{}
		var topics []Topic
		for _, q := range questions {
			topics = append(topics, q.Topic)
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
		assert.ElementsMatch(t, all, topics, "seed %d: each topic has its turn", seed)
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
	switch q.Topic {
	case Clearance:
		return leftBySum(q) == q.IDs[i]
	case Behind:
		for _, f := range b.Checks.Get(q.IDs[i]).Finds {
			if bringsSo(b, k, b.Causes.Get(f.Cause), q) {
				return true
			}
		}
		return false
	case Tight:
		return clearanceCode(q) == q.IDs[i]
	case Ends:
		// Heights that differ along the stroke: the engineer, no shims. Common
		// practice, no source.
		return q.Reading.Top[0] != q.Reading.Top[2] && strings.Contains(q.Options[i], "engineer")
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

// bringsSo says whether a cause may bring a question's failure on so that it shows
// the question's sign.
func bringsSo(b *rules.Book, k *evidence.Case, c *rules.Cause, q *Question) bool {
	for _, bring := range c.Brings {
		if !bring.When.Holds(k, b) || !c.When.HoldsForPump(&k.Pump) {
			continue
		}
		if bring.Cause == q.Failed && shownSo(bring.Links(b.Causes.Get(q.Failed), k, b), b, q.Signs[0]) || bringsSo(b, k, b.Causes.Get(bring.Cause), q) {
			return true
		}
	}
	return false
}

func shownSo(links []rules.Link, b *rules.Book, s SignKind) bool {
	for _, link := range links {
		for i, kind := range b.Signs.Get(link.Sign).Kinds {
			if link.Sign == s.Sign && kind.ID == s.Kind && link.Kinds[i] > 0 {
				return true
			}
		}
		if link.Sign == s.Sign && s.Kind == "" && link.Total > 0 {
			return true
		}
	}
	return false
}

// leftBySum is the rule of the trade, common practice, no source: half of upper
// less lower goes under the guide, and the same comes off the clearance over
// the crosshead, which stays between its limits, 15 to 25 thou unless the pump's
// figure says otherwise.
func leftBySum(q *Question) string {
	left := q.Over[1] - (q.Reading.Top[1]-q.Reading.Bottom[1])/2
	switch {
	case left < q.Least:
		return fmt.Sprintf("%d/stop-and-ask", left)
	case left > q.Most:
		return fmt.Sprintf("%d/upper-over-most", left)
	}
	return fmt.Sprintf("%d/equal-shims", left)
}

// clearanceCode is what a clearance as it stands calls for. Common practice, no
// source: under the pump's own least it is tight, over the most slack, and where
// it differs along the guide the engineer comes first. Under the least of common
// practice the pump's own figure is asked for, as a small crosshead has less;
// under 6 thou no pump has it.
func clearanceCode(q *Question) string {
	low, high := min(q.Over[0], q.Over[2]), max(q.Over[0], q.Over[2])
	common := strings.Contains(q.Text[2], "common practice")
	switch {
	case low < q.Least && (!common || low < 6):
		return "tight-now"
	case low < q.Least:
		return "ask-pump-figure"
	case high-low > q.Most-q.Least: // no one thickness brings every place inside
		return "uneven-now"
	case high > q.Most:
		return "slack-now"
	}
	return "inside-now"
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
			if link.Sign != s.Sign {
				continue
			}
			shows = s.Kind == "" && link.Total > 0
			for i, kind := range b.Signs.Get(s.Sign).Kinds {
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
	var opening func(string)
	opening = func(id string) {
		found["a "+id] = true
		purpose(rules.ForStopping)
		purpose(rules.ForIsolation)
		for _, s := range b.Openings.Get(id).Safety {
			safety(s)
		}
		for _, a := range b.Openings.Get(id).Needs {
			opening(a)
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
	for _, a := range c.Openings {
		opening(a)
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

// 24 thou nearer the bottom calls for 12 thou, and takes 12 off the clearance
// over the crosshead: 15 to 25 thou unless this pump's figure says otherwise;
// tight after the lift: stop and ask; ends that differ: the engineer first.
// Common practice, no source.
func TestTheRulesOfTheTradeForShims(t *testing.T) {
	book := builtIn(t)
	pump := faultless(book, Setup{Action: evidence.Triplex}).Pump
	rod := RodReading{Place: evidence.Place{Cylinder: "1"}, Low: true, Top: alike(62), Bottom: alike(38)}
	shim, _, ok, err := ShimFor(book, pump, rod)
	require.NoError(t, err)
	require.True(t, ok)
	assert.InDelta(t, 12, shim, 1e-6)
	for over, want := range map[overCrosshead]string{
		{at: alike(32)}:                     putIn,     // 20 left
		{at: alike(22)}:                     stopAsk,   // 10 left
		{at: alike(42)}:                     overAfter, // 30 left
		{at: alike(22), least: 8, most: 12}: putIn,     // 10 left, this pump's figure
		{at: alike(32), least: 8, most: 12}: overAfter, // 20 left
	} {
		t.Run(fmt.Sprint(over), func(t *testing.T) {
			c, err := alignment(book, pump, &rod, &over)
			require.NoError(t, err)
			assert.Equal(t, want, afterShim(c), "%v", over)
		})
	}
	rod.Top, rod.Bottom = [3]int{54, 60, 66}, [3]int{46, 40, 34}
	c, err := alignment(book, pump, &rod, &overCrosshead{at: alike(32)})
	require.NoError(t, err)
	assert.True(t, c.AskEngineer)
}
