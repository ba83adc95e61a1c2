package trainer

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/mattn/go-runewidth"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/talk"
	"telltale/engine/practice"
	"telltale/rules"
)

// Trainees who type anything: every exercise ends in order, with a valid
// record, and no line is wider than the page. A line behind a prompt is wider
// by the prompt only because nobody's Enter stands in a file of answers.
func TestAnythingTypedEndsInOrder(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	words := []string{"1", "1", "2", "3", "4", "4", "5", "6", "7", "8", "m", "b", "a", "valve", "rod", "stop", "prove", "-3", "zz", "", "\x00\x1b[2J"}
	unweighed := 0
	for seed := uint64(0); seed < 20; seed++ {
		random := rand.New(rand.NewPCG(seed, 9))
		var in strings.Builder
		for range random.IntN(150) {
			fmt.Fprintln(&in, words[random.IntN(len(words))])
		}
		w, err := practice.Draw(book, practice.Setup{Seed: seed, Level: 1 + int(seed)%3})
		require.NoError(t, err)
		var out bytes.Buffer
		height := []int{0, 24}[seed%2]
		record := played(t, NewExercise(book, w), talk.New(strings.NewReader(in.String()), &out, 60, height))
		assert.NotEqual(t, practice.Running, record.End)
		assert.GreaterOrEqual(t, record.Minutes, 0.0)
		for _, line := range strings.Split(out.String(), "\n") {
			line = line[strings.LastIndex(line, "-- Enter for more -- ")+1:]
			line = strings.TrimLeft(strings.TrimPrefix(line, "- Enter for more -- "), "> ")
			assert.LessOrEqual(t, runewidth.StringWidth(line), 60, "%q", line)
			assert.NotContains(t, line, "\x1b")
		}
		unweighed += strings.Count(strings.Join(strings.Fields(out.String()), " "), "too many findings to weigh")
	}
	assert.Positive(t, unweighed, "no exercise went past what is weighed")
}

// played plays an exercise on a terminal until its input ends.
func played(t testing.TB, x *Exercise, term *talk.Terminal) practice.Record {
	t.Helper()
	err := term.Hold(x)
	if errors.Is(err, talk.ErrEnd) && x.GiveUp() {
		err = term.Hold(x)
	}
	if err != nil {
		require.ErrorIs(t, err, talk.ErrEnd)
	}
	record, err := x.Record()
	require.NoError(t, err)
	return record
}

// terminalWords are words of one way to show a prompt.
var terminalWords = regexp.MustCompile(`(?i)\b(type|typed|typing|enter|press|key|keys|keyboard|screen|terminal|cursor|line|lines|number|numbers|digit)\b`)

// Whatever is chosen: a menu that words do not narrow is short, no two options
// have one id, nothing in the words of the talk speaks of a terminal, and the
// same answers to the same world bring the same prompts.
func TestPromptsAreValues(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	for seed := uint64(0); seed < 12; seed++ {
		random := rand.New(rand.NewPCG(seed, 10))
		w, err := practice.Draw(book, practice.Setup{Seed: seed, Level: 1 + int(seed)%3})
		require.NoError(t, err)
		x, twin := NewExercise(book, w), NewExercise(book, w)
		for range 60 {
			p, err := x.Prompt()
			require.NoError(t, err)
			same, err := twin.Prompt()
			require.NoError(t, err)
			require.Equal(t, p, same)
			if p.Over() {
				break
			}
			a, ids := prompt.Answer{Prompt: p.ID}, map[string]bool{}
			require.True(t, p.Entry != nil || len(p.Options) <= 9, p.Ask)
			for _, o := range p.Options {
				assert.False(t, ids[o.ID], o.ID)
				ids[o.ID] = o.Shows == nil
				a.Chosen = []string{o.ID}
				assert.Equal(t, o.Shows == nil, p.Check(a) == nil)
			}
			own := p.Ask[strings.LastIndexAny(p.Ask, ".:")+1:] // what stands before is a title of the book
			assert.NotRegexp(t, terminalWords, own)
			if p.Entry != nil {
				assert.NotRegexp(t, terminalWords, p.Entry.Hint+p.Entry.Blank)
			}
			for a.Chosen = nil; p.Check(a) != nil; {
				switch n := random.IntN(12); {
				case len(p.Options) == 0:
					a.Text = "2 thou"
				case n == 0:
					a.Chosen = []string{prompt.Back}
				case n == 1:
					a.Chosen, a.Text = nil, []string{"valve", "rod", "zz"}[random.IntN(3)]
				default:
					a.Chosen, a.Text = []string{p.Options[random.IntN(len(p.Options))].ID}, ""
				}
				if a.One() == string(practice.GaveUp) && random.IntN(8) > 0 {
					a.Chosen = nil
				}
			}
			require.NoError(t, x.Answer(a))
			require.NoError(t, twin.Answer(a))
		}
	}
	for _, d := range doings {
		assert.NotRegexp(t, terminalWords, d.text+" "+d.question+" "+d.nothing)
	}
}

