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
		menu := t.menuOf(p, from)
		t.offer(p, menu)
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
	case p.Entry == nil || typed == "" && p.Entry.Blank == "" || beside && !tells(typed):
		return a, nil, refusal(typed, menu)
	case len(p.Options) > 0 && notNumber == nil && p.Entry.Unit == "":
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
	out := refusal("", menu)
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
		out += " (several: 1 2"
		for _, o := range p.Options {
			if o.Together && o.Aside {
				out += " " + keys[o.ID]
			}
		}
		out += ")"
	}
	return strings.TrimSpace(out)
}

// entry is one answer of a menu. Without an id it is no answer.
type entry struct {
	typed, text string
	heading     string
	id          string
	together    bool
	beside      bool // stands below the answers, with others on a line
	leaves      bool
	shows       []prompt.Line
	from        int // where a long list goes on
}

// perPage is how many entries of a long list stand on the screen at once, besides
// what is below them.
const perPage = 7

// besideLines is how much of the screen is kept for what stands around a long list.
const besideLines = 12

// The keys that mean the same on every screen, by the id of the option.
const (
	leaveKey = "q"
	helpKey  = "?"
)

var keys = map[string]string{
	"yes": "y", "no": "n", "none": "n", "nothing": "n", "not-now": "n", "not-done": "n", "unknown": "d", "ends": "e", prompt.Back: "b", "why": helpKey,
}

// menuOf gives the answers of a prompt: what is numbered, of a long list a page,
// then what stands beside: by a key of every screen, or by the next number.
func (t *Terminal) menuOf(p *prompt.Prompt, from int) []entry {
	var menu, beside []entry
	own := ownNumbers(p.Options)
	next := 1
	for _, o := range p.Options {
		e := entry{text: o.Title, id: o.ID, heading: o.Heading, together: o.Together, beside: o.Aside, shows: o.Shows}
		if o.Shows != nil {
			e.id, e.from = "", from
		}
		if o.Aside {
			e.typed = keys[o.ID]
			beside = append(beside, e)
			continue
		}
		e.typed = strconv.Itoa(next)
		if own {
			e.typed = o.About.Cylinder
		}
		if n, err := strconv.Atoi(e.typed); err == nil {
			next = max(next, n) + 1
		}
		menu = append(menu, e)
	}
	if per := t.perPage(p); len(menu) > per {
		to := min(from+per, len(menu))
		more := entry{text: fmt.Sprintf("more (%d)", len(menu)-to), beside: true, from: to}
		if to == len(menu) {
			more = entry{text: "more, from the first again", beside: true}
		}
		menu = slices.Clone(menu[from:to])
		for i := range menu {
			menu[i].typed = strconv.Itoa(i + 1)
		}
		next = len(menu) + 1
		beside = slices.Insert(beside, 0, more)
	}
	if p.Back != "" {
		beside = append(beside, entry{typed: keys[prompt.Back], text: p.Back, id: prompt.Back, beside: true})
	}
	if p.Leave != "" {
		beside = append(beside, entry{typed: leaveKey, text: p.Leave, beside: true, leaves: true})
	}
	for _, e := range beside {
		if e.typed == "" || slices.ContainsFunc(menu, func(o entry) bool { return o.typed == e.typed }) {
			e.typed = strconv.Itoa(next)
			next++
		}
		menu = append(menu, e)
	}
	return withHelp(p, menu, from)
}

// withHelp has ? say why it is asked, where there is a reason, and what can be typed.
func withHelp(p *prompt.Prompt, menu []entry, from int) []entry {
	i := slices.IndexFunc(menu, func(e entry) bool { return e.typed == helpKey })
	if i < 0 {
		i, menu = len(menu), append(menu, entry{typed: helpKey, text: "help", beside: true, from: from})
	}
	said := menu[i]
	menu = append(slices.Delete(menu, i, i+1), said) // it stands last
	last := &menu[len(menu)-1]
	last.shows = append(slices.Clip(last.shows), prompt.Line{Kind: prompt.Below, Text: help(p, menu)})
	return menu
}

