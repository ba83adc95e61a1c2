package talk

import (
	"bytes"
	"strings"
	"testing"
	"unicode"

	"github.com/mattn/go-runewidth"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// three are two numbered answers and a keyed one.
func three() []Option { return []Option{{Text: "yes"}, {Text: "no"}, {Key: "q", Text: "leave"}} }

// cylinders are typed by their own numbers, of which some are left out.
func cylinders() []Option {
	return []Option{
		{Label: "2", Text: "cylinder 2"}, {Label: "4", Text: "cylinder 4"}, {Label: "5", Text: "cylinder 5"}, {Label: "7", Text: "cylinder 7"},
		{Key: "n", Text: "none"}, {Key: "a", Text: "all"},
	}
}

func heard(input string, columns, lines int) (*Terminal, *bytes.Buffer) {
	var out bytes.Buffer
	return New(strings.NewReader(input), &out, columns, lines), &out
}

func TestChoose(t *testing.T) {
	for name, c := range map[string]struct {
		input   string
		options []Option
		want    int
		says    string // in what is shown, besides
	}{
		"by number":           {"2\n", three(), 1, ""},
		"by key":              {"q\n", three(), 2, ""},
		"capitals":            {"Q\n", three(), 2, ""},
		"word for word":       {"Yes\n", three(), 0, ""},
		"blanks around":       {"  2 \t\n", three(), 1, ""},
		"a line of Windows":   {"2\r\n", three(), 1, ""},
		"no end of line":      {"2", three(), 1, ""},
		"nothing, then right": {"\n1\n", three(), 0, "Type 1, 2 or q."},
		"wrong, then right":   {"3\n1\n", three(), 0, `"3" is no answer here. Type 1, 2 or q.`},
		"zero":                {"0\n1\n", three(), 0, `"0" is no answer here`},
		"below zero":          {"-1\n1\n", three(), 0, `"-1" is no answer here`},
		"two at once":         {"1 2\n1\n", three(), 0, `"1 2" is no answer here`},
		"its own number":      {"4\n", cylinders(), 1, ""},
		"not its place":       {"1\n2\n", cylinders(), 0, `"1" is no answer here. Type 2, 4, 5, 7 or n, a.`},
		"control letters":     {"\x1b[A\x002\x07\n2\n", three(), 1, `"[A2" is no answer here`},
		"broken letters":      {"\xff\xfe1\n", three(), 0, ""},
		"very long":           {strings.Repeat("x", 1_000_000) + "\n2\n", three(), 1, `"` + strings.Repeat("x", longestEcho) + `..." is no answer`},
		"wide":                {strings.Repeat("泥", 100) + "\n2\n", three(), 1, `"` + strings.Repeat("泥", longestEcho) + `..."`},
	} {
		term, out := heard(c.input, 160, 0)
		i, err := term.Choose("Does it leak?", c.options)
		require.NoError(t, err, name)
		assert.Equal(t, c.want, i, name)
		assert.Contains(t, out.String(), c.says, name)
	}
}

func TestSeveral(t *testing.T) {
	for name, c := range map[string]struct {
		input string
		want  []int
	}{
		"one":                       {"4\n", []int{1}},
		"two":                       {"2 7\n", []int{0, 3}},
		"in the order of the pump":  {"7, 2\n", []int{0, 3}},
		"a tab between":             {"2\t7\n", []int{0, 3}},
		"said twice":                {"5 5 5\n", []int{2}},
		"by words":                  {"cylinder 5\n", []int{2}},
		"a key alone":               {"n\n", []int{4}},
		"a key among numbers":       {"2 n\na\n", []int{5}},
		"one wrong makes all wrong": {"2 3\n2\n", []int{0}},
		"only commas":               {", ,\n2\n", []int{0}},
	} {
		term, _ := heard(c.input, 80, 0)
		chosen, err := term.Several("Where?", cylinders())
		require.NoError(t, err, name)
		assert.Equal(t, c.want, chosen, name)
	}
}

// A word narrows a list: it is given back as it was typed, even if it is the
// text of an answer.
func TestWordsAreAnswersToo(t *testing.T) {
	for input, want := range map[string]struct {
		answer string
		i      int
	}{"leak\n": {"leak", -1}, "yes\n": {"yes", -1}, "1\n": {"1", 0}, "\n\n2\n": {"2", 1}, "9\n": {"9", -1}, "泥\n": {"泥", -1}} {
		term, _ := heard(input, 80, 0)
		answer, i, err := term.ChooseOrWord("What?", three())
		require.NoError(t, err)
		assert.Equal(t, want.answer, answer)
		assert.Equal(t, want.i, i, input)
	}
}

func TestNumbersSkipWhatHasAKeyOrALabel(t *testing.T) {
	options := []Option{{Text: "a"}, {Key: "w", Text: "why"}, {Text: "b"}, {Label: "left", Text: "left"}, {Text: "c"}}
	assert.Equal(t, []string{"1", "w", "2", "left", "3"}, labels(options))
	assert.Equal(t, "1, 2, left, 3 or w", wanted(options))
	assert.Equal(t, "1 to 4", wanted(make([]Option, 4)))
	assert.Equal(t, "q", wanted([]Option{{Key: "q"}}))
}

// At the end of the input every question ends; a last line without an end
// counts.
func TestTheInputEnds(t *testing.T) {
	term, _ := heard("", 80, 0)
	_, err := term.Choose("", three())
	assert.ErrorIs(t, err, ErrEnd)
	_, err = term.Several("", three())
	assert.ErrorIs(t, err, ErrEnd)
	_, _, err = term.ChooseOrWord("", three())
	assert.ErrorIs(t, err, ErrEnd)
	_, err = term.Ask("name?")
	assert.ErrorIs(t, err, ErrEnd)

	term, _ = heard("JK", 80, 0)
	name, err := term.Ask("")
	require.NoError(t, err)
	assert.Equal(t, "JK", name)
}

// What is longer than the screen stops for Enter, and no screen is longer than
// the terminal.
func TestLongTextPauses(t *testing.T) {
	const lines = 10
	term, out := heard(strings.Repeat("\n", 20), 60, lines)
	for range 50 {
		require.NoError(t, term.Say(0, "word"))
	}
	screens := strings.Split(out.String(), "-- Enter for more --")
	assert.Greater(t, len(screens), 5)
	for _, screen := range screens {
		assert.Less(t, strings.Count(screen, "\n"), lines)
	}
	assert.Equal(t, 50, strings.Count(out.String(), "word"), "nothing is lost")

	term, out = heard("", 60, 0)
	for range 500 {
		require.NoError(t, term.Say(0, "word"))
	}
	assert.NotContains(t, out.String(), "Enter", "no terminal, no pause")
}

// A question stands on one screen with its answers, and what is typed at a
// pause is the answer to nothing.
func TestAnswersAreKeptTogether(t *testing.T) {
	term, out := heard("1\n2\n", 60, 10)
	for range 6 {
		require.NoError(t, term.Say(0, "word"))
	}
	i, err := term.Choose("Does it leak?", three())
	require.NoError(t, err)
	assert.Equal(t, 1, i)
	screens := strings.Split(out.String(), "-- Enter for more --")
	require.Len(t, screens, 2)
	assert.Contains(t, screens[1], "Does it leak?\n  1  yes\n  2  no\n  q  leave\n")
	assert.Contains(t, screens[1], `"1" is not taken as an answer`)
}

// A terminal of a line or two still shows everything.
func TestTinyTerminals(t *testing.T) {
	for _, lines := range []int{1, 2, 3, 4} {
		term, out := heard(strings.Repeat("\n", 40)+"2\n", 60, lines)
		i, err := term.Choose("Does it leak?", three())
		require.NoError(t, err)
		assert.Equal(t, 1, i)
		assert.Contains(t, out.String(), "leave")
	}
}

func TestNoLineIsWiderThanTheTerminal(t *testing.T) {
	long := strings.Repeat("Packing ", 40) + strings.Repeat("x", 200) + " " + strings.Repeat("泥浆", 60)
	term, out := heard("1\n", 60, 0)
	require.NoError(t, term.Say(4, long))
	require.NoError(t, term.Head(long))
	_, err := term.Choose(long, []Option{{Text: long}, {Key: "q", Text: long}})
	require.NoError(t, err)
	for _, line := range strings.Split(out.String(), "\n") {
		assert.LessOrEqual(t, runewidth.StringWidth(line), 60, line)
	}
}

// Whatever is typed, an answer is one of those that were offered and its text
// is plain.
func FuzzOneLine(f *testing.F) {
	for _, seed := range []string{"", "1", "2 4", "n", "-1", "99999999999999999999", "1,2", "\x1b[2J", "\xff", "泥", "٢", "%s%d", "q\x00", strings.Repeat("9", 5000)} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, line string) {
		in := line + "\n"
		for _, options := range [][]Option{three(), cylinders(), {{Key: "q"}}, nil} {
			term, _ := heard(in, 60, 24)
			if i, err := term.Choose("?", options); err == nil && (i < 0 || i >= len(options)) {
				t.Fatalf("%d of %d", i, len(options))
			}
			term, _ = heard(in, 60, 24)
			chosen, err := term.Several("?", options)
			if err == nil && len(chosen) == 0 {
				t.Fatal("nothing chosen")
			}
			for k, i := range chosen {
				if i < 0 || i >= len(options) || k > 0 && i <= chosen[k-1] || len(chosen) > 1 && options[i].Key != "" {
					t.Fatalf("%v of %d", chosen, len(options))
				}
			}
			term, _ = heard(in, 60, 24)
			answer, i, err := term.ChooseOrWord("?", options)
			if err == nil && (i < -1 || i >= len(options)) {
				t.Fatalf("%d of %d", i, len(options))
			}
			for _, r := range answer {
				if unicode.In(r, unicode.Cc, unicode.Cf) {
					t.Fatalf("%q has a control letter", answer)
				}
			}
		}
	})
}
