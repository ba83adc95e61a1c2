package cli

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// hearOptions are the flags of hear.
type hearOptions struct {
	book   *bookOption
	action string
	file   string
	many   bool
	view   view
}

func newHear(s streams, book *bookOption) *cobra.Command {
	o := hearOptions{book: book}
	cmd := &cobra.Command{
		Use:   "hear",
		Short: "Understand a told story: the signs, work and checks that it speaks of",
		Long: `Reads what somebody tells in his own words from standard input, and says which signs,
work and checks of the rulebook it speaks of, where, and whether they are there; what
was only guessed; and which words it did not understand. Nothing is written: note and
ask write what the crew agreed to.

--many reads JSON Lines {"id": ..., "action": ..., "story": ...} and writes one JSON
line for each.`,
		Example: `  echo "wiper on 2 leaks again, 1 and 3 are dry" | telltale hear --action triplex-single-acting`,
		Args:    takes(0, 0, ""),
		RunE:    func(*cobra.Command, []string) error { return runHear(s, o) },
	}
	cmd.Flags().StringVar(&o.action, "action", "", "the pump: "+strings.Join(evidence.Actions(), " or "))
	cmd.Flags().StringVar(&o.file, "case", "", "take the pump from this case file")
	cmd.Flags().BoolVar(&o.many, "many", false, "read many stories as JSON Lines, and write one JSON line each")
	o.view.flags(cmd)
	return cmd
}

func runHear(s streams, o hearOptions) error {
	if err := o.view.check(); err != nil {
		return err
	}
	book, err := o.book.load()
	if err != nil {
		return err
	}
	if o.many {
		return hearMany(s, hear.New(book))
	}
	layout, err := o.layout(s, book)
	if err != nil {
		return err
	}
	told, err := source.ReadBounded(s.in, source.Limits{Bytes: hear.LongestStory})
	if err != nil {
		return fileError{err}
	}
	if err := tellable(string(told)); err != nil {
		return usageError{err}
	}
	story := hear.New(book).Hear(string(told), layout)
	return o.view.write(s.out, story, func() *doc.Document { return pages.Heard(book, &story) })
}

// layout gives the pump that the story is about.
func (o *hearOptions) layout(s streams, book *rules.Book) (evidence.Layout, error) {
	switch {
	case o.file != "" && o.action != "":
		return evidence.Layout{}, usageError{errors.New("--action and --case exclude each other; the case says what pump it is")}
	case o.file != "":
		k, err := readCase(s, o.file, book)
		if err != nil {
			return evidence.Layout{}, err
		}
		return k.Pump.Layout, nil
	}
	return layoutOf(o.action)
}

func layoutOf(action string) (evidence.Layout, error) {
	a := evidence.Action(action)
	if a != evidence.Triplex && a != evidence.Duplex {
		return evidence.Layout{}, usageError{fmt.Errorf("the pump is %q%s", doc.Shown(source.Clip(action)), source.Expected(action, evidence.Actions()))}
	}
	return evidence.Layout{Action: a, Cylinders: evidence.DefaultCylinders(a)}, nil
}

// tellable refuses what is no text.
func tellable(story string) error {
	switch {
	case !utf8.ValidString(story):
		return errors.New("the story is no UTF-8 text")
	case strings.TrimSpace(story) == "":
		return errors.New("nothing was told; write the story to standard input")
	}
	return hear.TooLong(story)
}

// toldLine is one story of a stream.
type toldLine struct {
	ID     lineID `json:"id"`
	Action string `json:"action"`
	Story  string `json:"story"`
}

// lineID is the id of a line: a text, or a number, which stays as it is written.
type lineID string

// UnmarshalJSON reads it.
func (id *lineID) UnmarshalJSON(text []byte) error {
	if strings.ContainsRune("-0123456789", rune(text[0])) {
		*id = lineID(text)
		return nil
	}
	return json.Unmarshal(text, (*string)(id))
}

// heardLine is what was understood of it, or why not.
type heardLine struct {
	ID string `json:"id"`
	*hear.Story
	Error string `json:"error,omitempty"`
}

// longestLine is a story of the longest length, each byte escaped.
const longestLine = 6*hear.LongestStory + 4096

func hearMany(s streams, l *hear.Listener) error {
	in := bufio.NewScanner(s.in)
	in.Buffer(nil, longestLine)
	out := json.NewEncoder(s.out)
	out.SetEscapeHTML(false)
	bad, all, at := 0, 0, 0
	for in.Scan() {
		at++
		if strings.TrimSpace(in.Text()) == "" {
			continue
		}
		all++
		line := heardLine{}
		if err := hearLine(l, in.Text(), &line); err != nil {
			bad++
			line.Error = fmt.Sprintf("line %d: %v", at, err)
		}
		if err := out.Encode(line); err != nil {
			return fileError{err}
		}
	}
	switch err := in.Err(); {
	case errors.Is(err, bufio.ErrTooLong):
		return usageError{fmt.Errorf("line %d has more than %d bytes; nothing behind it was read", at+1, longestLine)}
	case err != nil:
		return fileError{err}
	case bad > 0:
		return &someBadError{bad, all}
	}
	return nil
}

func hearLine(l *hear.Listener, text string, line *heardLine) error {
	var told toldLine
	read := json.NewDecoder(strings.NewReader(text))
	read.DisallowUnknownFields()
	err := read.Decode(&told)
	line.ID = string(told.ID) // a bad line is known by it too
	if err != nil {
		return fmt.Errorf("expected {\"id\", \"action\", \"story\"}; %s", source.Plain(err))
	}
	if _, err := read.Token(); !errors.Is(err, io.EOF) {
		return errors.New("more than one JSON value on the line")
	}
	layout, err := layoutOf(told.Action)
	if err != nil {
		return err
	}
	if err := tellable(told.Story); err != nil {
		return err
	}
	story := l.Hear(told.Story, layout)
	line.Story = &story
	return nil
}
