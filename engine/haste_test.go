package engine

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// verdictRank orders verdicts, the most urgent first.
func verdictRank(t require.TestingT, verdict string) int {
	at := slices.Index([]string{chances.WellFirst, "stop-now", "next-connection", "planned-stop", "watch"}, verdict)
	require.GreaterOrEqual(t, at, 0, verdict)
	return at
}

// The chances behind a verdict are what an enumeration of all states says: that
// one cause at least of that wait or a more urgent one is there and shows a
// finding.
func TestTheChancesOfHasteAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawBook.Draw(t, "book")
		book := d.load()
		m := chances.New(book, drawCase(t, d, book))
		if len(m.Causes) > 10 {
			t.Skip("too many causes to enumerate")
		}
		w, err := m.Solve()
		if err != nil {
			t.Skip("impossible")
		}
		h, err := w.Haste(nil)
		require.NoError(t, err)
		if h.Verdict == chances.WellFirst {
			t.Skip("nothing is weighed")
		}
		total := enumerate(m).evidence
		for n, wait := range rules.Waits()[:3] {
			chosen, silent := 0, 0.0
			for i := range m.Causes {
				if !wait.Sooner(m.Causes[i].Cause.HasteAt(m.Causes[i].Place, m.Case, book).Wait) {
					chosen |= 1 << i
				}
				require.Less(t, m.Causes[i].Prior, 1.0)
			}
			for state := range 1 << len(m.Causes) {
				if mass := silentOf(m, chosen, state); !knownIn(m, chosen, state) {
					silent += mass
				}
			}
			near(t, h.Chances[n].Chance, max(0, 1-silent/total), string(wait))
		}
	})
}

// knownIn says whether a chosen cause that is likelier than not before any
// finding is there.
func knownIn(m *chances.Model, chosen, state int) bool {
	for i, in := range m.Causes {
		if state&chosen>>i&1 == 1 && in.Prior >= 0.5 {
			return true
		}
	}
	return false
}

// withFile loads a drawn book with one file more.
func (d *bookDraft) withFile(t *rapid.T, text string) *rules.Book {
	book, err := rules.Load(fstest.MapFS{"book.yaml": {Data: []byte(d.yaml.String())}, "more.yaml": {Data: []byte(text)}}, "drawn")
	require.NoError(t, err)
	return book
}

// Whatever is drawn: a report has a verdict, in JSON too, and the short answer
// says the same.
func TestEveryReportSaysHowLongItCanWait(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawBook.Draw(t, "book")
		book := d.load()
		k := drawCase(t, d, book)
		r, err := Diagnose(book, k)
		if err != nil {
			assert.Equal(t, len(r.Stop) > 0, r.Haste != nil)
			return
		}
		text, err := json.Marshal(r)
		require.NoError(t, err)
		assert.Contains(t, string(text), `"haste":{"verdict":"`+r.Haste.Verdict+`"`)
		assert.NotEmpty(t, r.Haste.Says)
		short, err := chances.NewRanker(book).Rank(k, 0)
		require.NoError(t, err)
		assert.Equal(t, r.Haste.Verdict, short.Haste.Verdict)
		for _, stop := range r.Stop {
			most := "next-connection"
			if stop.By == string(rules.AtOnce) {
				most = "stop-now"
			}
			assert.LessOrEqual(t, verdictRank(t, r.Haste.Verdict), verdictRank(t, most))
		}
	})
}

// drawAnswer draws a book and a case, with the answer to it.
func drawAnswer(t *rapid.T) (*bookDraft, *evidence.Case, *Report) {
	d := drawBook.Draw(t, "book")
	book := d.load()
	k := drawCase(t, d, book)
	r, err := Diagnose(book, k)
	if err != nil {
		t.Skip("impossible")
	}
	return d, k, r
}

// noMoreTime wants the answer by another book to be at least as urgent.
func noMoreTime(t *rapid.T, book *rules.Book, k *evidence.Case, before *Report) {
	after, err := Diagnose(book, k)
	require.NoError(t, err)
	assert.LessOrEqual(t, verdictRank(t, after.Haste.Verdict), verdictRank(t, before.Haste.Verdict))
}

// One stop condition more never leaves more time.
func TestAStopNeverLeavesMoreTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, k, before := drawAnswer(t)
		by := rapid.SampledFrom([]string{"at-once", "next-safe-moment"}).Draw(t, "by")
		more := d.withFile(t, fmt.Sprintf("stops:\n  stop-b: {signal: caution, by: %s, title: B, when: not recent(\"nothing\"), do: [x], leave-pump: %t, basis: judgement}\nworks: {nothing: {title: N, basis: judgement}}\n",
			by, rapid.Bool().Draw(t, "leave")))
		noMoreTime(t, more, k, before)
	})
}

