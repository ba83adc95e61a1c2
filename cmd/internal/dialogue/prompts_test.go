package dialogue

import (
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
	"telltale/engine/chances"
	"telltale/engine/interview"
	"telltale/engine/prove"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// The prompts of a talk by the first word of their id: whether they ask what was seen or
// whether something is so. There "don't know" is an answer, with the same key on every
// screen.
var asksWhatWasSeen = map[string]bool{
	"tell": true, "signs": true, "sign": true, "kind": true, "others": true, "seen": true, "urgent": true, "opposite": true, "put": true, "where": true,
	"lately": true, "works": true, "step check": true, "proved": true, "which": true, "taken": true, "held": true, "look-again": true,
	"gauges": true, "helped": true,

	"pump": false, "name": false, "state": false, "still": false, "closed": false, // the pump: somebody has to look
	"agree": false, "root": false, "straight": false, "repair": false, "unlooked": false, "shut": false, "open": false, "nothing": false, "done": false, // what to do
	"stop": false, "waiting": false, "holds": false, "step safety": false, "step opening": false, "step return": false, "step closing": false, // done, or not done
	"who": false, "thing": false, "tag": false, "off": false, // names
}

// promptKind is the first word of the id of a prompt, of a step the first two.
func promptKind(p *prompt.Prompt) string {
	fields := strings.Fields(p.ID)
	if fields[0] == "step" {
		return fields[0] + " " + fields[1]
	}
	if p.ID == "kind" { // of a pump
		return "pump"
	}
	return fields[0]
}

// plays tells stories, one after the other, and answers what is asked by the option of
// a number; sees gets every prompt with the case that it rests on.
func plays(t *testing.T, pick int, sees func(story *prove.Story, p *prompt.Prompt, k *evidence.Case, s *State)) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	suite, err := prove.Load(book, prove.Dir{Files: rules.BuiltInFiles(), Name: "rules/book"})
	require.NoError(t, err)
	talk := &Talk{Book: book.WithoutFirmness(), File: "case.yaml", Now: noon}
	every, answers := 25, 12
	if os.Getenv("TELLTALE_TALKS") != "" {
		every, answers = 1, 20
	}
	for i, story := range suite.Stories {
		if story.Set != prove.Tuned || (i+pick)%every > 0 {
			continue
		}
		text, state := []byte("pump: {action: "+string(story.Layout.Action)+", state: running}\n"), NewState()
		for range answers {
			p, err := talk.Next(text, state)
			require.NoError(t, err, story.ID)
			if p.Over() {
				break
			}
			k, err := record.Read("case.yaml", text, book.Vocabulary())
			require.NoError(t, err, story.ID)
			sees(story, &p, k, &state)
			a := prompt.Answer{Prompt: p.ID, Rests: p.Rests}
			what := promptKind(&p)
			answerable := slices.DeleteFunc(slices.Clone(p.Options), func(o prompt.Option) bool { return o.Shows != nil })
			switch {
			case what == "tell":
				a.Text = story.Told
			case offers(&p, "yes"):
				a.Chosen = []string{"yes"}
			case len(answerable) == 0:
				a.Text = "2800 2400 95"
			default:
				a.Chosen = []string{answerable[pick%len(answerable)].ID}
			}
			text, state, err = talk.Answer(text, state, a)
			require.NoError(t, err, "%s: %s %v", story.ID, p.ID, a)
		}
	}
}

// Whatever is asked of what was seen, nobody has to know it: "don't know" is taken. Each
// kind of prompt that a talk reaches stands in the table. And while a pump runs that must
// stop, by a stop condition or because it cannot wait, the next that is said is the stop
// and the act: nothing is asked, not even of a check that was told as made.
func TestPromptsOfATalk(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	book = book.WithoutFirmness()
	reached, stops := map[string]bool{}, 0
	for pick := range 3 {
		plays(t, pick, func(story *prove.Story, p *prompt.Prompt, k *evidence.Case, s *State) {
			what := promptKind(p)
			reached[what] = true
			asks, known := asksWhatWasSeen[what]
			require.True(t, known, "%s: no word of %q in the table", story.ID, p.ID)
			assert.False(t, asks && !offers(p, dontKnow.ID), "%s: %s: %s", story.ID, p.ID, p.Ask)
			assert.NotEmpty(t, p.Leave, p.ID)
			assert.NotEmpty(t, p.Back, p.ID)
			if len(k.Findings) == 0 || len(s.Said) > 0 || !runsAndMustStop(t, book, k) {
				return
			}
			stops++
			assert.Contains(t, []string{"stop", "waiting", "taken", "step safety"}, what, "%s: %s", story.ID, p.ID)
		})
	}
	for _, what := range []string{"tell", "lately", "step check", "step safety", "stop", "agree"} {
		assert.True(t, reached[what], "no talk reaches %q", what)
	}
	assert.Positive(t, stops)
}

// runsAndMustStop says whether a pump runs that must stop or be left.
func runsAndMustStop(t *testing.T, book *rules.Book, k *evidence.Case) bool {
	if k.Pump.State != evidence.Running {
		return false
	}
	m, err := interview.Next(book, k, interview.NewSitting())
	require.NoError(t, err)
	r := m.Report
	return r.LeavePump || r.Haste != nil && r.Haste.Verdict == string(rules.StopNow) ||
		slices.ContainsFunc(r.Stop, func(s chances.Stop) bool { return book.Stops.Get(s.ID).StopPump })
}
