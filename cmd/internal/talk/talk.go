package talk

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode"

	"telltale/cmd/internal/doc"
)

// Terminal is where the conversation takes place.
type Terminal struct {
	in     *bufio.Reader
	out    io.Writer
	width  int
	height int
	used   int // lines written since the last answer
}

// New makes a terminal of so many columns and lines; lines 0 never pauses.
func New(in io.Reader, out io.Writer, columns, lines int) *Terminal {
	return &Terminal{in: bufio.NewReader(in), out: out, width: columns, height: lines}
}

// ErrEnd means that nobody answers any more: the input is at its end.
var ErrEnd = errors.New("the input has ended")

// longestLine bounds one answer, in bytes.
const longestLine = 4096

// Say writes a paragraph wrapped to the width, indented; it pauses when the
// screen is full.
func (t *Terminal) Say(indent int, text string) error {
	lead := strings.Repeat(" ", indent)
	for _, line := range doc.Wrap(text, t.width-indent, t.width-indent) {
		if err := t.line(lead + line); err != nil {
			return err
		}
	}
	return nil
}

// Gap writes an empty line.
func (t *Terminal) Gap() error { return t.line("") }

// Head writes a heading with an empty line before it.
func (t *Terminal) Head(text string) error {
	if err := t.Gap(); err != nil {
		return err
	}
	return t.Say(0, strings.ToUpper(text))
}

// line writes one line, and waits for Enter when the screen is full.
func (t *Terminal) line(text string) error {
	if t.height > 0 && t.used >= t.room() {
		if err := t.pause(); err != nil {
			return err
		}
	}
	t.used++
	_, err := fmt.Fprintln(t.out, strings.TrimRight(text, " "))
	return err
}

// room is how many lines fit on the screen above the one that is typed on.
func (t *Terminal) room() int { return max(1, t.height-2) }

// pause waits for Enter. What was typed besides is no answer: nobody can have
// read yet what it would be the answer to.
func (t *Terminal) pause() error {
	if _, err := fmt.Fprint(t.out, "-- Enter for more -- "); err != nil {
		return err
	}
	typed, err := t.read()
	if err != nil || typed == "" {
		return err
	}
	return t.line(fmt.Sprintf("(%q is not taken as an answer: read on first.)", clip(typed)))
}

// Option is an answer that can be chosen by its number, or by its key if it
// has one.
type Option struct {
	Key   string // "b", "w": an answer of its own; "" for a numbered one
	Label string // typed in place of the number of a numbered one, such as a cylinder's own number
	Text  string
}

// labels gives what is typed for each option.
func labels(options []Option) []string {
	out := make([]string, len(options))
	number := 0
	for i, o := range options {
		switch {
		case o.Key != "":
			out[i] = o.Key
		case o.Label != "":
			out[i] = o.Label
		default:
			number++
			out[i] = strconv.Itoa(number)
		}
	}
	return out
}

// Choose asks until the answer is one of the options, and gives its index.
func (t *Terminal) Choose(question string, options []Option) (int, error) {
	if err := t.offer(question, options); err != nil {
		return 0, err
	}
	for {
		answer, err := t.Ask("")
		if err != nil {
			return 0, err
		}
		if i, ok := matchText(answer, options); ok {
			return i, nil
		}
		if err := t.refuse(answer, wanted(options)); err != nil {
			return 0, err
		}
	}
}

// refuse says what can be typed instead.
func (t *Terminal) refuse(answer, wanted string) error {
	text := "Type " + wanted + "."
	if answer != "" {
		text = fmt.Sprintf("%q is no answer here. ", clip(answer)) + text
	}
	return t.Say(0, text)
}

// ChooseOrWord is Choose where anything else is an answer too: then the index
// is -1 and the text is given.
func (t *Terminal) ChooseOrWord(question string, options []Option) (string, int, error) {
	if err := t.offer(question, options); err != nil {
		return "", 0, err
	}
	for {
		answer, err := t.Ask("")
		if err != nil {
			return "", 0, err
		}
		if i, ok := match(answer, options); ok {
			return answer, i, nil
		}
		if answer != "" {
			return answer, -1, nil
		}
	}
}

// Several asks for any number of the numbered options, as "1 3"; it gives
// their indexes in the order of the options, or one keyed option alone.
func (t *Terminal) Several(question string, options []Option) ([]int, error) {
	if err := t.offer(question, options); err != nil {
		return nil, err
	}
	for {
		answer, err := t.Ask("")
		if err != nil {
			return nil, err
		}
		if chosen, ok := matchAll(answer, options); ok {
			return chosen, nil
		}
		if err := t.refuse(answer, wanted(options)+"; several numbers with blanks between"); err != nil {
			return nil, err
		}
	}
}

