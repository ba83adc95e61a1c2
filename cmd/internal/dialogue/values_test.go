package dialogue

import (
	"encoding/json"
	"fmt"
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
	"telltale/evidence"
	"telltale/evidence/record"
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
	sentence   = regexp.MustCompile(`[^.:;?!,()]+`)
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
	starts := []string{"", proved, "pump: {action: duplex-double-acting, state: running}\nfindings: {knock: once-per-turn}\n", "pump: {action: triplex-single-acting, state: stopped}\nfindings: {crosshead-hot: {present: [2]}}\n"}
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
		{Prompt: p.ID, Rests: p.Rests}, {Prompt: p.ID, Rests: p.Rests, Chosen: []string{"sideways"}}, {Prompt: p.ID, Rests: p.Rests, Text: "yes"},
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

// own is one of several sittings over a file, with what was confirmed in it since
// the pump was last isolated.
type own struct {
	*Sitting
	confirmed map[string]bool
}

// Several crews answer over one file at random, somebody notes things besides,
// and now and then one of the sittings is cut off and begun again. Whatever comes:
// the file is a case at every moment; an answer to what is not so any more
// changes nothing and says what changed; an answer takes nothing away that
// somebody else wrote, and goes back only over its own; and in no sitting do hands
// go in before what must be proved was confirmed in that sitting.
func TestSittingsInterleaved(t *testing.T) {
	stale, inside, backs := 0, 0, 0
	for seed := range max(2, randomTalks()/2) {
		r := rand.New(rand.NewPCG(47, uint64(seed)))
		c := newCrew(t, []string{proved, "pump: {action: triplex-single-acting, state: stopped}\nrecent: [mud-changed]\nfindings: {wiper-leaks: {again: [2]}}\n"}[seed%2])
		sittings := []*own{{c.sitting(), map[string]bool{}}, {c.sitting(), map[string]bool{}}}
		writer, wrote := []int{-1}, []string{c.file()} // who wrote each text
		stood, texts := c.parsed().Pump.State, map[string][]byte{}
		for range answersOfATalk {
			who := r.IntN(8) / 7
			s := sittings[who]
			p, err := s.Prompt()
			require.NoError(t, err)
			texts[p.Rests] = s.file.Text()
			if p.Over() || r.IntN(50) == 0 {
				sittings[who] = &own{c.sitting(), map[string]bool{}}
				continue
			}
			before := c.file()
			if r.IntN(20) == 0 { // somebody notes something
				file, err := record.Open(c.path, c.book.Vocabulary(), false)
				require.NoError(t, err)
				_, err = file.Write(record.AddLog(evidence.LogEntry{Did: fmt.Sprintf("seen by the mud man %d", r.IntN(1000))}))
				require.NoError(t, err)
				before = c.file()
				writer, wrote = append(writer, -1), append(wrote, before)
			}
			a := anything(t, r, &p)
			require.NoError(t, s.Answer(a))
			next, err := s.Prompt()
			require.NoError(t, err)
			after, k := c.file(), c.parsed()
			if digest([]byte(before)) != p.Rests {
				stale++
				require.Contains(t, jsonOf(t, next.News), "NOT written")
				require.Contains(t, jsonOf(t, next.News), record.Changes(texts[p.Rests], []byte(before))[0].Key)
				if after == before { // or what had to follow by itself
					continue
				}
			}
			if after != before {
				was, err := evidence.ParseCase("case.yaml", []byte(before), c.book.Vocabulary())
				require.NoError(t, err)
				if len(k.Log) >= len(was.Log) && a.One() != prompt.Back {
					require.True(t, slices.Equal(was.Log, k.Log[:len(was.Log)]), "the log only grows")
				} else {
					backs++
					at := slices.Index(wrote, after)
					require.GreaterOrEqual(t, at, 0, "back to what was there")
					for _, w := range writer[at+1:] {
						require.Equal(t, who, w, "only over its own")
					}
					writer, wrote = writer[:at], wrote[:at]
				}
				writer, wrote = append(writer, who), append(wrote, after)
			}
			if step, ok := strings.CutPrefix(p.ID, "step safety "); ok && a.One() == "done" {
				s.confirmed[strings.Fields(step)[0]] = true
			}
			if slices.Index(safer, k.Pump.State) < slices.Index(safer, stood) {
				for _, s := range sittings {
					s.confirmed = map[string]bool{}
				}
			}
			stood = k.Pump.State
			inside += c.handsIn(&next, k, s.confirmed)
		}
	}
	assert.Positive(t, stale)
	assert.Positive(t, inside)
	assert.Positive(t, backs)
}

// safer are the states of a pump, the safest last.
var safer = []evidence.PumpState{evidence.Running, evidence.Stopped, evidence.Isolated}

// handsIn wants all that must be proved anew confirmed in this sitting, where a
// prompt lets hands in.
func (c *crew) handsIn(p *prompt.Prompt, k *evidence.Case, confirmed map[string]bool) int {
	c.t.Helper()
	id := strings.Fields(p.ID)
	in := id[0] == "step" && id[1] == "opening" || id[0] == "step" && id[1] == "check" && c.book.Checks.Get(id[2]).Pump == rules.NeedsIsolated ||
		id[0] == "repair" && c.book.Causes.Get(id[1]).Behind == rules.BehindPump && p.Options[0].ID == "corrected"
	if !in {
		return 0
	}
	require.Equal(c.t, evidence.Isolated, k.Pump.State, p.ID)
	for _, s := range c.book.Safety.List {
		if s.For == rules.ForIsolation && s.InFull && s.When.Holds(k, c.book) {
			require.True(c.t, confirmed[s.ID], "%s before %s", p.ID, s.ID)
		}
	}
	return 1
}
