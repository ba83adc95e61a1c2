package dialogue

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

const ofThePump = `# Bought used.
pump: {action: triplex-single-acting, liner: 6 1/2 in, stroke: 11 in}   # by the plate
manual: {relief-setting: 3000 psi, dampener-charge: 900 psi}
hours:
  - {date: 2026-10-01, hours: 900 h}
`

const onThePump = "job: {pump: pump-2, date: 2026-10-20, hours: 1000 h, closed: 2026-10-21}\npump: {state: running}\n"

// offering begins the talk over a closed job and a pump's file.
func offering(t *testing.T, pump, job string) (*Stands, string) {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "pump-2.yaml")
	require.NoError(t, os.WriteFile(path, []byte(pump), 0o600))
	file, err := record.OpenPump("", path, book.Vocabulary(), false)
	require.NoError(t, err)
	words := book.Vocabulary()
	words.Pump, err = file.Pump()
	require.NoError(t, err)
	k, err := evidence.ParseCase("job.yaml", []byte(job), words)
	require.NoError(t, err)
	s, err := NewStands(book, k, []byte(job), file)
	require.NoError(t, err)
	return s, path
}

// answers gives the answers in order, an option by its id, else a text, and what was
// asked.
func (s *Stands) answers(t *testing.T, all ...string) (asked []string) {
	t.Helper()
	for {
		p, err := s.Prompt()
		require.NoError(t, err)
		if p.Over() {
			assert.Empty(t, all, "not asked for")
			return asked
		}
		asked = append(asked, p.ID)
		require.NotEmpty(t, all, "asked besides: %s", p.Ask)
		a := prompt.Answer{Prompt: p.ID, Text: all[0]}
		for _, o := range p.Options {
			if o.ID == all[0] {
				a = prompt.Answer{Prompt: p.ID, Chosen: []string{o.ID}}
			}
		}
		require.NoError(t, s.Answer(a))
		all = all[1:]
	}
}

func TestWhatAClosedJobOffers(t *testing.T) {
	liners := "changed: [{part: liner, at: all}]\n"
	for _, c := range []struct {
		name, pump, job string
		answers, asked  []string
		holds, not      []string
	}{
		{"the meter", ofThePump, onThePump, []string{"write"}, []string{"hours"}, []string{"  - {date: 2026-10-20, hours: 1000 h}\n", "# Bought used.", "# by the plate"}, []string{"was:"}},
		{"nothing without a yes", ofThePump, onThePump + liners, []string{"6", "same", "no"}, nil, nil, nil},
		{"the same liner", ofThePump, onThePump + liners, []string{"yes", "no"}, []string{"pump liner", "hours"}, []string{"liner: 6 1/2 in"}, []string{"was:", "1000 h"}},
		{"the same liner, typed", ofThePump, onThePump + liners, []string{"6.5", "no"}, []string{"pump liner", "hours"}, []string{"liner: 6 1/2 in"}, []string{"was:"}},
		{"another liner", ofThePump, onThePump + liners, []string{"6", "3600", "no"}, []string{"pump liner", "liner relief-setting", "hours"},
			[]string{"liner: 6 in", "relief-setting: 3600 psi", "{until: 2026-10-20, pump: {liner: 6 1/2 in}, manual: {relief-setting: 3000 psi}}", "dampener-charge: 900 psi"}, nil},
		{"another liner by the job", ofThePump, strings.Replace(onThePump, "state: running", "state: running, liner: 6 in", 1) + "manual: {relief-setting: 3500 psi}\n" + liners, []string{"write", "write", "no"},
			[]string{"pump liner", "liner relief-setting", "hours"}, []string{"liner: 6 in", "relief-setting: 3500 psi"}, nil},
		{"no liner known before", "pump: {action: triplex-single-acting}\n", onThePump + liners, []string{"6", "no"}, []string{"pump liner", "hours"}, []string{"liner: 6 in"}, []string{"was:"}},
		{"a later change", ofThePump + "was: [{until: 2026-11-01, pump: {liner: 7 in}}]\n", onThePump + liners, []string{"no"}, []string{"hours"}, nil, nil},
		{"a figure of the manual", ofThePump, onThePump + "manual: {rod-load-most: 90000 lbf, dampener-charge: 950 psi}\n", []string{"write", "no"}, []string{"manual rod-load-most", "hours"}, []string{"rod-load-most: 90000 lbf", "dampener-charge: 900 psi"}, nil},
		{"a reading that the file has", strings.Replace(ofThePump, "2026-10-01", "2026-10-20", 1), onThePump, nil, nil, nil, []string{"1000 h"}},
		{"a meter that ran back", strings.Replace(ofThePump, "900 h", "9000 h", 1), onThePump, nil, nil, nil, []string{"1000 h"}},
		{"no hours", ofThePump, strings.Replace(onThePump, "hours: 1000 h, ", "", 1), nil, nil, nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, path := offering(t, c.pump, c.job)
			if c.name == "nothing without a yes" {
				_, err := s.Prompt()
				require.NoError(t, err)
				require.Error(t, s.Answer(prompt.Answer{Prompt: "pump liner", Text: "wide"}))
				require.Error(t, s.Answer(prompt.Answer{Prompt: "hours", Chosen: []string{"write"}}), "not asked yet")
				assert.Equal(t, c.pump, textOf(t, path))
				return
			}
			assert.Equal(t, c.asked, s.answers(t, c.answers...))
			text := textOf(t, path)
			for _, holds := range c.holds {
				assert.Contains(t, text, holds)
			}
			for _, not := range c.not {
				assert.NotContains(t, text, not)
			}
			if len(c.holds)+len(c.not) == 0 {
				assert.Equal(t, c.pump, text)
			}
		})
	}
}

