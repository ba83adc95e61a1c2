package talk

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/prompt"
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

// ErrLeft means that whoever talks wants to leave.
var ErrLeft = errors.New("left")

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

// Item writes a paragraph behind a mark, such as "- ", its other lines under the
// first.
func (t *Terminal) Item(indent int, mark, text string) error {
	lead := strings.Repeat(" ", indent) + mark
	for _, line := range doc.Wrap(text, t.width-len(lead), t.width-len(lead)) {
		if err := t.line(lead + line); err != nil {
			return err
		}
		lead = strings.Repeat(" ", len(lead))
	}
	return nil
}

// Show writes lines as a terminal shows them.
func (t *Terminal) Show(lines []prompt.Line) error {
	for _, l := range lines {
		if err := t.show(l); err != nil {
			return err
		}
	}
	return nil
}

func (t *Terminal) show(l prompt.Line) error {
	switch l.Kind {
	case prompt.Head:
		return t.Head(l.Text)
	case prompt.Block:
		if err := t.Gap(); err != nil {
			return err
		}
	case prompt.Below:
		return t.Say(2, l.Text)
	case prompt.Item:
		return t.Item(2, "- ", l.Text)
	case prompt.Done:
		return t.Say(0, "[x] "+l.Text)
	case prompt.Open:
		return t.Say(0, "[ ] "+l.Text)
	}
	return t.Say(0, l.Text)
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
	return t.line(fmt.Sprintf("(%q is not taken as an answer: read on first.)", prompt.Clip(typed)))
}

// read asks for one line and takes it; a last line without an end counts.
func (t *Terminal) read() (string, error) {
	t.used = 0
	var text []byte
	for {
		b, err := t.in.ReadByte()
		switch {
		case err == io.EOF && len(text) > 0:
			return prompt.Plain(string(text)), nil
		case err == io.EOF:
			return "", ErrEnd
		case err != nil:
			return "", err
		case b == '\n':
			return prompt.Plain(string(text)), nil
		case len(text) < prompt.MostText:
			text = append(text, b)
		}
	}
}

// typed reads one line behind the mark that an answer is wanted.
func (t *Terminal) typed() (string, error) {
	if _, err := fmt.Fprint(t.out, "> "); err != nil {
		return "", err
	}
	return t.read()
}
