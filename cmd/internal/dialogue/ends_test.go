package dialogue

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
	"telltale/evidence/source"
)

// always is somebody who gives one answer whatever is asked: the first that is
// offered, the second, the third, the first beside the others, the last.
var always = map[string]func(p *prompt.Prompt) int{
	"1": func(*prompt.Prompt) int { return 0 },
	"2": func(*prompt.Prompt) int { return 1 },
	"3": func(*prompt.Prompt) int { return 2 },
	"beside": func(p *prompt.Prompt) int {
		return max(0, slices.IndexFunc(p.Options, func(o prompt.Option) bool { return o.Aside && o.Shows == nil }))
	},
	"last": func(p *prompt.Prompt) int { return len(p.Options) },
	"back": func(*prompt.Prompt) int { return -1 },
}

// same gives the constant answer, the nearest one where there are not so many.
func same(p *prompt.Prompt, pick func(*prompt.Prompt) int) prompt.Answer {
	a := prompt.Answer{Prompt: p.ID, Rests: p.Rests}
	i := pick(p)
	switch {
	case i < 0 && p.Back != "":
		a.Chosen = []string{prompt.Back}
	case len(p.Options) == 0:
		a.Text = "Larkspur"
	default:
		answers := slices.DeleteFunc(slices.Clone(p.Options), func(o prompt.Option) bool { return o.Shows != nil })
		a.Chosen = []string{answers[max(0, min(i, len(answers)-1))].ID}
	}
	return a
}

// mostAnswers is more than a crew needs for a pump with three cylinders: every
// question of the small book at each place, every step, and all of it again after a
// repair.
const mostAnswers = 150

// Whatever is answered always: the talk ends.
func TestATalkEnds(t *testing.T) {
	starts := []string{
		"",
		"pump: {action: triplex-single-acting, state: running}\nfindings: {rod-wobbles: {present: [1, 2, 3]}}\n",                                            // straight
		"pump: {action: triplex-single-acting, state: running}\nfindings: {knock: {present: [1, 2, 3]}}\n",                                                  // a stop
		"pump: {action: triplex-single-acting, state: stopped}\nconfirmed: [clamp-loose: 2, guide-worn: 1]\nchecked: {try-clamp: {nothing: [2]}}\n",         // a contradiction
		"pump: {action: duplex-double-acting, state: isolated}\nfindings: {wiper-leaks: {again: [left]}}\nconfirmed: [clamp-loose: left]\n",                 // a repair
		"pump: {action: triplex-single-acting, state: isolated, open: [cover-off: 2]}\nconfirmed: [clamp-loose: 2]\ncorrected: [clamp-loose: 2]\nlog: []\n", // closing up
	}
	for i, start := range starts {
		for name, pick := range always {
			t.Run(fmt.Sprint(i, " ", name), func(t *testing.T) {
				c := newCrewOnSmallBook(t)
				if start != "" {
					require.NoError(t, os.WriteFile(c.path, []byte(start), 0o600))
				}
				answered := endsWithin(t, c.sitting(), pick)
				assert.Positive(t, answered)
			})
		}
	}
}

// endsWithin answers a sitting until it is over, and gives how many answers it took.
func endsWithin(t *testing.T, s *Sitting, pick func(*prompt.Prompt) int) int {
	t.Helper()
	var asked []string
	for {
		p, err := s.Prompt()
		require.NoError(t, err)
		if p.Over() {
			return len(asked)
		}
		a := same(&p, pick)
		asked = append(asked, a.Prompt+": "+strings.Join(append(a.Chosen, a.Text), ", "))
		require.Less(t, len(asked), mostAnswers, "%s", strings.Join(asked[len(asked)-min(len(asked), 12):], "\n"))
		require.NoError(t, s.Answer(a))
	}
}

// A case that has grown to what is read at most takes no answer: the crew is told so, and
// what to do; nothing of the file is lost.
func TestAFullCaseSaysSo(t *testing.T) {
	text := "pump: {action: triplex-single-acting, state: running}\nfindings: {smoke: present}\n"
	text += strings.Repeat("# what a crew writes\n", (source.CaseLimits.Bytes-len(text))/21)
	c := newCrew(t, text)
	rest := c.talks([]said{{"STOP FIRST", "", "1"}})
	flat := strings.Join(strings.Fields(rest), " ")
	assert.Contains(t, flat, "The case is full: the file has")
	assert.Contains(t, flat, "Strike old remarks or old lines of its log out of the file, or begin a new case. It was NOT written.")
	assert.Contains(t, flat, "STOP FIRST", "the stop is not over")
	assert.Equal(t, text, c.file())
}
