package prompt

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

func where() Prompt {
	return Prompt{ID: "where", Rests: "9f86d081884c7d65", Ask: "Where?", Back: "back", Options: []Option{
		{ID: "1", Title: "cylinder 1", Together: true, About: &About{Kind: "place", Cylinder: "1"}}, {ID: "2", Title: "cylinder 2", Together: true},
		{ID: "none", Title: "none of them", Aside: true}, {ID: "why", Title: "why do you ask?", Aside: true, Shows: Lines(Below, "It tells.")},
	}}
}

func TestWhatIsNoAnswerIsSaid(t *testing.T) {
	p := where()
	shim := Prompt{ID: "shim", Entry: &Entry{Of: evidence.Length, Unit: "thou"}}
	name := Prompt{ID: "name", Entry: &Entry{Blank: "leaves it out"}}
	listed := Prompt{ID: "thing", Options: []Option{{ID: "gate", Title: "gate"}}, Entry: &Entry{}}
	for _, c := range []struct {
		name   string
		prompt Prompt
		answer Answer
		code   Code
		at     int
	}{
		{"one", p, Answer{Chosen: []string{"1"}}, "", 0},
		{"together", p, Answer{Chosen: []string{"2", "1"}}, "", 0},
		{"alone", p, Answer{Chosen: []string{"none"}}, "", 0},
		{"back", p, Answer{Chosen: []string{"back"}}, "", 0},
		{"back among others", p, Answer{Chosen: []string{"1", "back"}}, NoOption, 0},
		{"no way back", name, Answer{Chosen: []string{"back"}}, NoOption, 0},
		{"not offered", p, Answer{Chosen: []string{"3"}}, NoOption, 0},
		{"only shows", p, Answer{Chosen: []string{"why"}}, NoOption, 0},
		{"not together", p, Answer{Chosen: []string{"1", "none"}}, NotTogether, 0},
		{"nothing", p, Answer{}, Nothing, 0},
		{"words", p, Answer{Text: "there"}, NoText, 1},
		{"another prompt", p, Answer{Prompt: "kind", Chosen: []string{"1"}}, Other, 0},
		{"a name", name, Answer{Text: "JK"}, "", 0},
		{"no name", name, Answer{}, "", 0},
		{"an option of a list and words", listed, Answer{Chosen: []string{"gate"}, Text: "there"}, NotTogether, 1},
		{"an option of a list", listed, Answer{Chosen: []string{"gate"}}, "", 0},
		{"too long", name, Answer{Text: strings.Repeat("x", MostText+1)}, TooLong, MostText},
		{"a number", shim, Answer{Text: "3"}, "", 0},
		{"no number", shim, Answer{}, Nothing, 0},
		{"thick", shim, Answer{Text: "thick"}, NoQuantity, 1},
		{"another unit", shim, Answer{Text: "-0.1 mm"}, "", 0},
		{"no such unit", shim, Answer{Text: "− 3 thumbs"}, NoQuantity, 5},
		{"a pressure", shim, Answer{Text: "3 psi"}, NoQuantity, 3},
		{"two signs", shim, Answer{Text: "--3"}, NoQuantity, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.answer.Prompt == "" {
				c.answer.Prompt = c.prompt.ID
			}
			problem := c.prompt.Check(c.answer)
			if c.code == "" {
				require.Nil(t, problem)
				return
			}
			require.NotNil(t, problem)
			assert.Equal(t, c.code, problem.Code)
			assert.Equal(t, c.at, problem.At)
			assert.NotEmpty(t, problem.Error())
		})
	}
}

// A quantity is read in the unit of its entry: 1 in is 25.4 mm exactly (NIST
// Special Publication 811, B.8).
func TestQuantities(t *testing.T) {
	e := Entry{Of: evidence.Length, Unit: "thou"}
	for text, want := range map[string]float64{"3": 3, "-4.5": -4.5, "−4,5": -4.5, "+2 thou": 2, " 7 ": 7, "0.254 mm": 10, "-1 in": -1000, ".5": 0.5} {
		t.Run(text, func(t *testing.T) {
			got, problem := e.Read(text)
			require.Nil(t, problem, text)
			assert.InDelta(t, want, got, 1e-9, text)
		})
	}
}

// A prompt and an answer are the same after they were written and read.
func TestAsJSON(t *testing.T) {
	p := where()
	text, err := json.Marshal(p)
	require.NoError(t, err)
	var back Prompt
	require.NoError(t, json.Unmarshal(text, &back))
	assert.Equal(t, p, back)
	text, err = json.Marshal(Answer{Prompt: "where", Rests: "9f86d081884c7d65", Chosen: []string{"1", "2"}})
	require.NoError(t, err)
	assert.JSONEq(t, `{"prompt": "where", "rests": "9f86d081884c7d65", "chosen": ["1", "2"]}`, string(text))
}

// A turn follows what was answered, and stops before what its prompt does not take.
func TestATurnFollowsAnswers(t *testing.T) {
	var countdown func(n int) Turn[string]
	countdown = func(n int) Turn[string] {
		if n == 0 {
			return End("gone")
		}
		p := Prompt{ID: strings.Repeat("I", n), Options: []Option{{ID: "on", Title: "on"}}}
		return Turn[string]{Prompt: p, Take: func(Answer) Turn[string] { return countdown(n - 1) }}
	}
	on := func(prompt string) Answer { return Answer{Prompt: prompt, Chosen: []string{"on"}} }
	assert.Equal(t, "II", countdown(3).After([]Answer{on("III")}).ID)
	assert.Equal(t, "II", countdown(3).After([]Answer{on("III"), on("IV")}).ID)
	last := countdown(2).After([]Answer{on("II"), on("I"), on("more")})
	assert.Nil(t, last.Take)
	assert.Equal(t, "gone", last.End)
}

func TestWordsAreFound(t *testing.T) {
	for words, want := range map[string]bool{
		"": true, "leak": true, "LEAKING wiper": true, "wipers": true, "pin": true, "ion": false, "pinion": true, "wiper zebra": false,
	} {
		t.Run(words, func(t *testing.T) {
			assert.Equal(t, want, Holds("Wiper leaks at the pinion", words), words)
		})
	}
	assert.Equal(t, "knock", stem("knocking"))
	assert.Equal(t, "ring", stem("ring"), "too short to be cut")
}

// What a page sends is no cleaner than what is typed.
func TestAnAnswerIsCleanedBeforeItIsTaken(t *testing.T) {
	a := Answer{Prompt: "where", Chosen: []string{"2", "1", "2"}, Text: " J\x1b[2JK\u202e\n"}
	assert.Equal(t, Answer{Prompt: "where", Chosen: []string{"2", "1"}, Text: "J[2JK"}, a.Clean())
	assert.Equal(t, []string{"2", "1", "2"}, a.Chosen, "left as it was")
	assert.Equal(t, Answer{}, Answer{}.Clean())
}
