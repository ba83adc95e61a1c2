package dialogue

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// What is told of one of several places says nothing of the others: present is
// somewhere, anything else stands in the log alone.
func TestToldAtOneOfSeveralPlaces(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	text := []byte("pump: {action: triplex-single-acting, state: running}\nfindings: {wiper-leaks: {again: [3]}}\n")
	k, err := record.Read("case.yaml", text, book.Vocabulary())
	require.NoError(t, err)
	for answer, holds := range map[string]string{
		string(evidence.Absent):  "findings: {wiper-leaks: {again: [3]}}\n",
		evidence.Unknown:         "findings: {wiper-leaks: {again: [3]}}\n",
		string(evidence.Present): "present: [somewhere]",
	} {
		h := hear.Heard{Words: "one or two", Is: hear.IsSign, ID: "wiper-leaks", Answer: answer, Places: k.Pump.Places(evidence.OfCylinder)[:2], OneOf: true}
		edits := Told(book, k, Tale{Text: "one or two", Agreed: []hear.Heard{h}}, func(did string) record.Edit { return record.AddLog(evidence.LogEntry{Did: did}) })
		got, _, err := record.Apply("case.yaml", text, book.Vocabulary(), edits...)
		require.NoError(t, err)
		assert.Contains(t, string(got), holds, answer)
		assert.Contains(t, string(got), "told: at one of several places: one or two")
	}
}

// However many lines are struck out one after the other, the talk does not take it
// for going round in circles, and the crew's words are kept.
func TestManyLinesArePutRight(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	talk := Talk{Book: book.WithoutFirmness(), File: "case.yaml", Now: noon}
	story := "the oil is milky. wiper on two leaks again. returns are down. the relief valve opened. the pump tripped. metal in the oil. the valve cover on 1 leaks. crosshead on 3 is hot. the two gauges disagree"
	text, state := []byte("pump: {action: triplex-single-acting, state: running}\n"), NewState()
	struck := 0
	for range 60 {
		p, err := talk.Next(text, state)
		require.NoError(t, err)
		a := prompt.Answer{Prompt: p.ID, Rests: p.Rests}
		what, _, _ := strings.Cut(p.ID, " ")
		switch what {
		case "tell":
			a.Text = story
		case "put":
			struck++
			a.Chosen = []string{"strike"}
		case "agree":
			a.Chosen = []string{p.Options[0].ID}
		default:
			a.Chosen = []string{p.Options[0].ID}
		}
		require.False(t, p.Over(), "after %d lines", struck)
		text, state, err = talk.Answer(text, state, a)
		require.NoError(t, err)
		if strings.Contains(string(text), "told: ") {
			break
		}
	}
	assert.Greater(t, struck, mostAgain)
	assert.Contains(t, string(text), "told: "+story[:20])
}

// What a page has no room for is offered when the crew asks for more; what it passed
// over and did not choose is kept in its words.
func TestMoreMayBeMeant(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	talk := &Talk{Book: book, File: "case.yaml", Now: noon}
	state := NewState()
	r, err := talk.round([]byte("pump: {action: triplex-single-acting, state: running}\n"), &state)
	require.NoError(t, err)
	tale := Tale{Text: "all of it"}
	for i, sign := range book.Signs.List {
		h := hear.Heard{Words: "words " + strconv.Itoa(i), Is: hear.IsSign, ID: sign.ID, Answer: string(evidence.Present), Strength: hear.Weak}
		any := func(*rules.Stop) bool { return true }
		if len(tale.Perhaps) < 12 && sign.When.Holds(r.k, book) && sign.Pump != rules.NeedsIsolated && !r.stopAfter(ToldSign(book, r.k, h), any) {
			tale.Perhaps = append(tale.Perhaps, h)
		}
	}
	require.Len(t, tale.Perhaps, 12)
	at := r.agree(r.fitting(tale))
	seen, pages := map[string]bool{}, 0
	for {
		fresh := 0
		for _, o := range at.Options {
			if strings.HasPrefix(o.ID, "perhaps ") {
				assert.False(t, seen[o.Title], "offered twice: %s", o.Title)
				seen[o.Title], fresh = true, fresh+1
			}
		}
		pages++
		assert.Positive(t, fresh)
		if !slices.ContainsFunc(at.Options, func(o prompt.Option) bool { return o.ID == "more" }) {
			break
		}
		at = at.Take(prompt.Answer{Chosen: []string{"more"}})
	}
	assert.Greater(t, pages, 1)
	assert.GreaterOrEqual(t, len(seen), len(tale.Perhaps)-1, "one may be taken as what is wrong")
	end := at.Take(prompt.Answer{Chosen: []string{"yes"}})
	require.Nil(t, end.Take)
	got, _, err := record.Apply("case.yaml", r.text, book.Vocabulary(), end.End.edits...)
	require.NoError(t, err)
	for title := range seen {
		said := weak.FindStringSubmatch(title)
		require.NotNil(t, said, title)
		assert.Contains(t, string(got), strings.TrimSuffix(said[1], "..."))
	}
}

// What was told as not done does not stay in the file as done: the crew says which is
// so.
func TestWorkThatWasNotDone(t *testing.T) {
	for answer, c := range map[string]struct{ file, log string }{
		"1": {"", "told: the valves were not changed"},
		"2": {"recent: [valves-changed: {cured: no}, mud-changed]", "not taken, against what was in the file: the valves were not changed"},
	} {
		t.Run(answer, func(t *testing.T) {
			crew := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {oil-milky: present}\nrecent: [valves-changed: {cured: no}, mud-changed]\n")
			crew.talks([]said{
				{"Does it still stand so?", "", "the valves were not changed"},
				{"Not done: Valves or seats changed", "", "y 1"},
				{"told now: Not done: Valves or seats changed 2 in the file: Done: Valves or seats changed", "valves-changed", answer},
			})
			assert.Contains(t, crew.file(), cmp.Or(c.file, "recent: [mud-changed]"))
			assert.Contains(t, crew.file(), c.log)
		})
	}
}

// A stop that leaves the pump is read out whole before the yes, and not a second time
// behind it; what is waited for is named, and the first answer does not end the wait. One
// of which only the first line was read comes whole.
func TestAStopThatWasReadIsNotReadTwice(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {knock: irregular}\n")
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"In the last days", "", "the pits gain mud"},
		{"STOP FIRST IF IT IS SO DANGER, AT ONCE: The well may be flowing - Tell the driller now.", "", "y"},
		{"DANGER, AT ONCE: The well may be flowing The pump waits until the stop condition is over.", "did: \"read the stop condition: The well may be flowing\"", "1"},
	})
	assert.Equal(t, 1, strings.Count(c.all.String(), "Tell the driller now."))
	assert.Contains(t, c.all.String(), "Then leave the pump.")
	assert.Contains(t, c.file(), "pit-gain: present")

	c.talks([]said{ // whoever takes it up anew hears it
		{"STOP FIRST DANGER, AT ONCE: The well may be flowing - Tell the driller now.", "", "q"},
	})
}
