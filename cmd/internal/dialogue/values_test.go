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

// begunBy answers first options until a safety step was done, and gives the case
// and the state then.
func begunBy(t testing.TB, talk *Talk, text []byte) ([]byte, State) {
	t.Helper()
	s := NewState()
	for range 60 {
		p, err := talk.Next(text, s)
		require.NoError(t, err)
		a := prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{p.Options[0].ID}}
		text, s, err = talk.Answer(text, s, a)
		require.NoError(t, err)
		if len(s.Sitting.Safe) > 1 {
			return text, s
		}
	}
	require.FailNow(t, "no safety step was done")
	return nil, s
}

// A state counts for the case that it was made with and for no other, nor for that
// one as it was; a state of no case brings nothing along that was done.
func TestAStateIsOfOneCase(t *testing.T) {
	c := newCrew(t, "")
	talk := &Talk{Book: c.book, File: "case.yaml", Now: noon}
	text, s := begunBy(t, talk, []byte(proved))
	other := []byte("pump: {name: Pump 1, action: triplex-single-acting, state: isolated}\nfindings: {wiper-leaks: {again: [2]}}\n")
	for _, strange := range [][]byte{other, []byte(proved), nil} {
		var problem *prompt.Problem
		_, err := talk.Next(strange, s)
		require.ErrorAs(t, err, &problem)
		require.Equal(t, prompt.Other, problem.Code)
		_, _, err = talk.Answer(strange, s, prompt.Answer{Rests: digest(strange), Chosen: []string{prompt.Back}})
		require.ErrorAs(t, err, &problem)
	}
	stripped := asRead(t, s)
	stripped.Rests = ""
	p, err := talk.Next(text, stripped)
	require.NoError(t, err)
	fresh, err := talk.Next(text, NewState())
	require.NoError(t, err)
	assert.Equal(t, fresh, p)
	assert.True(t, strings.HasPrefix(p.ID, "still ") || strings.HasPrefix(p.ID, "stop "), p.ID)
	_, next, err := talk.Answer(text, stripped, prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{p.Options[0].ID}})
	require.NoError(t, err)
	assert.Empty(t, next.Sitting.Safe)
}

// What is read as a state may be anything: nothing panics, and what comes of it is
// a case.
func FuzzState(f *testing.F) {
	book, err := rules.BuiltIn()
	require.NoError(f, err)
	talk := &Talk{Book: book, File: "case.yaml", Now: noon}
	text, s := begunBy(f, talk, []byte(proved))
	whole, err := json.Marshal(s)
	require.NoError(f, err)
	f.Add(whole)
	for _, seed := range []string{
		`{}`, `{"begun":true}`, `{"sitting":{"repairing":true,"to_open":[{"ID":"no","Place":{"Cylinder":"9"}}]}}`,
		`{"begun":true,"sitting":null,"follow":[{"check":"no","at":{"Cylinder":"7"}},{"sign":"no"},{}]}`,
		`{"begun":true,"sitting":{"closing":true,"returning":[{"id":"no"}]}}`, `{"begun":true,"sitting":{"straight":"straight"}}`,
		`{"begun":true,"before":[{"text":"pump: [","state":{}}]}`, `{"begun":true,"before":[{"text":"","state":{}}]}`, `{"begun":true,"said":[{"prompt":"no"}]}`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, written []byte) {
		var s State
		if json.Unmarshal(written, &s) != nil {
			return
		}
		for _, stands := range [][]byte{text, []byte(proved), nil} {
			s := s.on(stands)
			p, err := talk.Next(stands, s)
			if err != nil || p.Over() {
				continue
			}
			var chosen [][]string
			for _, o := range p.Options {
				chosen = append(chosen, []string{o.ID})
			}
			for _, ids := range append(chosen, []string{prompt.Back}) {
				a := prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: ids}
				after, next, err := talk.Answer(stands, s, a)
				if err != nil {
					continue
				}
				_, err = record.Read("case.yaml", after, book.Vocabulary())
				require.NoError(t, err)
				_, err = talk.Next(after, next)
				require.NoError(t, err)
			}
		}
	})
}

// What one crew did to make the pump safe counts no more for it when somebody
// takes off a lock or shuts what was to stay open, whatever else was hung.
func TestAnotherLockMakesUpForNone(t *testing.T) {
	c := newCrew(t, "")
	text, s := begunBy(t, &Talk{Book: c.book, File: "case.yaml", Now: noon}, []byte(proved))
	for _, list := range []struct {
		was, now string
		keeps    bool
	}{
		{`locks: [{on: drive, by: JK, tag: "1"}]`, `locks: [{on: drive, by: JK, tag: "1"}, {on: drive, by: MB}]`, true},
		{`locks: [{on: drive, by: JK, tag: "1"}]`, `locks: [{on: drive, by: JK, tag: "1", off-by: JK}, {on: drive, by: MB}]`, false},
		{`locks: [{on: drive, by: JK, tag: "1"}]`, `locks: [{on: drive, by: JK, tag: "2"}]`, false},
		{`stays-open: [{what: bleed}]`, `stays-open: [{what: bleed}, {what: drain}]`, true},
		{`stays-open: [{what: bleed}]`, `stays-open: [{what: bleed, shut-by: JK}, {what: drain}]`, false},
	} {
		was, now := []byte(string(text)+list.was+"\n"), []byte(string(text)+list.now+"\n")
		talk := &Talk{Book: c.book, File: "case.yaml", Now: noon}
		_, after, err := talk.Changed(was, now, s.on(was))
		require.NoError(t, err)
		assert.Equal(t, list.keeps, len(after.Sitting.Safe) > 0, list.now)
		_, err = talk.Next(now, after)
		require.NoError(t, err)
	}
}

