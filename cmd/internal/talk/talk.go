package talk

import (
	"bufio"
	"cmp"
	"errors"
	"fmt"
	"io"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/prompt"
)

// Terminal is where the conversation takes place. What goes wrong when something is
// written, or when it is read on at a full screen, is kept: nothing more is written
// until Err has told it.
type Terminal struct {
	in     *bufio.Reader
	out    io.Writer
	width  int
	height int
	used   int // lines written since the last answer
	idle   int // lines read since it
	err    error
}

// New makes a terminal of so many columns and lines; lines 0 never pauses.
func New(in io.Reader, out io.Writer, columns, lines int) *Terminal {
	return &Terminal{in: bufio.NewReader(in), out: out, width: columns, height: lines}
}

// ErrEnd means that nobody answers any more: the input is at its end.
var ErrEnd = errors.New("the input has ended")

// ErrLeft means that whoever talks wants to leave.
var ErrLeft = errors.New("left")

// Err gives what went wrong since it was last asked, and forgets it.
func (t *Terminal) Err() error {
	err := t.err
	t.err = nil
	return err
}

// Say writes a paragraph wrapped to the width, indented; it pauses when the
// screen is full.
func (t *Terminal) Say(indent int, text string) { t.write(t.wrapped(indent, text)) }

// Gap writes an empty line.
func (t *Terminal) Gap() { t.line("") }

// Show writes lines as a terminal shows them.
func (t *Terminal) Show(lines []prompt.Line) { t.write(t.laid(lines)) }

func (t *Terminal) write(lines []string) {
	for _, line := range lines {
		t.line(line)
	}
}

// wrapped is a paragraph in lines of the width, indented.
func (t *Terminal) wrapped(indent int, text string) []string {
	lines := doc.Wrap(text, t.width-indent, t.width-indent)
	for i := range lines {
		lines[i] = strings.Repeat(" ", indent) + lines[i]
	}
	return lines
}

// item is a paragraph behind a mark, such as "-", its other lines under the first.
func (t *Terminal) item(indent int, mark, text string) []string {
	lead := strings.Repeat(" ", indent) + mark + " "
	lines := doc.Wrap(text, t.width-len(lead), t.width-len(lead))
	for i := range lines {
		lines[i] = lead + lines[i]
		lead = strings.Repeat(" ", len(lead))
	}
	return lines
}

// laid lays lines out as a terminal shows them.
func (t *Terminal) laid(lines []prompt.Line) (out []string) {
	for _, l := range lines {
		switch l.Kind {
		case prompt.Head:
			out = append(append(out, ""), t.wrapped(0, strings.ToUpper(l.Text))...)
		case prompt.Text:
			out = append(out, t.wrapped(0, l.Text)...)
		case prompt.Block:
			out = append(append(out, ""), t.wrapped(0, l.Text)...)
		case prompt.Below:
			out = append(out, t.wrapped(2, l.Text)...)
		case prompt.Item:
			out = append(out, t.item(2, cmp.Or(l.Mark, "-"), l.Text)...)
		case prompt.Under:
			if l.Mark == "" {
				out = append(out, t.wrapped(4, l.Text)...)
				continue
			}
			out = append(out, t.item(4, l.Mark, l.Text)...)
		case prompt.Done:
			out = append(out, t.wrapped(0, "[x] "+l.Text)...)
		case prompt.Open:
			out = append(out, t.wrapped(0, "[ ] "+l.Text)...)
		}
	}
	return out
}

// line writes one line, and waits for Enter when the screen is full.
func (t *Terminal) line(text string) {
	if t.height > 0 && t.used >= t.room() {
		t.pause()
	}
	t.used++
	t.print(strings.TrimRight(text, " ") + "\n")
}

// print writes a text without anything that a terminal obeys: names of a pump
// and its cylinders come from files.
func (t *Terminal) print(text string) {
	if t.err == nil {
		_, t.err = io.WriteString(t.out, doc.Shown(text))
	}
}

// room is how many lines fit on the screen above the one that is typed on.
func (t *Terminal) room() int { return max(1, t.height-2) }

// pause waits for Enter; q leaves here too. What was typed besides is no answer:
// nobody can have read yet what it would be the answer to.
func (t *Terminal) pause() {
	t.print("-- Enter for more -- ")
	switch typed := t.read(); {
	case strings.EqualFold(typed, leaveKey):
		t.err = ErrLeft
	case typed != "":
		t.line(fmt.Sprintf("(%q is not taken as an answer: read on first.)", prompt.Clip(typed)))
	}
}

// read takes one line; a last line without an end counts.
func (t *Terminal) read() string {
	t.used = 0
	var text []byte
	for t.err == nil {
		b, err := t.in.ReadByte()
		switch {
		case err == io.EOF && len(text) > 0, err == nil && b == '\n':
			return prompt.Plain(string(text))
		case err == io.EOF:
			t.err = ErrEnd
		case err != nil:
			t.err = err
		case len(text) <= prompt.MostText: // one more than is taken: what is too long is refused, not cut
			text = append(text, b)
		}
	}
	return ""
}
