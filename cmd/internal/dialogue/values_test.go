package dialogue

import (
	"encoding/json"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
	"telltale/rules"
)

// anything answers a prompt at random, mostly going on, as the prompt takes it.
func anything(t testing.TB, r *rand.Rand, p *prompt.Prompt) prompt.Answer {
	t.Helper()
	a := prompt.Answer{Prompt: p.ID, Rests: p.Rests}
	for range 1000 {
		a.Chosen, a.Text = nil, ""
		switch n := r.IntN(20); {
		case len(p.Options) == 0:
			a.Text = []string{"Larkspur", "JK", ""}[r.IntN(3)]
		case n == 0:
			a.Chosen = []string{prompt.Back}
		case n == 1 && p.Entry != nil:
			a.Text = []string{"leak", "knock loud", "zebra"}[r.IntN(3)]
		case n < 9 || n < 18 && strings.HasPrefix(p.ID, "step safety"):
			a.Chosen = []string{p.Options[0].ID}
		default:
			a.Chosen = []string{p.Options[r.IntN(len(p.Options))].ID}
			if o := p.Options[r.IntN(len(p.Options))]; o.Together && !slices.Contains(a.Chosen, o.ID) {
				a.Chosen = append(a.Chosen, o.ID)
			}
		}
		if p.Check(a) == nil {
			return a
		}
	}
	require.FailNow(t, "nothing answers it", "%+v", p)
	return a
}

// asRead is a state as it was written as JSON and read again.
func asRead(t testing.TB, s State) State {
	t.Helper()
	text, err := json.Marshal(s)
	require.NoError(t, err)
	var out State
	require.NoError(t, json.Unmarshal(text, &out))
	return out
}

// bookWords is everything that the built-in rulebook says, in one line.
func bookWords(t testing.TB) string {
	t.Helper()
	files, err := filepath.Glob("../../../rules/book/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	var all strings.Builder
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		all.WriteString(strings.Join(strings.Fields(string(text)), " ") + " ")
	}
	return all.String()
}

var (
	// terminalWords are words of one way to show a prompt.
	terminalWords = regexp.MustCompile(`(?i)\b(type|typed|typing|enter|press|key|keys|keyboard|screen|terminal|cursor|line|lines|number|numbers|digit)\b`)
	// tradeWords are those of the talk's own that are of the pump.
	tradeWords = regexp.MustCompile(`mud, lines or string|its own line|lines closed|Number of its tag, or where the key is`)
	sentence   = regexp.MustCompile(`[^.:;?!,()/%]+`)
)

// allWords are all that a prompt says.
func allWords(p *prompt.Prompt) []string {
	out := []string{p.Ask, p.Back, p.Leave}
	add := func(lines []prompt.Line) {
		for _, l := range lines {
			out = append(out, l.Text)
		}
	}
	add(p.News)
	add(p.Body)
	for _, o := range p.Options {
		out = append(out, o.Title)
		add(o.Shows)
	}
	if p.Entry != nil {
		out = append(out, p.Entry.Hint, p.Entry.Blank)
	}
	return out
}

