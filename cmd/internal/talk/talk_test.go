package talk

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"unicode"

	"github.com/mattn/go-runewidth"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
	"telltale/evidence"
)

// three are two numbered answers, and leaving.
func three() prompt.Prompt {
	return prompt.Prompt{ID: "leak", Ask: "Does it leak?", Leave: "leave", Options: []prompt.Option{{ID: "yes", Title: "yes"}, {ID: "no", Title: "no"}}}
}

// cylinders are typed by their own numbers, of which some are left out.
func cylinders() prompt.Prompt {
	p := prompt.Prompt{ID: "where", Ask: "Where?"}
	for _, n := range []string{"2", "4", "5", "7"} {
		p.Options = append(p.Options, prompt.Option{ID: "at " + n, Title: "cylinder " + n, Together: true, About: &prompt.About{Kind: "place", Cylinder: n}})
	}
	p.Options = append(p.Options, prompt.Option{ID: "none", Title: "none", Aside: true}, prompt.Option{ID: "all", Title: "all", Aside: true})
	return p
}

// words is a list that words narrow.
func words() prompt.Prompt {
	p := three()
	p.Entry = &prompt.Entry{Hint: "a word such as leak"}
	return p
}

func TestNothingThatATerminalObeysIsWritten(t *testing.T) {
	p := three()
	p.Ask, p.Options[0].Title = "Does \u202eA leak?", "yes, at \u009b2J\u2066B"
	term, out := heard("1\n", 80, 0)
	term.Say(0, "Pump \x1b[2J\u061c1")
	term.put(&p)
	assert.Contains(t, out.String(), "Pump ?[2J?1\n")
	assert.False(t, strings.ContainsFunc(out.String(), func(r rune) bool { return r != '\n' && !unicode.IsGraphic(r) }), "%q", out)
}

func heard(input string, columns, lines int) (*Terminal, *bytes.Buffer) {
	var out bytes.Buffer
	return New(strings.NewReader(input), &out, columns, lines), &out
}

func TestOneIsChosen(t *testing.T) {
	for name, c := range map[string]struct {
		input  string
		prompt prompt.Prompt
		want   string
		says   string // in what is shown, besides
	}{
		"by number":           {"2\n", three(), "no", ""},
		"word for word":       {"Yes\n", three(), "yes", ""},
		"blanks around":       {"  2 \t\n", three(), "no", ""},
		"a line of Windows":   {"2\r\n", three(), "no", ""},
		"no end of line":      {"2", three(), "no", ""},
		"nothing, then right": {"\n1\n", three(), "yes", "Type 1, 2 or q."},
		"wrong, then right":   {"3\n1\n", three(), "yes", `"3" is no answer here. Type 1, 2 or q.`},
		"zero":                {"0\n1\n", three(), "yes", `"0" is no answer here`},
		"below zero":          {"-1\n1\n", three(), "yes", `"-1" is no answer here`},
		"two at once":         {"1 2\n1\n", three(), "yes", `"1 2" is no answer here`},
		"its own number":      {"4\n", cylinders(), "at 4", ""},
		"by the next number":  {"8\n", cylinders(), "all", ""},
		"by its first word":   {"ALL\n", cylinders(), "all", ""},
		"not its place":       {"1\n2\n", cylinders(), "at 2", `"1" is no answer here. Type 2, 4, 5, 7, 8 or n; several`},
		"control letters":     {"\x1b[A\x002\x07\n2\n", three(), "no", `"[A2" is no answer here`},
		"broken letters":      {"\xff\xfe1\n", three(), "yes", ""},
		"very long":           {strings.Repeat("x", 1_000_000) + "\n2\n", three(), "no", `"` + strings.Repeat("x", 30) + `..." is no answer`},
		"wide":                {strings.Repeat("泥", 100) + "\n2\n", three(), "no", `"` + strings.Repeat("泥", 30) + `..."`},
	} {
		t.Run(name, func(t *testing.T) {
			term, out := heard(c.input, 160, 0)
			a, err := term.put(&c.prompt), term.Err()
			require.NoError(t, err, name)
			assert.Equal(t, prompt.Answer{Prompt: c.prompt.ID, Chosen: []string{c.want}}, a, name)
			assert.Contains(t, out.String(), c.says, name)
		})
	}
	term, _ := heard("Q\n", 80, 0)
	p := three()
	_, err := term.put(&p), term.Err()
	assert.ErrorIs(t, err, ErrLeft, "capitals too")
}

