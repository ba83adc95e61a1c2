package talk

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/prompt"
)

// Conversation is what a terminal can hold: the crew's over a case, an exercise,
// a quiz. Prompt gives what is asked now; each answer to it brings another.
type Conversation interface {
	Prompt() (prompt.Prompt, error)
	Answer(prompt.Answer) error
}

// Hold puts every prompt of a conversation and hands its answer on, until it is
// over. ErrEnd: the input ended first; ErrLeft: whoever talks left.
func (t *Terminal) Hold(c Conversation) error {
	for {
		p, err := c.Prompt()
		if err != nil {
			return err
		}
		t.Show(p.News)
		if p.Over() {
			t.Show(p.Body)
			return t.Err()
		}
		a := t.put(&p)
		if err := t.Err(); errors.Is(err, ErrEnd) {
			t.Gap() // what comes next is not to stand behind the mark
			return err
		} else if err != nil {
			return err
		}
		if err := c.Answer(a); err != nil {
			return err
		}
	}
}

// put shows a prompt until it is answered, or something goes wrong.
func (t *Terminal) put(p *prompt.Prompt) prompt.Answer {
	from := 0
	for t.err == nil {
		t.Show(p.Body)
		menu := menuOf(p, from)
		t.offer(question(p), menu)
		a, picked := t.answer(p, menu)
		if picked == nil {
			t.idle = 0
			return a
		}
		from = picked.from
		t.Show(picked.shows)
	}
	return prompt.Answer{}
}

// mostIdle is how many lines in a row may be no answer: then nobody reads what
// stands there, and the talk is left.
const mostIdle = 40

// answer reads lines until one is an answer, or picks what only shows something.
func (t *Terminal) answer(p *prompt.Prompt, menu []entry) (prompt.Answer, *entry) {
	for t.err == nil {
		t.print("> ")
		typed := t.read()
		if t.idle++; t.idle > mostIdle && t.err == nil {
			t.Say(0, fmt.Sprintf("%d lines in a row were no answer. Nothing more is asked.", mostIdle))
			t.err = ErrLeft
		}
		if t.err != nil {
			break
		}
		a, picked, why := understood(p, menu, typed)
		switch {
		case picked != nil && picked.leaves:
			t.err = ErrLeft
			return a, nil
		case why == "":
			return a, picked
		}
		t.Say(0, why)
	}
	return prompt.Answer{}, nil
}

// understood makes an answer of what was typed; picked is an entry of the menu
// that is no answer, and why says what is wrong with it.
func understood(p *prompt.Prompt, menu []entry, typed string) (a prompt.Answer, picked *entry, why string) {
	a = prompt.Answer{Prompt: p.ID, Rests: p.Rests}
	beside := p.Entry != nil && p.Entry.Beside
	chosen := match(typed, menu, p.Entry == nil || beside)
	_, notNumber := strconv.Atoi(typed)
	switch {
	case len(chosen) == 1 && chosen[0].id == "":
		return a, &chosen[0], ""
	case len(chosen) > 0:
		for _, c := range chosen {
			a.Chosen = append(a.Chosen, c.id)
		}
	case typed == "?":
		return a, nil, help(p, menu)
	case p.Entry == nil || typed == "" && p.Entry.Blank == "" || beside && !tells(typed):
		return a, nil, refusal(typed, menu)
	case len(menu) > 0 && notNumber == nil:
		return a, nil, "There is no number " + prompt.Clip(typed) + " here."
	default:
		a.Text = typed
	}
	if problem := p.Check(a); problem != nil {
		return a, nil, problem.Text
	}
	return a, nil, ""
}

// tells says whether what was typed can tell of something: it has a word of some
// letters. A slip of a key does not.
func tells(typed string) bool {
	letters := strings.FieldsFunc(typed, func(r rune) bool { return !unicode.IsLetter(r) })
	return slices.ContainsFunc(letters, func(word string) bool { return len([]rune(word)) >= shortestTold })
}