// A cause that the book makes more urgent never leaves more time.
func TestAMoreUrgentCauseNeverLeavesMoreTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, k, before := drawAnswer(t)
		id := d.pick("cause", d.causes)
		wait := rapid.SampledFrom(rules.Waits()).Draw(t, "wait now")
		if !wait.Sooner(d.waits[id]) {
			t.Skip("no more urgent")
		}
		old := fmt.Sprintf("{wait: %s, because: %s,", d.waits[id], id)
		require.Contains(t, d.yaml.String(), old)
		text := strings.Replace(d.yaml.String(), old, fmt.Sprintf("{wait: %s, because: %s,", wait, id), 1)
		hurried, err := rules.Load(fstest.MapFS{"book.yaml": {Data: []byte(text)}}, "drawn")
		require.NoError(t, err)
		noMoreTime(t, hurried, k, before)
	})
}

// What a report says would change the verdict does change it so.
func TestWhatChangesAVerdictDoesSo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawBook.Draw(t, "book")
		book := d.load()
		checkChanges(t, book, drawCase(t, d, book))
	})
	for _, text := range []string{
		"findings: {wiper-leaks: {again: [2], absent: others}}", "findings: {pressure-low: fell-slowly, other-pump: same}",
		"findings: {hiss: {2: discharge-stroke, absent: others}}", "findings: {knock: once-per-turn}", "findings: {bearing-hot: present}",
	} {
		book, k := builtInCase(t, triplexRunning+text)
		checkChanges(t, book, k)
	}
}

func checkChanges(t require.TestingT, book *rules.Book, k *evidence.Case) {
	r, err := Diagnose(book, k)
	if err != nil {
		return
	}
	for _, change := range r.Haste.ChangesIf {
		then := *k
		each := func(to *[]evidence.At, c chances.HasteTarget, most int) {
			*to = slices.Clone(*to)
			places := c.Places
			if len(places) == 0 {
				places = []evidence.Place{{}}
			}
			for _, p := range places[:min(most, len(places))] {
				*to = append(*to, evidence.At{ID: c.Cause, Place: p})
			}
		}
		switch {
		case change.If == chances.ChangeAnswer:
			a := change.Answer
			then.Findings = append(slices.Clone(k.Findings), evidence.Finding{
				Sign: a.Sign, Answer: evidence.Answer(a.Answer), Kind: a.Kind, At: a.Place, Over: []evidence.Place{a.Place},
			})
		case change.If == chances.ChangeProved:
			each(&then.Confirmed, change.Causes[0], 1)
		case len(change.Stops) > 0:
			continue // a stop condition ends by what is found, not by a word
		default:
			for _, c := range change.Causes {
				each(&then.RuledOut, c, len(c.Places)+1)
			}
		}
		got, err := Diagnose(book, &then)
		require.NoError(t, err)
		if change.If == chances.ChangeProved { // other causes may be more urgent still
			require.LessOrEqual(t, verdictRank(t, got.Haste.Verdict), verdictRank(t, change.Verdict))
			continue
		}
		require.Equal(t, change.Verdict, got.Haste.Verdict)
	}
}

// Figures that are not moved leave the verdict where it is.
func TestADoubtNeedsFiguresThatMove(t *testing.T) {
	book, k := builtInCase(t, triplexRunning+"findings: {wiper-leaks: {again: [2], absent: others}}")
	still := *book
	still.Firm.Spread = 0
	r, err := Diagnose(&still, k)
	require.NoError(t, err)
	assert.Equal(t, &chances.HasteDoubt{Books: still.Firm.Books, Same: still.Firm.Books}, r.Haste.Doubt)
}

// Facts of the trade: common practice, no source. The proving cases have more.
func TestHowLongItCanWait(t *testing.T) {
	const bearing = "findings: {knock: twice-per-turn, noise-loudest-at-crank: present, metal-in-oil: bronze}"
	for name, c := range map[string]struct{ text, verdict, says string }{
		"nothing seen": {triplexRunning, "watch", "That is no all-clear"},
		"runs":         {triplexRunning + bearing, "stop-now", "Stop the pump now."},
		"stands":       {strings.Replace(triplexRunning, "running", "stopped", 1) + bearing, "stop-now", "Do not start the pump"},
		"well":         {triplexRunning + "findings: {pit-gain: present}", chances.WellFirst, "People and the well come first."},
		"turns back":   {strings.Replace(triplexRunning, "running", "running, rotation: reverse", 1), "stop-now", "Stop the pump now."},
	} {
		t.Run(name, func(t *testing.T) {
			h := answerTo(t, c.text).Haste
			assert.Equal(t, c.verdict, h.Verdict)
			assert.Contains(t, h.Says, c.says)
		})
	}
}