func TestSeveral(t *testing.T) {
	for name, c := range map[string]struct {
		input string
		want  []string
	}{
		"one":                       {"4\n", []string{"at 4"}},
		"two":                       {"2 7\n", []string{"at 2", "at 7"}},
		"in the order of the pump":  {"7, 2\n", []string{"at 2", "at 7"}},
		"a tab between":             {"2\t7\n", []string{"at 2", "at 7"}},
		"said twice":                {"5 5 5\n", []string{"at 5"}},
		"by words":                  {"cylinder 5\n", []string{"at 5"}},
		"a key alone":               {"n\n", []string{"none"}},
		"a key among numbers":       {"2 n\n8\n", []string{"all"}},
		"one wrong makes all wrong": {"2 3\n2\n", []string{"at 2"}},
		"only commas":               {", ,\n2\n", []string{"at 2"}},
	} {
		t.Run(name, func(t *testing.T) {
			term, _ := heard(c.input, 80, 0)
			p := cylinders()
			a, err := term.put(&p), term.Err()
			require.NoError(t, err, name)
			assert.Equal(t, c.want, a.Chosen, name)
		})
	}
}

// A word narrows a list: it is given back as it was typed, even if it is the
// text of an answer. A number that is not there is none.
func TestWordsAreAnswersToo(t *testing.T) {
	for input, want := range map[string]prompt.Answer{
		"leak\n": {Text: "leak"}, "yes\n": {Text: "yes"}, "1\n": {Chosen: []string{"yes"}}, "\n\n2\n": {Chosen: []string{"no"}}, "9\n泥\n": {Text: "泥"},
	} {
		t.Run(input, func(t *testing.T) {
			term, out := heard(input, 80, 0)
			p := words()
			a, err := term.put(&p), term.Err()
			require.NoError(t, err)
			want.Prompt = p.ID
			assert.Equal(t, want, a, input)
			assert.Equal(t, strings.HasPrefix(input, "9"), strings.Contains(out.String(), "There is no number 9 here."))
			assert.Contains(t, out.String(), "Does it leak? Type a number, or a word such as leak.")
		})
	}
}

// Words alone: an empty line where that is an answer, and a quantity that is read
// at once.
func TestWordsAlone(t *testing.T) {
	for name, c := range map[string]struct {
		input, want string
		entry       prompt.Entry
		says        string
	}{
		"a name":         {"q\n", "q", prompt.Entry{Blank: "leaves it out"}, "Its name? Enter leaves it out."},
		"no name":        {"\n", "", prompt.Entry{Blank: "leaves it out"}, ""},
		"there must be":  {"\nJK\n", "JK", prompt.Entry{}, "> Type an answer."},
		"a thickness":    {"-4,5\n", "-4,5", prompt.Entry{Of: evidence.Length, Unit: "thou"}, ""},
		"no thickness":   {"thick\n3 thou\n", "3 thou", prompt.Entry{Of: evidence.Length, Unit: "thou"}, `"thick" is no number of thou.`},
		"not its unit":   {"3 psi\n0.1 mm\n", "0.1 mm", prompt.Entry{Of: evidence.Length, Unit: "thou"}, `"psi" is no unit here; expected cm, ft, in, m, mm, thou, µm.`},
		"no thickness 2": {"\n", "", prompt.Entry{Blank: "for none", Of: evidence.Length, Unit: "thou"}, "Enter for none."},
	} {
		t.Run(name, func(t *testing.T) {
			term, out := heard(c.input, 120, 0)
			p := prompt.Prompt{ID: "name", Ask: "Its name?", Entry: &c.entry}
			a, err := term.put(&p), term.Err()
			require.NoError(t, err, name)
			assert.Equal(t, prompt.Answer{Prompt: "name", Text: c.want}, a, name)
			assert.Contains(t, out.String(), c.says, name)
		})
	}
}

// typed is what is typed for each line of a menu.
func typed(p prompt.Prompt) []string {
	var out []string
	term, _ := heard("", 80, 0)
	for _, e := range term.menuOf(&p, 0) {
		out = append(out, e.typed)
	}
	return out
}