// A talk that is broken off between two answers, however, goes on where it was: what goes
// with new liners is asked although the file has their size already.
func TestATalkOverThePumpsFileThatWasBrokenOffGoesOn(t *testing.T) {
	job := onThePump + "changed: [{part: liner, at: all}]\n"
	answers := []string{"6", "3600", "write"}
	for broken := range answers {
		s, path := offering(t, ofThePump, job)
		for _, a := range answers[:broken] {
			p, err := s.Prompt()
			require.NoError(t, err)
			answer := prompt.Answer{Prompt: p.ID, Text: a}
			if a == "write" {
				answer = prompt.Answer{Prompt: p.ID, Chosen: []string{a}}
			}
			require.NoError(t, s.Answer(answer))
		}
		again, after := offering(t, textOf(t, path), job)
		want := []string{"pump liner", "liner relief-setting", "hours"}[broken:]
		left := answers[broken:]
		if broken > 0 { // the size is asked again, as that of any new liner, and stands
			want, left = append([]string{"pump liner"}, want...), append([]string{"yes"}, left...)
		}
		assert.Equal(t, want, again.answers(t, left...), "broken off behind %d answers", broken)
		for _, holds := range []string{"liner: 6 in", "relief-setting: 3600 psi", "{until: 2026-10-20, pump: {liner: 6 1/2 in}, manual: {relief-setting: 3000 psi}}", "hours: 1000 h"} {
			assert.Contains(t, textOf(t, after), holds, "broken off behind %d answers", broken)
		}
	}
}

// A figure that is the same with the new liners was looked up: it stands, the file says so,
// and nobody is asked for it again.
func TestAFigureThatStaysTheSameIsAskedOnce(t *testing.T) {
	job := onThePump + "changed: [{part: liner, at: all}]\n"
	s, path := offering(t, ofThePump, job)
	assert.Equal(t, []string{"pump liner", "liner relief-setting", "hours"}, s.answers(t, "6", "yes", "no"))
	text := textOf(t, path)
	assert.Contains(t, text, "relief-setting: 3000 psi")
	assert.Contains(t, text, "{until: 2026-10-20, pump: {liner: 6 1/2 in}, manual: {relief-setting: 3000 psi}}")
	again, _ := offering(t, text, job)
	assert.Equal(t, []string{"pump liner", "hours"}, again.answers(t, "yes", "no"))
}

func textOf(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(text)
}

