package dialogue

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
	"telltale/evidence/record"
	"telltale/rules"
)

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

// What the talk writes has the time of the clock on the wall.
func TestTheLogHasTheTimeOfTheClock(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	there := time.FixedZone("CST", -6*3600)
	talk := Talk{Book: book, File: "case.yaml", Now: func() time.Time { return noon().In(there) }}
	text := []byte("pump: {action: triplex-single-acting, state: running}\nfindings: {rod-broken: present}\n")
	p, err := talk.Next(text, NewState())
	require.NoError(t, err)
	require.Equal(t, "stop broken-rod", p.ID)
	text, _, err = talk.Answer(text, NewState(), prompt.Answer{Prompt: p.ID, Chosen: []string{"read"}, Rests: p.Rests})
	require.NoError(t, err)
	assert.Contains(t, string(text), "2024-02-28T21:00:00-06:00")
}