func TestTheSameKeysOnEveryScreen(t *testing.T) {
	p := prompt.Prompt{Back: "back", Leave: "leave", Options: []prompt.Option{
		{ID: "a"}, {ID: "why", Aside: true, Shows: []prompt.Line{}}, {ID: "b"}, {ID: "unknown", Aside: true}, {ID: "doubt x", Aside: true}, {ID: "doubt y", Aside: true}, {ID: "not-now", Aside: true},
	}}
	assert.Equal(t, []string{"1", "2", "d", "3", "4", "n", "b", "q", "?"}, typed(p))
	term, _ := heard("", 80, 0)
	assert.Equal(t, "Type 1 to 4 or d, n, b, q.", refusal("", term.menuOf(&p, 0)))
	four := prompt.Prompt{Options: make([]prompt.Option, 4)}
	assert.Equal(t, "Type 1 to 4.", refusal("", term.menuOf(&four, 0)))
	assert.Equal(t, "Type q.", refusal("", term.menuOf(&prompt.Prompt{Leave: "leave"}, 0)))
}

// An answer is typed by what it begins with too, and a whole yes or no is that of the
// screen; only "n" puts off.
func TestABeginningIsAnAnswer(t *testing.T) {
	step := prompt.Prompt{Options: []prompt.Option{{ID: "done", Title: "done, and it holds"}, {ID: "not-done", Title: "not done, or cannot be", Aside: true}}}
	check := prompt.Prompt{Options: []prompt.Option{{ID: "a", Title: "wash"}, {ID: "not-now", Title: "not now", Aside: true}}}
	twice := prompt.Prompt{Options: []prompt.Option{{ID: "a", Title: "again, soon"}, {ID: "b", Title: "again, later"}}}
	for _, c := range []struct {
		p           prompt.Prompt
		typed, want string
	}{
		{step, "done", "done"}, {step, "Not done", "not-done"}, {step, "no", "not-done"}, {step, "n", "not-done"}, {step, "don", ""},
		{check, "n", "not-now"}, {check, "no", ""}, {twice, "again", ""},
	} {
		term, _ := heard("", 80, 0)
		got := ""
		if found := match(c.typed, term.menuOf(&c.p, 0), true); len(found) == 1 {
			got = found[0].id
		}
		assert.Equal(t, c.want, got, c.typed)
	}
}

// A long list that words narrow stands on the screen a page at a time, nine lines
// at most with what has a letter; every entry can be come to.
func TestALongListIsShownByPages(t *testing.T) {
	p := prompt.Prompt{ID: "sign", Ask: "Which?", Back: "back", Entry: &prompt.Entry{Hint: "a word"}}
	for n := range 17 {
		p.Options = append(p.Options, prompt.Option{ID: fmt.Sprint(n), Title: fmt.Sprintf("sign %d", n)})
	}
	assert.LessOrEqual(t, len(typed(p)), 10)
	for input, want := range map[string]string{"7\n": "6", "8\n1\n": "7", "more\n8\n3\n": "16", "8\n8\n4\n2\n": "1"} {
		t.Run(input, func(t *testing.T) {
			term, out := heard(input, 80, 0)
			a, err := term.put(&p), term.Err()
			require.NoError(t, err)
			assert.Equal(t, want, a.One(), input)
			assert.Contains(t, out.String(), "  8  more (10)   b  back   ?  help\n")
			assert.Equal(t, strings.Count(input, "\n") > 2, strings.Contains(out.String(), "from the first again"))
		})
	}
	p.Entry, p.Options = nil, p.Options[:12]
	assert.Len(t, typed(p), 14, "what cannot be narrowed stands whole")
}

// What only shows something is no answer: it is shown, and the prompt again.
func TestWhatIsLookedUp(t *testing.T) {
	p := three()
	p.News, p.Body = prompt.Lines(prompt.Text, "Said once."), prompt.Lines(prompt.Block, "Look at the wiper.")
	p.Options = append(p.Options, prompt.Option{ID: "why", Title: "why?", Aside: true, Shows: prompt.Lines(prompt.Below, "Because.")})
	term, out := heard("?\n1\n", 80, 0)
	c := &once{p: p}
	require.NoError(t, term.Hold(c))
	assert.Equal(t, "yes", c.a.One())
	menu := "\nLook at the wiper.\nDoes it leak?\n  1  yes\n  2  no\n  q  leave   ?  why?\n> "
	assert.Equal(t, "Said once.\n"+menu+"  Because.\n  Type 1, 2 or q.\n"+menu+"That was it.\n", out.String())
}

// once is a conversation of one prompt.
type once struct {
	p prompt.Prompt
	a *prompt.Answer
}

func (o *once) Prompt() (prompt.Prompt, error) {
	if o.a != nil {
		return prompt.Prompt{News: prompt.Lines(prompt.Text, "That was it.")}, nil
	}
	return o.p, nil
}

func (o *once) Answer(a prompt.Answer) error { o.a = &a; return nil }