// What somebody else writes into the pump's file in between stays, and is said; what is
// offered then is made from it.
func TestARivalAtThePumpsFile(t *testing.T) {
	s, path := offering(t, ofThePump, onThePump+"changed: [{part: liner, at: all}]\n")
	_, err := s.Prompt()
	require.NoError(t, err)
	theirs := strings.Replace(ofThePump, "liner: 6 1/2 in", "liner: 6 in", 1) + "was: [{until: 2026-10-20, pump: {liner: 6 1/2 in}}]\n"
	require.NoError(t, os.WriteFile(path, []byte(theirs), 0o600))
	require.NoError(t, s.Answer(prompt.Answer{Prompt: "pump liner", Text: "5 1/2"}))
	assert.Equal(t, theirs, textOf(t, path), "the answer was to what is not so any more")
	p, err := s.Prompt()
	require.NoError(t, err)
	require.NotEmpty(t, p.News)
	assert.Contains(t, p.News[0].Text, "NOT written")
	assert.Contains(t, p.Options[0].Title, "the same, 6 in")
	assert.Equal(t, []string{"pump liner", "liner relief-setting", "hours"}, s.answers(t, "yes", "3600", "write"), "their liner is a new one too")
	assert.Contains(t, textOf(t, path), "relief-setting: 3600 psi")
	assert.Contains(t, textOf(t, path), "hours: 1000 h")
	assert.Contains(t, textOf(t, path), "liner: 6 in")

	require.NoError(t, os.WriteFile(path, []byte("pump: {action: quadruplex}\n"), 0o600))
	s, path = offering(t, ofThePump, onThePump)
	require.NoError(t, os.WriteFile(path, []byte("pump: {action: quadruplex}\n"), 0o600))
	require.NoError(t, s.Answer(prompt.Answer{Prompt: "hours", Chosen: []string{"write"}}))
	_, err = s.Prompt()
	require.Error(t, err, "a mistake is mended by hand")
	assert.Equal(t, "pump: {action: quadruplex}\n", textOf(t, path))
}

// The job of a talk says why it cannot be closed, and asks only for what is needed.
func TestAJobIsClosedOnlyWhenAllIsDone(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	pump, err := evidence.ParsePump("pumps/pump-2.yaml", "pump-2", []byte(ofThePump), book.Vocabulary())
	require.NoError(t, err)
	talk := &Talk{Book: book.WithoutFirmness(), File: "job.yaml", Pump: pump, Now: noon}
	head := "job: {pump: pump-2, date: 2024-02-28, hours: 1000 h}\npump: {state: running}\nfindings: {wiper-leaks: {again: [2]}}\nconfirmed: [wiper-worn-out: 2]\ncorrected: [wiper-worn-out: 2]\nroot-left: [wiper-worn-out: 2]\n"
	done := head + "looked-again: [wiper-worn-out: 2]\n"
	next := func(text string, s State) prompt.Prompt {
		p, err := talk.Next([]byte(text), s)
		require.NoError(t, err)
		return p
	}
	for name, text := range map[string]string{
		"a lock":     done + "locks: [{on: drive breaker, by: A. Hand}]\n",
		"a bleed":    done + "stays-open: [{what: bleed, by: A. Hand}]\n",
		"a case":     strings.Replace(strings.Replace(done, "job: {pump: pump-2, date: 2024-02-28, hours: 1000 h}\n", "", 1), "state: running", "action: triplex-single-acting, state: running", 1),
		"not looked": head,
	} {
		t.Run(name, func(t *testing.T) {
			s := NewState()
			s.Begun = true
			p := next(text, s.on([]byte(text)))
			for _, o := range p.Options {
				assert.NotEqual(t, "close", o.ID, p.ID)
			}
		})
	}
	text, s := []byte(done), NewState()
	s.Begun = true
	s = s.on(text)
	var asked []string
	for _, answer := range []string{"close", "part 1", "none"} {
		p, err := talk.Next(text, s)
		require.NoError(t, err)
		asked = append(asked, p.ID)
		text, s, err = talk.Answer(text, s, prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{answer}})
		require.NoError(t, err)
	}
	assert.Equal(t, []string{"done", "parts 0", "still good"}, asked)
	assert.True(t, s.Over)
	assert.Contains(t, string(text), "closed: 2024-02-29}")
	assert.Contains(t, string(text), "changed:\n  - {part: wiper-set, at: 2}\n")
}