// offer writes the question and its answers. They are kept together: if they
// do not fit below what stands on the screen, it pauses before them.
func (t *Terminal) offer(question string, options []Option) error {
	lines := t.lines(question, options)
	if t.height > 0 && t.used > 0 && t.used+len(lines) > t.room() {
		if err := t.pause(); err != nil {
			return err
		}
	}
	for _, line := range lines {
		if err := t.line(line); err != nil {
			return err
		}
	}
	return nil
}

func (t *Terminal) lines(question string, options []Option) []string {
	var lines []string
	if question != "" {
		lines = doc.Wrap(question, t.width, t.width)
	}
	typed := labels(options)
	for k, o := range options {
		lead := fmt.Sprintf("%3s  ", typed[k])
		for _, line := range doc.Wrap(o.Text, t.width-len(lead), t.width-optionIndent) {
			lines = append(lines, lead+line)
			lead = strings.Repeat(" ", optionIndent)
		}
	}
	return lines
}

// optionIndent is how far the text of an option stands to the right.
const optionIndent = 5

// Ask reads one line after a prompt; the answer has no blanks around it.
func (t *Terminal) Ask(prompt string) (string, error) {
	if prompt != "" {
		prompt += " "
	}
	if _, err := fmt.Fprint(t.out, prompt+"> "); err != nil {
		return "", err
	}
	return t.read()
}

// read takes one line; a last line without an end counts.
func (t *Terminal) read() (string, error) {
	t.used = 0
	var text []byte
	for {
		b, err := t.in.ReadByte()
		switch {
		case err == io.EOF && len(text) > 0:
			return clean(text), nil
		case err == io.EOF:
			return "", ErrEnd
		case err != nil:
			return "", err
		case b == '\n':
			return clean(text), nil
		case len(text) < longestLine:
			text = append(text, b)
		}
	}
}

// clean drops what is no text: control characters, marks that change how the
// rest is shown, and broken letters. A tab is a blank.
func clean(text []byte) string {
	kept := strings.Map(func(r rune) rune {
		switch {
		case r == '\t':
			return ' '
		case unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp), r == '\uFFFD':
			return -1
		}
		return r
	}, strings.ToValidUTF8(string(text), ""))
	return strings.TrimSpace(kept)
}

// match finds the option whose number or key was typed.
func match(answer string, options []Option) (int, bool) {
	for i, label := range labels(options) {
		if strings.EqualFold(answer, label) {
			return i, true
		}
	}
	return 0, false
}

// matchText is match, and takes the words of an option too, as "yes" or "done".
func matchText(answer string, options []Option) (int, bool) {
	if i, ok := match(answer, options); ok {
		return i, true
	}
	for i, o := range options {
		if answer != "" && strings.EqualFold(answer, o.Text) {
			return i, true
		}
	}
	return 0, false
}

func matchAll(answer string, options []Option) ([]int, bool) {
	if i, ok := matchText(answer, options); ok {
		return []int{i}, true
	}
	fields := strings.FieldsFunc(answer, func(r rune) bool { return r == ' ' || r == ',' })
	chosen := map[int]bool{}
	for _, f := range fields {
		i, ok := match(f, options)
		if !ok || options[i].Key != "" && len(fields) > 1 {
			return nil, false
		}
		chosen[i] = true
	}
	var out []int
	for i := range options {
		if chosen[i] {
			out = append(out, i)
		}
	}
	return out, len(out) > 0
}

// wanted says what can be typed: "1 to 4 or b, w".
func wanted(options []Option) string {
	var numbers, keys []string
	for i, label := range labels(options) {
		if options[i].Key == "" {
			numbers = append(numbers, label)
			continue
		}
		keys = append(keys, label)
	}
	out := strings.Join(numbers, ", ")
	if len(numbers) > 3 && numbers[0] == "1" && numbers[len(numbers)-1] == strconv.Itoa(len(numbers)) {
		out = numbers[0] + " to " + numbers[len(numbers)-1]
	}
	switch {
	case out == "":
		return strings.Join(keys, " or ")
	case len(keys) > 0:
		out += " or " + strings.Join(keys, ", ")
	}
	return out
}

const longestEcho = 30

// clip shortens an answer for a message.
func clip(s string) string {
	runes := []rune(s)
	if len(runes) > longestEcho {
		return string(runes[:longestEcho]) + "..."
	}
	return s
}
