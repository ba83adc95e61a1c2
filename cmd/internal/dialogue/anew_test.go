package dialogue

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
	"telltale/evidence"
	"telltale/evidence/record"
)

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
		_, after, err := talk.Changed(was, now, s.on(was), true)
		require.NoError(t, err)
		assert.Equal(t, list.keeps, len(after.Sitting.Safe) > 0, list.now)
		_, err = talk.Next(now, after)
		require.NoError(t, err)
	}
}

// Somebody else opens something while one crew closes up: that is closed too
// before the pump is isolated no more.
func TestWhatIsOpenedWhileClosingUpIsClosedToo(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: isolated, open: [{crosshead-cover-off: 2}]}\nrecent: [mud-changed]\nfindings: {wiper-leaks: {again: [2]}}\nconfirmed: [{rod-clamp-misfitted: 2}, {wiper-worn-out: 2}]\ncorrected: [{rod-clamp-misfitted: 2}, {wiper-worn-out: 2}]\nlooked-again: [{rod-clamp-misfitted: 2}, {wiper-worn-out: 2}]\n")
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
			file, err := record.Open("", c.path, c.book.Vocabulary(), false)
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
		file, err := record.Open("", c.path, c.book.Vocabulary(), false)
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
	c := newCrew(t, "pump: {action: triplex-single-acting, state: isolated, open: [{crosshead-cover-off: 2}]}\nrecent: [mud-changed]\nfindings: {wiper-leaks: {again: [2]}}\nconfirmed: [{rod-clamp-misfitted: 2}, {wiper-worn-out: 2}]\n")
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
	text, told, err := talk.Changed(was, flows, s, true)
	require.NoError(t, err)
	require.NotEmpty(t, told.Sitting.Safe)
	for range 5 {
		p, err := talk.Next(text, told)
		require.NoError(t, err)
		chosen := p.Options[0].ID
		if p.ID == "waiting" {
			chosen = "over"
		}
		text, told, err = talk.Answer(text, told, prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{chosen}})
		require.NoError(t, err)
		if p.ID == "waiting" {
			break
		}
	}
	require.Contains(t, string(text), overLog)
	assert.Empty(t, told.Sitting.Safe)
	_, other, err := talk.Changed(was, text, s, true)
	require.NoError(t, err)
	assert.Empty(t, other.Sitting.Safe)
}
