package site

import (
	"crypto/rand"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"telltale/cmd/internal/prompt"
)

// conversation is what a page can hold: the crew's over a case, the one before it, an
// exercise, a quiz.
type conversation interface {
	Prompt() (prompt.Prompt, error)
	Answer(prompt.Answer) error
}

// desk is one conversation, at which several tabs may sit. An answer counts only
// where it was given to what is asked now.
type desk struct {
	sync.Mutex
	talk  conversation
	turns int // how many answers were taken
	last  prompt.Answer
	used  time.Time
}

// desks are the conversations that are held, by the address of their page.
type desks struct {
	sync.Mutex
	start string // names this start of the program: no form of an earlier one fits
	now   func() time.Time
	all   map[string]*desk
}

// mostDesks bounds how many conversations are kept: of more, the one that was left
// alone longest is let go. What was answered there is in its file.
const mostDesks = 200

func newDesks(now func() time.Time) desks {
	return desks{start: rand.Text()[:8], now: now, all: map[string]*desk{}}
}

// at gives the desk of an address, and begins one where there is none.
func (d *desks) at(address string, begin func() (conversation, error)) (*desk, error) {
	d.Lock()
	defer d.Unlock()
	if have := d.all[address]; have != nil {
		have.used = d.now()
		return have, nil
	}
	talk, err := begin()
	if err != nil {
		return nil, err
	}
	if len(d.all) >= mostDesks {
		oldest := ""
		for at, other := range d.all {
			if oldest == "" || other.used.Before(d.all[oldest].used) {
				oldest = at
			}
		}
		delete(d.all, oldest)
	}
	d.all[address] = &desk{talk: talk, used: d.now()}
	return d.all[address], nil
}

// leave lets a conversation go.
func (d *desks) leave(address string) {
	d.Lock()
	defer d.Unlock()
	delete(d.all, address)
}

// move has a conversation go on under another address.
func (d *desks) move(from, to string) {
	d.Lock()
	defer d.Unlock()
	d.all[to] = d.all[from]
	delete(d.all, from)
}

// The fields of a form that answers a prompt.
const (
	fieldTurn   = "turn"   // which turn of the conversation it answers
	fieldPrompt = "prompt" // the prompt's id
	fieldRests  = "rests"  // the digest that the prompt carried
	fieldAlone  = "alone"  // the one option that was pressed
	fieldChosen = "chosen" // those that were ticked
	fieldText   = "text"
)

// turnOf names the turn that a desk has come to.
func (d *desks) turnOf(k *desk) string { return fmt.Sprintf("%s.%d", d.start, k.turns) }

// staleError says that a form answers what is not asked any more. Its answer was not
// taken.
type staleError struct{ restarted bool }

func (e *staleError) Error() string {
	if e.restarted {
		return "The program was started again since this was asked. Your last answer was NOT taken. What was answered before is kept. Please look at what is asked now."
	}
	return "Somebody answered this in between, in another window or tab. Your last answer was NOT taken. Please look at what is asked now."
}

// take takes the answer of a form. A second press of the same button is no second
// answer. The error is a *staleError where the form is not of now, else that of the
// conversation.
func (d *desks) take(k *desk, form url.Values) error {
	a := answerOf(form)
	switch turn := form.Get(fieldTurn); {
	case turn == d.turnOf(k):
	case k.turns > 0 && turn == fmt.Sprintf("%s.%d", d.start, k.turns-1) && same(a, k.last):
		return nil
	default:
		return &staleError{restarted: !strings.HasPrefix(turn, d.start+".")}
	}
	if err := k.talk.Answer(a); err != nil {
		return err
	}
	k.turns, k.last = k.turns+1, a
	return nil
}

func same(a, b prompt.Answer) bool {
	return a.Prompt == b.Prompt && a.Rests == b.Rests && a.Text == b.Text && slices.Equal(a.Chosen, b.Chosen)
}

// answerOf is what a form answers.
func answerOf(form url.Values) prompt.Answer {
	a := prompt.Answer{Prompt: form.Get(fieldPrompt), Rests: form.Get(fieldRests)}
	switch alone := form.Get(fieldAlone); {
	case alone != "":
		a.Chosen = []string{alone}
	case form.Has(fieldText):
		a.Text = oneLine(form.Get(fieldText))
	default:
		a.Chosen = form[fieldChosen]
	}
	return a
}

// oneLine makes one line of several: an end of a line ends a sentence.
func oneLine(text string) string {
	var out []string
	for line := range strings.Lines(strings.ReplaceAll(text, "\r", "\n")) {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		if !strings.ContainsAny(line[len(line)-1:], ".,;:!?") {
			line += "."
		}
		out = append(out, line)
	}
	if len(out) == 1 {
		return strings.TrimSpace(text)
	}
	return strings.Join(out, " ")
}

// refusal is what is said of an answer that was not taken; "" if the error is another.
func refusal(err error) (said string, status int) {
	var problem *prompt.Problem
	var stale *staleError
	switch {
	case errors.As(err, &stale):
		return stale.Error(), http.StatusConflict
	case errors.As(err, &problem) && problem.Code == prompt.Other:
		return problem.Text + " It was NOT taken.", http.StatusConflict
	case errors.As(err, &problem):
		return problem.Text, http.StatusUnprocessableEntity
	}
	return "", 0
}
