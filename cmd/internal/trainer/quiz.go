package trainer

import (
	"fmt"
	"strings"

	"telltale/cmd/internal/prompt"
	"telltale/engine/practice"
)

// Quiz asks written questions one after another.
type Quiz struct {
	questions    []practice.Question
	right, asked int
	news         []prompt.Line
}

// NewQuiz makes a quiz of questions.
func NewQuiz(questions []practice.Question) *Quiz { return &Quiz{questions: questions} }

// Prompt gives the next question.
func (q *Quiz) Prompt() (prompt.Prompt, error) {
	if q.Over() {
		return prompt.Prompt{ID: "over", News: q.news}, nil
	}
	question := &q.questions[q.asked]
	p := prompt.Prompt{
		ID: fmt.Sprintf("question %d", q.asked+1), News: q.news, Leave: "stop the quiz",
		Body: prompt.Lines(prompt.Head, fmt.Sprintf("Question %d of %d", q.asked+1, len(q.questions))),
	}
	for _, line := range question.Text {
		kind := prompt.Text
		if sign, listed := strings.CutPrefix(line, "- "); listed {
			kind, line = prompt.Item, sign
		}
		p.Body = append(p.Body, prompt.Line{Kind: kind, Text: line})
	}
	for i, o := range question.Options {
		p.Options = append(p.Options, prompt.Option{ID: answerID(i), Title: o})
	}
	return p, nil
}

func answerID(i int) string { return fmt.Sprintf("answer %d", i+1) }

// Answer takes the answer to the question. The error is a *prompt.Problem if it is
// none.
func (q *Quiz) Answer(a prompt.Answer) error {
	p, _ := q.Prompt()
	if problem := p.Check(a); problem != nil {
		return problem
	}
	question := &q.questions[q.asked]
	q.asked++
	word := "Right."
	if a.One() == answerID(question.Right) {
		q.right++
	} else {
		word = fmt.Sprintf("Not so. Right is: %s.", strings.TrimSuffix(question.Options[question.Right], "."))
	}
	q.news = prompt.Lines(prompt.Text, word+" "+question.Why)
	return nil
}

// Over says whether everything was asked.
func (q *Quiz) Over() bool { return q.asked == len(q.questions) }

// Rod is the rod whose readings the question gives; nil if it is about none.
func (q *Quiz) Rod() *practice.RodReading {
	if q.Over() {
		return nil
	}
	return q.questions[q.asked].Reading
}

// Score says how it went so far.
func (q *Quiz) Score() string { return fmt.Sprintf("Score: %d right of %d asked.", q.right, q.asked) }
