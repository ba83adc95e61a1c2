package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/engine/chances"
	"telltale/engine/noisyor"
	"telltale/evidence/source"
)

// excerptWidth is how many columns the line of a mistake takes at most: the
// narrowest page.
const excerptWidth = 60

// mistakes gives what is wrong with a case or a rulebook, each mistake as a
// value; nil for an error of another kind.
func mistakes(err error) *source.InputError {
	var (
		input      *source.InputError
		impossible *chances.ImpossibleError
		wide       *noisyor.TooWideError
	)
	switch {
	case errors.As(err, &input):
		return input
	case errors.As(err, &impossible) && len(impossible.Findings) > 0:
		return &source.InputError{Problems: impossible.Problems()}
	case errors.As(err, &impossible):
		return withoutPlace(source.Impossible, err)
	case errors.As(err, &wide), errors.Is(err, chances.ErrTooUnlikely):
		return withoutPlace(source.TooWide, err)
	}
	return nil
}

// withoutPlace is a mistake of a whole case.
func withoutPlace(code source.Code, err error) *source.InputError {
	return &source.InputError{Problems: []source.Problem{{Code: code, Text: err.Error(), Nearest: []string{}}}}
}

// mistakesAt is mistakes for a case of a stream that starts at a line: what has
// no place of its own stands there, and an error of another kind has the code
// otherwise.
func mistakesAt(err error, otherwise source.Code, name string, line int) *source.InputError {
	input := mistakes(err)
	if input == nil {
		input = withoutPlace(otherwise, err)
	}
	if first := &input.Problems[0]; first.Pos == (source.Pos{}) {
		first.Pos = source.Pos{File: name, Line: line, Col: 1}
	}
	return input
}

// writeMistakes writes mistakes as one JSON value.
func writeMistakes(to io.Writer, input *source.InputError) error {
	text, err := json.Marshal(struct {
		Errors []source.Problem `json:"errors"`
		More   int              `json:"more"` // that are not listed
	}{input.Problems, input.More})
	if err != nil {
		return err
	}
	_, err = to.Write(append(doc.EscapeJSON(text), '\n'))
	return err
}

// message words an error for the person who made it.
func message(err error) string {
	input := mistakes(err)
	var impossible *chances.ImpossibleError
	var wide *noisyor.TooWideError
	switch {
	case errors.As(err, &wide) && wide.MaxWork > 0:
		return "to weigh so many findings, or to put so many checks in order, takes longer than an answer may take (" + wide.Error() + "); telltale does not guess.\nLeave out the findings that matter least, name the cylinder of each, or take a local book with fewer checks."
	case errors.As(err, &wide):
		return "too many findings hang together to be weighed exactly (" + strings.TrimPrefix(wide.Error(), "noisyor: ") + "); telltale does not guess.\nLeave out the findings that matter least, or name the cylinder of each."
	case input == nil:
		return plain(err)
	case input.Problems[0].Pos == source.Pos{}:
		return err.Error()
	case errors.As(err, &impossible):
		heading, _, _ := strings.Cut(err.Error(), "\n")
		return heading + marked(input)
	}
	count := len(input.Problems) + input.More
	if count == 1 {
		return "1 mistake; no answer is given" + marked(input)
	}
	return fmt.Sprintf("%d mistakes; no answer is given", count) + marked(input)
}

// plain is what was wrong with the command line or a file, in plain words.
func plain(err error) string {
	switch e := err.(type) { // what main gives the exit code by stands outermost
	case fileError:
		err = e.error
	case usageError:
		err = e.error
	}
	return source.Plain(err)
}

// marked tells mistakes one below the other, each with its line where that is
// known.
func marked(input *source.InputError) string {
	out := ""
	for _, p := range input.Problems {
		out += "\n" + p.Error()
		if line := doc.Marked(p.Line, p.Mark, excerptWidth); line != "" {
			out += "\n" + line
		}
	}
	if input.More > 0 {
		out += fmt.Sprintf("\nand %d more", input.More)
	}
	return out
}