// perPage is how many answers of a prompt stand on a screen: of a list that words
// narrow a few, of another as many as fit.
func (t *Terminal) perPage(p *prompt.Prompt) int {
	switch {
	case p.Whole:
		return len(p.Options)
	case p.Entry != nil && !p.Entry.Beside:
		return perPage
	case t.height > 0:
		return max(perPage, t.height-besideLines)
	}
	return len(p.Options)
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

// offer writes a prompt. All of it is kept together: if it does not fit below what
// stands on the screen, it pauses before it. Of one that is longer than the screen
// the end of what is said stays with the answers.
func (t *Terminal) offer(p *prompt.Prompt, menu []entry) {
	body := t.laid(p.Body)
	var asked []string
	if q := question(p); q != "" {
		asked = doc.Wrap(q, t.width, t.width)
	}
	asked = append(asked, t.answers(menu)...)
	long := len(body) + len(asked) - t.room()
	if t.height > 0 && t.used > 0 && t.used+len(body)+len(asked) > t.room() {
		t.pause()
	}
	if t.height > 0 && long > 0 && len(body) > 0 {
		first := min(long, len(body))
		t.write(body[:first])
		t.pause()
		body = body[first:]
	}
	t.write(append(body, asked...))
}

// answers lays a menu out: each answer on a line, then what stands beside them.
func (t *Terminal) answers(menu []entry) (lines []string) {
	row := ""
	for _, e := range menu {
		lead := fmt.Sprintf("%3s  ", e.typed)
		if e.heading != "" {
			lines = append(lines, doc.Wrap(e.heading, t.width, t.width)...)
		}
		if e.beside {
			if on := row + "   " + e.typed + "  " + e.text; row != "" && t.fits(on) {
				row = on
				continue
			}
			lines = append(lines, filled(row)...)
			if row = lead + e.text; t.fits(row) {
				continue
			}
			row = ""
		}
		for _, line := range doc.Wrap(e.text, t.width-len(lead), t.width-optionIndent) {
			lines = append(lines, lead+line)
			lead = strings.Repeat(" ", optionIndent)
		}
	}
	return append(lines, filled(row)...)
}

// fits says whether a text stands on one line.
func (t *Terminal) fits(text string) bool { return doc.Width(doc.Shown(text)) <= t.width }

// filled is a row, if there is anything in it.
func filled(row string) []string {
	if row == "" {
		return nil
	}
	return []string{row}
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
		if typed != "" && (byWords && strings.EqualFold(typed, e.text) || e.beside && strings.EqualFold(typed, firstWord(e.text))) {
			return []entry{e}
		}
	}
	if led := leading(typed, menu); len(led) == 1 && byWords {
		return led
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

// leading finds the entries that begin with what was typed, up to a comma or the like:
// "done" of "done, and it holds".
func leading(typed string, menu []entry) (out []entry) {
	for _, e := range menu {
		if end := strings.IndexAny(e.text, ",;:"); end > 0 && strings.EqualFold(typed, e.text[:end]) {
			out = append(out, e)
		}
	}
	return out
}

// firstWord is by what an answer that stands beside the others can be typed too,
// such as "report" or "more"; "" of a text that begins with a shorter word.
func firstWord(text string) string {
	word, _, _ := strings.Cut(text, " ")
	if word = strings.TrimRight(word, ",;.:?"); len([]rune(word)) < shortestTold {
		return ""
	}
	return word
}

// short finds what y, n and d stand for where no entry has that key: the one that
// means it, else the one that begins with yes, the one that begins with no.
func short(typed string, menu []entry) (entry, bool) {
	begins := map[string]string{"y": "yes", "yes": "yes", "n": "no", "no": "no"}[strings.ToLower(typed)]
	key := typed
	if begins != "" {
		key = begins[:1]
	}
	var means []entry
	for _, e := range menu {
		later := e.id == "not-now" && key != typed // a whole "no" puts nothing off
		if e.id != "" && strings.EqualFold(key, keys[e.id]) && !later {
			means = append(means, e)
		}
	}
	if len(means) == 1 {
		return means[0], true
	}
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
		if _, err := strconv.Atoi(e.typed); err != nil {
			if e.typed != helpKey {
				keys = append(keys, e.typed)
			}
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
	case out == "" && len(keys) == 0:
		out = "an answer"
	}
	out = "Type " + out + strings.Join(keys, ", ") + several + "."
	if typed != "" {
		out = fmt.Sprintf("%q is no answer here. ", prompt.Clip(typed)) + out
	}
	return out
}
