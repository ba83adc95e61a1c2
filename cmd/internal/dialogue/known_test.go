package dialogue

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
	"telltale/evidence/record"
	"telltale/rules"
)

// sat is a sitting over a case that was taken up.
func sat(t *testing.T, text string) *Sitting {
	t.Helper()
	c := newCrew(t, text)
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	file, err := record.OpenCase("", c.path, book.Vocabulary(), false)
	require.NoError(t, err)
	s := NewSitting(book.WithoutFirmness(), file, noon)
	chooses(t, s, "yes")
	return s
}

// chooses answers what is asked now, and gives what is asked then.
func chooses(t *testing.T, s *Sitting, ids ...string) prompt.Prompt {
	t.Helper()
	p, err := s.Prompt()
	require.NoError(t, err)
	require.NoError(t, s.Answer(prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: ids}), "%+v", p)
	p, err = s.Prompt()
	require.NoError(t, err)
	return p
}

const holds = `pump: {action: triplex-single-acting, state: stopped}
recent: [valves-changed: {cured: no}, mud-changed]
findings:
  wiper-leaks: {again: [2], absent: others}
  oil-milky: present
  pistons-fail-often: unknown
  liners-fail-early: {present: somewhere}
checked: {oil-look: nothing}
confirmed: [rod-clamp-misfitted: 2]
corrected: [rod-clamp-misfitted: 2]
ruled-out: [reverse-rotation]
`

// Each thing that a case holds is asked for again, at its place, and only that is
// changed by the answer; that it stands changes nothing.
func TestWhatTheCaseHoldsIsPutRight(t *testing.T) {
	for name, c := range map[string]struct {
		answer, holds string
		gone          string // what is not there any more
	}{
		"seen wiper-leaks 2":           {answer: "absent", holds: "wiper-leaks: {absent: others}"},
		"seen oil-milky":               {answer: "absent", holds: "oil-milky: absent"},
		"seen pistons-fail-often 1":    {answer: "present", holds: "pistons-fail-often: {present: [1], unknown: [2, 3]}"},
		"seen liners-fail-early":       {answer: "none", holds: "liners-fail-early: absent"},
		"checked oil-look":             {answer: "out", gone: "\nchecked:"},
		"done valves-changed":          {answer: "out", holds: "recent: [mud-changed]"},
		"done mud-changed":             {answer: "not-cured", holds: "mud-changed: {cured: no}"},
		"proved rod-clamp-misfitted 2": {answer: "wrong", gone: "\ncorrected:"},
		"proved reverse-rotation":      {answer: "out", gone: "\nruled-out:"},
	} {
		t.Run(name, func(t *testing.T) {
			s := sat(t, holds)
			was := string(s.Text())
			before, err := s.Prompt()
			require.NoError(t, err)
			require.NoError(t, s.PutRight(name))
			assert.Equal(t, was, string(s.Text()), "asking writes nothing")
			asked, err := s.Prompt()
			require.NoError(t, err)
			assert.NotEqual(t, before.ID, asked.ID)
			assert.Equal(t, before.ID, chooses(t, s, prompt.Back).ID, "it leads back to what was asked")
			require.NoError(t, s.PutRight(name))
			chooses(t, s, c.answer)
			assert.Contains(t, string(s.Text()), c.holds)
			if c.gone != "" {
				assert.NotContains(t, string(s.Text()), c.gone)
			}
			p, err := s.Prompt()
			require.NoError(t, err)
			assert.NotEqual(t, asked.ID, p.ID, "it is asked once")
		})
	}
}

// Over a closed job, and of what the case does not hold, nothing is asked again.
func TestNothingElseIsPutRight(t *testing.T) {
	var problem *prompt.Problem
	s := sat(t, holds)
	require.ErrorAs(t, s.PutRight("seen knock"), &problem)
	p, err := s.Prompt()
	require.NoError(t, err)
	assert.NotContains(t, p.ID, "again")
}