func TestAWordNarrowsTitlesFirst(t *testing.T) {
	offers := []practice.Offer{{ID: "a", Title: "Walk the lines", More: "look at the valve"}, {ID: "valve-look", Title: "Valve and spring"}, {ID: "c", Title: "Oil"}}
	narrow := holding(offers, "VALVE")
	require.Len(t, narrow, 2)
	assert.Equal(t, "valve-look", narrow[0].ID)
	assert.Empty(t, holding(offers, "valve oil"))
	assert.Len(t, holding(offers, ""), 3)
}

// Where the tool's check shows a lower figure than the trainee's own, the review
// gives the reason with its minutes, on the screen and on the page.
func TestTheReviewSaysWhyNotYours(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	explained := 0
	for seed := uint64(0); explained < 3 && seed < 24; seed++ {
		w, err := practice.Draw(book, practice.Setup{Seed: seed, Level: practice.AnyFault})
		require.NoError(t, err)
		var out bytes.Buffer
		x, term := NewExercise(book, w), talk.New(strings.NewReader(""), &out, 60, 0)
		for _, id := range []string{"mud-check", "volume-test", "relief-valve-bench"} {
			check := practice.Action{Do: practice.Check, ID: id}
			if refused := x.s.Do(check).Refused; refused != nil {
				for _, n := range refused.Missing {
					x.s.Do(practice.Action{Do: n.Do, ID: n.ID, Place: n.Place})
				}
				x.s.Do(check)
			}
		}
		x.s.Stop(practice.GaveUp)
		require.NoError(t, term.Hold(x))
		review := x.judged
		screen := strings.Join(strings.Fields(out.String()), " ")
		var paper []string
		for _, part := range x.Page(time.Time{}).Sections {
			paper = append(paper, part.Parts[0].Text...)
		}
		whys := 0
		for i := range review.Judged {
			why := x.reason(&review.Judged[i])
			assert.Equal(t, review.Judged[i].Reason != nil, why != "")
			if why == "" {
				continue
			}
			whys++
			assert.Contains(t, screen, why)
			assert.Contains(t, paper, why)
			if !review.Judged[i].Reason.Useless {
				explained++
				assert.Regexp(t, `after \d+ min on average.*after \d+ min on average`, why)
			}
		}
		assert.Equal(t, whys, strings.Count(screen, "Why not yours:"))
	}
	assert.Greater(t, explained, 2)
}

// The tool's own guess at the end of its list is called one.
func TestAGuessOfTheToolIsCalledOne(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	w, err := practice.Draw(book, practice.Setup{Seed: 1, Level: practice.CommonFault})
	require.NoError(t, err)
	x := NewExercise(book, w)
	hidden := w.Hidden[0]
	name := practice.Action{Do: practice.Name, ID: hidden.ID, Place: hidden.Place}
	said := x.beside(&practice.Judged{Choice: practice.Choice{Action: name}, Next: name, Goal: name, Same: true, Guess: true})
	assert.Contains(t, said, "no check left")
	assert.Contains(t, said, "which proves nothing: "+x.titledOrTitle(name))
}

// Words that narrow a list begin anew each time: what is kept of them does not grow, and
// back leads to the whole list.
func TestAListIsNarrowedAnew(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	w, err := practice.Draw(book, practice.Setup{Seed: 1, Level: practice.CommonFault})
	require.NoError(t, err)
	x := NewExercise(book, w)
	answer := func(a prompt.Answer) prompt.Prompt {
		t.Helper()
		p, err := x.Prompt()
		require.NoError(t, err)
		a.Prompt = p.ID
		require.NoError(t, x.Answer(a))
		p, err = x.Prompt()
		require.NoError(t, err)
		return p
	}
	whole := answer(prompt.Answer{Chosen: []string{"check"}})
	for range 50 {
		assert.Equal(t, "Which check? valve", answer(prompt.Answer{Text: "valve"}).ID)
		narrowed := answer(prompt.Answer{Text: "rod"})
		assert.Equal(t, "Which check? rod", narrowed.ID)
		assert.Less(t, len(narrowed.Options), len(whole.Options))
	}
	assert.Len(t, x.said, 2)
	assert.Equal(t, whole.ID, answer(prompt.Answer{Chosen: []string{prompt.Back}}).ID)
}
