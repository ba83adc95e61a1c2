package trainer

import (
	"errors"
	"fmt"
	"strings"

	"telltale/cmd/internal/talk"
	"telltale/engine/practice"
)

// Quiz asks the questions and tells the score; the end of the input, or the
// answer q, ends it with the score so far.
func Quiz(term *talk.Terminal, columns int, questions []practice.Question) error {
	right, asked := 0, 0
	for i := range questions {
		ok, err := ask(term, columns, i+1, len(questions), &questions[i])
		if errors.Is(err, errBack) {
			break
		}
		if errors.Is(err, talk.ErrEnd) {
			if err := term.Gap(); err != nil {
				return err
			}
			break
		}
		if err != nil {
			return err
		}
		if asked++; ok {
			right++
		}
	}
	if err := term.Gap(); err != nil && !errors.Is(err, talk.ErrEnd) {
		return err
	}
	if err := term.Say(0, fmt.Sprintf("Score: %d right of %d asked.", right, asked)); err != nil && !errors.Is(err, talk.ErrEnd) {
		return err
	}
	return nil
}

func ask(term *talk.Terminal, columns, n, of int, q *practice.Question) (bool, error) {
	if err := term.Head(fmt.Sprintf("Question %d of %d", n, of)); err != nil {
		return false, err
	}
	for _, line := range q.Text {
		var err error
		if sign, listed := strings.CutPrefix(line, "- "); listed {
			err = item(term, columns, 2, "- ", sign)
		} else {
			err = term.Say(0, line)
		}
		if err != nil {
			return false, err
		}
	}
	var options []talk.Option
	for _, o := range q.Options {
		options = append(options, talk.Option{Text: o})
	}
	options = append(options, talk.Option{Key: "q", Text: "stop the quiz"})
	i, err := term.Choose("", options)
	if err != nil {
		return false, err
	}
	if options[i].Key == "q" {
		return false, errBack
	}
	word := "Right."
	if i != q.Right {
		word = fmt.Sprintf("Not so. Right is %d: %s.", q.Right+1, strings.TrimSuffix(q.Options[q.Right], "."))
	}
	return i == q.Right, term.Say(0, word+" "+q.Why)
}