// At the end of the input every question ends, and what comes next stands on a
// line of its own; a last line without an end counts.
func TestTheInputEnds(t *testing.T) {
	for _, p := range []prompt.Prompt{three(), cylinders(), words(), {ID: "name", Entry: &prompt.Entry{}}} {
		term, out := heard("", 80, 0)
		assert.ErrorIs(t, term.Hold(&once{p: p}), ErrEnd)
		assert.True(t, strings.HasSuffix(out.String(), "> \n"))
	}
	term, _ := heard("JK", 80, 0)
	a, err := term.put(&prompt.Prompt{ID: "name", Entry: &prompt.Entry{}}), term.Err()
	require.NoError(t, err)
	assert.Equal(t, "JK", a.Text)
}

// What is longer than the screen stops for Enter, and no screen is longer than
// the terminal.
func TestLongTextPauses(t *testing.T) {
	const lines = 10
	term, out := heard(strings.Repeat("\n", 20), 60, lines)
	for range 50 {
		term.Say(0, "word")
	}
	screens := strings.Split(out.String(), "-- Enter for more --")
	assert.Greater(t, len(screens), 5)
	for _, screen := range screens {
		assert.Less(t, strings.Count(screen, "\n"), lines)
	}
	assert.Equal(t, 50, strings.Count(out.String(), "word"), "nothing is lost")

	term, out = heard("", 60, 0)
	for range 500 {
		term.Say(0, "word")
	}
	assert.NotContains(t, out.String(), "Enter", "no terminal, no pause")
}

// A question stands on one screen with its answers, and what is typed at a
// pause is the answer to nothing.
func TestAnswersAreKeptTogether(t *testing.T) {
	term, out := heard("1\n2\n", 60, 10)
	for range 6 {
		term.Say(0, "word")
	}
	p := three()
	a, err := term.put(&p), term.Err()
	require.NoError(t, err)
	assert.Equal(t, "no", a.One())
	screens := strings.Split(out.String(), "-- Enter for more --")
	require.Len(t, screens, 2)
	assert.Contains(t, screens[1], "Does it leak?\n  1  yes\n  2  no\n  q  leave   ?  help\n")
	assert.Contains(t, screens[1], `"1" is not taken as an answer`)
}

// A terminal of a line or two still shows everything.
func TestTinyTerminals(t *testing.T) {
	for _, lines := range []int{1, 2, 3, 4} {
		term, out := heard(strings.Repeat("\n", 40)+"2\n", 60, lines)
		p := three()
		a, err := term.put(&p), term.Err()
		require.NoError(t, err)
		assert.Equal(t, "no", a.One())
		assert.Contains(t, out.String(), "leave")
	}
}

func TestNoLineIsWiderThanTheTerminal(t *testing.T) {
	long := strings.Repeat("Packing ", 40) + strings.Repeat("x", 200) + " " + strings.Repeat("泥浆", 60)
	term, out := heard("1\n", 60, 0)
	term.Say(4, long)
	for _, kind := range []prompt.LineKind{prompt.Head, prompt.Text, prompt.Block, prompt.Below, prompt.Item, prompt.Under, prompt.Done, prompt.Open} {
		term.Show(prompt.Lines(kind, long))
	}
	_, err := term.put(&prompt.Prompt{Ask: long, Options: []prompt.Option{{ID: "a", Title: long}, {ID: "b", Title: long, Aside: true}}}), term.Err()
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
		for _, p := range []prompt.Prompt{three(), cylinders(), words(), {Leave: "leave"}, {Entry: &prompt.Entry{Blank: "for none", Of: evidence.Length, Unit: "thou"}}} {
			term, _ := heard(in, 60, 24)
			a, err := term.put(&p), term.Err()
			if err != nil {
				continue
			}
			if problem := p.Check(a); problem != nil {
				t.Fatal(problem)
			}
			for _, r := range a.Text {
				if unicode.In(r, unicode.Cc, unicode.Cf) {
					t.Fatalf("%q has a control letter", a.Text)
				}
			}
		}
	})
}

// What is too long is refused and not cut: nobody finds half of his story in the
// file.
func TestAnAnswerTooLongIsRefusedWhole(t *testing.T) {
	term, out := heard(strings.Repeat("x", prompt.MostText+1)+"\nleak\n", 80, 0)
	p := words()
	a, err := term.put(&p), term.Err()
	require.NoError(t, err)
	assert.Equal(t, "leak", a.Text)
	assert.Contains(t, out.String(), "That is too long.")
}