// shortestTold is the length of the shortest word that tells something.
const shortestTold = 3

// help says what can be typed.
func help(p *prompt.Prompt, menu []entry) string {
	out := refusal("", menu) + " b goes back, q leaves."
	if p.Entry != nil && p.Entry.Beside {
		out += " Or tell what you saw, in your own words."
	}
	return out
}

// question is what stands above the options, with how it is answered here.
func question(p *prompt.Prompt) string {
	out := p.Ask
	if p.Entry != nil && p.Entry.Hint != "" && len(p.Options) > 0 {
		out += " Type a number, or " + p.Entry.Hint + "."
	}
	if p.Entry != nil && p.Entry.Blank != "" {
		out += " Enter " + p.Entry.Blank + "."
	}
	if slices.ContainsFunc(p.Options, func(o prompt.Option) bool { return o.Together }) {
		out += " (several numbers with blanks between)"
	}
	return strings.TrimSpace(out)
}

// entry is one line of a menu. Without an id it is no answer.
type entry struct {
	typed, text string
	id          string
	together    bool
	lettered    bool
	leaves      bool
	shows       []prompt.Line
	from        int // where a long list goes on
}

// perPage is how many entries of a long list stand on the screen at once, besides
// what has a letter.
const perPage = 7

// letters is what is typed for what stands beside the answers, by the first word
// of its id; what is not here goes by the first letter of that word.
var letters = map[string]string{
	"somewhere": "e", "unknown": "d", "not": "n", "nothing": "x", "who": "i",
}

// menuOf gives the lines of a prompt: what is numbered, of a long list that can be
// narrowed a page, then what has a letter.
func menuOf(p *prompt.Prompt, from int) []entry {
	var numbered, lettered []entry
	own := ownNumbers(p.Options)
	for _, o := range p.Options {
		e := entry{text: o.Title, id: o.ID, together: o.Together, shows: o.Shows}
		if o.Shows != nil {
			e.id, e.from = "", from
		}
		if o.Aside {
			lettered = append(lettered, e.by(o.ID))
			continue
		}
		e.typed = strconv.Itoa(len(numbered) + 1)
		if own {
			e.typed = o.About.Cylinder
		}
		numbered = append(numbered, e)
	}
	if p.Entry != nil && len(numbered) > perPage {
		to := min(from+perPage, len(numbered))
		more := entry{text: fmt.Sprintf("more (%d)", len(numbered)-to), from: to}
		if to == len(numbered) {
			more = entry{text: "from the first again"}
		}
		numbered = numbered[from:to]
		for i := range numbered {
			numbered[i].typed = strconv.Itoa(i + 1)
		}
		lettered = slices.Insert(lettered, 0, more.by("more"))
	}
	if p.Back != "" {
		lettered = append(lettered, entry{text: p.Back, id: prompt.Back}.by(prompt.Back))
	}
	if p.Leave != "" {
		lettered = append(lettered, entry{text: p.Leave, leaves: true}.by("quit"))
	}
	menu := numbered
	for _, e := range lettered {
		menu = append(menu, e.apart(menu))
	}
	return menu
}

// by gives an entry the letter of an id.
func (e entry) by(id string) entry {
	word, _, _ := strings.Cut(strings.ReplaceAll(id, "-", " "), " ")
	e.lettered, e.typed = true, letters[word]
	if e.typed == "" {
		e.typed = word[:1]
	}
	return e
}

// apart numbers a letter that stands in the menu already: d, d2, d3.
func (e entry) apart(menu []entry) entry {
	letter := e.typed
	for n := 2; slices.ContainsFunc(menu, func(o entry) bool { return o.typed == e.typed }); n++ {
		e.typed = letter + strconv.Itoa(n)
	}
	return e
}