// Random talks without any terminal: a state that was written as JSON and read
// again leads to the same prompt and takes the same answer to the same end, no two
// options of a prompt have one id, and no word of the talk's own speaks of a
// terminal.
func TestATalkIsValues(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	said := bookWords(t)
	starts := []string{"", proved, failed, "pump: {action: duplex-double-acting, state: running}\nfindings: {knock: once-per-turn}\n", "pump: {action: triplex-single-acting, state: stopped}\nfindings: {crosshead-hot: {present: [2]}}\n"}
	asked := map[string]bool{}
	for seed := range randomTalks() {
		r := rand.New(rand.NewPCG(31, uint64(seed)))
		one, two := &Talk{Book: book, File: "case.yaml", Now: noon}, &Talk{Book: book, File: "case.yaml", Now: noon}
		text, s := []byte(starts[seed%len(starts)]), NewState()
		for range answersOfATalk / 2 {
			p, err := one.Next(text, s)
			require.NoError(t, err)
			same, err := two.Next(text, asRead(t, s))
			require.NoError(t, err)
			require.Equal(t, p, same)
			if p.Over() {
				break
			}
			asked[strings.Fields(p.ID)[0]] = true
			ids := map[string]bool{}
			for _, o := range p.Options {
				require.False(t, ids[o.ID] || o.ID == "" || o.Title == "", "%q of %s", o.ID, p.ID)
				ids[o.ID] = true
			}
			for _, text := range allWords(&p) {
				for _, part := range sentence.FindAllString(tradeWords.ReplaceAllString(text, ""), -1) {
					if terminalWords.MatchString(part) && !strings.Contains(said, strings.TrimSpace(part)) {
						assert.Fail(t, "a word of a terminal", "%q in %q of %s", part, text, p.ID)
					}
				}
			}
			a := anything(t, r, &p)
			after, next, err := one.Answer(text, s, a)
			require.NoError(t, err)
			sameText, sameNext, err := two.Answer(text, asRead(t, s), a)
			require.NoError(t, err)
			require.Equal(t, string(after), string(sameText))
			require.JSONEq(t, jsonOf(t, next), jsonOf(t, sameNext))
			text, s = after, next
		}
	}
	for _, kind := range []string{"pump", "name", "state", "still", "sign", "signs", "step"} {
		assert.True(t, asked[kind], kind)
	}
}

func jsonOf(t testing.TB, v any) string {
	t.Helper()
	text, err := json.Marshal(v)
	require.NoError(t, err)
	return string(text)
}

// What is no answer, or answers a case that is not so any more, changes nothing.
func TestAnAnswerToSomethingElseIsRefused(t *testing.T) {
	c := newCrew(t, proved)
	s := c.sitting()
	p, err := s.Prompt()
	require.NoError(t, err)
	require.Equal(t, digest([]byte(proved)), p.Rests)
	for _, a := range []prompt.Answer{
		{Prompt: p.ID, Rests: p.Rests}, {Prompt: p.ID, Rests: p.Rests, Chosen: []string{"sideways"}},
		{Prompt: "sign knock", Rests: p.Rests, Chosen: []string{"yes"}}, {Prompt: p.ID, Rests: "0000000000000000", Chosen: []string{"yes"}},
	} {
		var problem *prompt.Problem
		require.ErrorAs(t, s.Answer(a), &problem)
		again, err := s.Prompt()
		require.NoError(t, err)
		require.Equal(t, p, again)
	}
	assert.Equal(t, proved, c.file())
}

// A second crew answers between prompt and answer: the stale answer is refused,
// what changed is said, and the prompt is made from the case as it is now. Each
// goes on from there.
func TestAStaleAnswerIsToldWhatChanged(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nrecent: [mud-changed]\nfindings: {wiper-leaks: {again: [2]}}\n")
	one, two := c.sitting(), c.sitting()
	answer := func(s *Sitting, chosen ...string) prompt.Prompt {
		t.Helper()
		p, err := s.Prompt()
		require.NoError(t, err)
		require.NoError(t, s.Answer(prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: chosen}))
		p, err = s.Prompt()
		require.NoError(t, err)
		return p
	}
	answer(one, "yes")
	stood := answer(two, "yes")
	sign, _ := strings.CutPrefix(stood.ID, "sign ")
	answer(one, "unknown")
	after := c.file()
	require.Contains(t, after, sign)
	p := answer(two, "unknown")
	assert.Equal(t, after, c.file(), "not written over")
	assert.Equal(t, "The case file was changed by somebody else in between. It was read again:", p.News[0].Text)
	assert.Equal(t, prompt.Item, p.News[1].Kind)
	assert.Contains(t, p.News[1].Text, "findings: "+sign+": added: ")
	assert.Equal(t, "Your last answer was NOT written; please answer again.", p.News[2].Text)
	assert.NotEqual(t, stood.ID, p.ID, "it is answered")
	assert.Equal(t, digest([]byte(after)), p.Rests)
	p = answer(two, prompt.Back)
	assert.Equal(t, "There is nothing to go back to in this sitting.", p.News[0].Text)
	answer(two, "unknown")
	assert.NotEqual(t, after, c.file())
	assert.Contains(t, c.file(), sign)
}