// Somebody else opens something while one crew closes up: that is closed too
// before the pump is isolated no more.
func TestWhatIsOpenedWhileClosingUpIsClosedToo(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: isolated, open: [{crosshead-cover-off: 2}]}\nrecent: [mud-changed]\nfindings: {wiper-leaks: {again: [2]}}\nconfirmed: [{rod-clamp-misfitted: 2}]\ncorrected: [{rod-clamp-misfitted: 2}]\nlooked-again: [{rod-clamp-misfitted: 2}]\n")
	s := c.sitting()
	opened, closed := false, false
	for range 80 {
		p, err := s.Prompt()
		require.NoError(t, err)
		if p.Over() || p.ID == "done" {
			break
		}
		if len(s.state.Sitting.Closed) > 1 && !opened {
			opened = true
			file, err := record.Open(c.path, c.book.Vocabulary(), false)
			require.NoError(t, err)
			_, err = file.Write(record.Opened("crankcase-cover-off"))
			require.NoError(t, err)
		}
		closed = closed || p.ID == "step return crankcase-cover-off  "
		require.NoError(t, s.Answer(prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{p.Options[0].ID}}))
		k := c.parsed()
		require.True(t, k.Pump.State == evidence.Isolated || closed, "after %s", p.ID)
	}
	assert.Equal(t, evidence.Running, c.parsed().Pump.State)
	assert.Empty(t, c.parsed().Pump.Open)
}

// A stop condition that was over and comes again is read out again, to whoever had
// read it too.
func TestAStopThatComesAgainIsReadAgain(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nrecent: [mud-changed]\nfindings: {wiper-leaks: {again: [2]}, smoke: present}\n")
	s := c.sitting()
	noted := func(answer string) {
		file, err := record.Open(c.path, c.book.Vocabulary(), false)
		require.NoError(t, err)
		_, err = file.Write(record.SetFinding("smoke", answer))
		require.NoError(t, err)
	}
	answer := func() string {
		p, err := s.Prompt()
		require.NoError(t, err)
		require.NoError(t, s.Answer(prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{p.Options[0].ID}}))
		p, err = s.Prompt()
		require.NoError(t, err)
		return p.ID
	}
	first, err := s.Prompt()
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(first.ID, "stop "), first.ID)
	require.NotContains(t, answer(), "stop ")
	noted("absent")
	require.NotContains(t, answer(), "stop ")
	noted("present")
	assert.Equal(t, first.ID, answer())
}

// Whoever goes back behind a pump that was put back to service proves anew that it
// is safe, however far he goes back.
func TestGoingBackBehindAClosedPumpProvesAnew(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: isolated, open: [{crosshead-cover-off: 2}]}\nrecent: [mud-changed]\nfindings: {wiper-leaks: {again: [2]}}\nconfirmed: [{rod-clamp-misfitted: 2}]\n")
	s := c.sitting()
	answer := func(chosen string) {
		p, err := s.Prompt()
		require.NoError(t, err)
		if chosen == "" {
			chosen = p.Options[0].ID
		}
		require.NoError(t, s.Answer(prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{chosen}}))
	}
	safe := false
	for range 80 {
		safe = safe || len(s.state.Sitting.Safe) > 0
		if p, err := s.Prompt(); err == nil && p.ID == "done" {
			break
		}
		answer("")
	}
	require.True(t, safe, "something was done to make it safe")
	require.Equal(t, evidence.Running, c.parsed().Pump.State)
	isolated := 0
	for len(s.state.Before) > 0 {
		answer(prompt.Back)
		if c.parsed().Pump.State == evidence.Isolated {
			isolated++
			require.Empty(t, s.state.Sitting.Safe)
		}
	}
	assert.Greater(t, isolated, 3)
}

// After everybody had left for the well, and after a stop that held all back, what
// was done before to make the pump safe counts no more: for whoever says that it is
// over, and for a crew that did not answer meanwhile.
func TestAfterAStopItIsProvedAnew(t *testing.T) {
	c := newCrew(t, "")
	talk := &Talk{Book: c.book, File: "case.yaml", Now: noon}
	was, s := begunBy(t, talk, []byte(proved))
	flows, _, err := record.Apply("case.yaml", was, c.book.Vocabulary(), record.SetFinding("pit-gain", "present"))
	require.NoError(t, err)
	text, told, err := talk.Changed(was, flows, s)
	require.NoError(t, err)
	require.NotEmpty(t, told.Sitting.Safe)
	for range 5 {
		p, err := talk.Next(text, told)
		require.NoError(t, err)
		text, told, err = talk.Answer(text, told, prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{p.Options[0].ID}})
		require.NoError(t, err)
		if p.ID == "waiting" {
			break
		}
	}
	require.Contains(t, string(text), overLog)
	assert.Empty(t, told.Sitting.Safe)
	_, other, err := talk.Changed(was, text, s)
	require.NoError(t, err)
	assert.Empty(t, other.Sitting.Safe)
}