// ownNumbers says whether the options proper are cylinders that are numbered:
// these are typed by their own numbers.
func ownNumbers(options []prompt.Option) bool {
	own := false
	for _, o := range options {
		if o.Aside {
			continue
		}
		if o.About == nil || o.About.ID != "" || o.About.End != "" {
			return false
		}
		if _, err := strconv.Atoi(o.About.Cylinder); err != nil {
			return false
		}
		own = true
	}
	return own
}

// offer writes the question and its answers. They are kept together: if they
// do not fit below what stands on the screen, it pauses before them.
func (t *Terminal) offer(question string, menu []entry) {
	var lines []string
	if question != "" {
		lines = doc.Wrap(question, t.width, t.width)
	}
	for _, e := range menu {
		lead := fmt.Sprintf("%3s  ", e.typed)
		for _, line := range doc.Wrap(e.text, t.width-len(lead), t.width-optionIndent) {
			lines = append(lines, lead+line)
			lead = strings.Repeat(" ", optionIndent)
		}
	}
	if t.height > 0 && t.used > 0 && t.used+len(lines) > t.room() {
		t.pause()
	}
	for _, line := range lines {
		t.line(line)
	}
}

// optionIndent is how far the text of an option stands to the right.
const optionIndent = 5

// match finds the entries that were typed: one by its number or letter, by its
// words if these are no answer of their own, or several by their numbers.
func match(typed string, menu []entry, byWords bool) []entry {
	for _, e := range menu {
		if strings.EqualFold(typed, e.typed) {
			return []entry{e}
		}
	}
	if e, ok := short(typed, menu); ok && byWords {
		return []entry{e}
	}
	for _, e := range menu {
		if byWords && typed != "" && strings.EqualFold(typed, e.text) {
			return []entry{e}
		}
	}
	fields := strings.FieldsFunc(typed, func(r rune) bool { return r == ' ' || r == ',' })
	chosen := make([]bool, len(menu))
	for _, f := range fields {
		i := slices.IndexFunc(menu, func(e entry) bool { return e.together && e.typed == f })
		if i < 0 {
			return nil
		}
		chosen[i] = true
	}
	var out []entry
	for i, e := range menu {
		if chosen[i] {
			out = append(out, e)
		}
	}
	return out
}

// short finds what y, n and ? stand for where no entry has that letter: the one
// that begins with yes, the one that begins with no, why it is asked.
func short(typed string, menu []entry) (entry, bool) {
	begins := map[string]string{"y": "yes", "yes": "yes", "n": "no", "no": "no", "?": "why"}[strings.ToLower(typed)]
	if begins == "" {
		return entry{}, false
	}
	var found []entry
	for _, e := range menu {
		if first, _, _ := strings.Cut(strings.ToLower(e.text), " "); strings.TrimRight(first, ",;.") == begins {
			found = append(found, e)
		}
	}
	if len(found) != 1 {
		return entry{}, false
	}
	return found[0], true
}

// refusal says what can be typed instead: "Type 1 to 4 or b, w."
func refusal(typed string, menu []entry) string {
	var numbers, keys []string
	several := ""
	for _, e := range menu {
		if e.lettered {
			keys = append(keys, e.typed)
			continue
		}
		numbers = append(numbers, e.typed)
		if e.together {
			several = "; several numbers with blanks between"
		}
	}
	out := strings.Join(numbers, ", ")
	if len(numbers) > 3 && numbers[0] == "1" && numbers[len(numbers)-1] == strconv.Itoa(len(numbers)) {
		out = numbers[0] + " to " + numbers[len(numbers)-1]
	}
	switch {
	case out != "" && len(keys) > 0:
		out += " or "
	case len(menu) == 0:
		out = "an answer"
	}
	out = "Type " + out + strings.Join(keys, ", ") + several + "."
	if typed != "" {
		out = fmt.Sprintf("%q is no answer here. ", prompt.Clip(typed)) + out
	}
	return out
}
