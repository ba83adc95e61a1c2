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

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/prompt"
	"telltale/evidence/source"
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
	name  string // no other desk has it
	at    string // the address of its page
	was   string // its address before its file was renamed; "" if it was not
	talk  conversation
	job   *desk // to which it led; nil: to none
	turns int   // how many answers were taken
	last  prompt.Answer
	shown []shown // the latest, the last at the end
	used  int     // when it was asked for last, counted in requests
}

// desks are the conversations that are held, by the address of their page.
type desks struct {
	sync.Mutex
	start string // names this start of the program: no form of an earlier one fits
	begun int    // desks so far
	used  int    // requests so far
	most  int
	all   map[string]*desk
}

// mostDesks bounds how many conversations are kept: of more, the one that was left
// alone longest is let go. What was answered there is in its file.
const mostDesks = 200

func newDesks() desks { return desks{start: rand.Text()[:8], most: mostDesks, all: map[string]*desk{}} }

// sit gives the desk of an address, and begins one where there is none. It is locked:
// whoever has it unlocks it. The error is that of begin.
func (d *desks) sit(at string, begin func() (conversation, error)) (*desk, error) {
	for {
		k := d.place(at)
		k.Lock()
		if !d.holds(at, k) { // it was left or moved while somebody else had it
			k.Unlock()
			continue
		}
		if k.talk != nil {
			return k, nil
		}
		var err error
		if k.talk, err = begin(); err != nil {
			d.leave(k)
			k.Unlock()
			return nil, err
		}
		d.bound(k)
		return k, nil
	}
}

func (d *desks) place(at string) *desk {
	d.Lock()
	defer d.Unlock()
	d.used++
	k := d.all[at]
	if k == nil {
		d.begun++
		k = &desk{name: fmt.Sprintf("%s.%d", d.start, d.begun), at: at}
		d.all[at] = k
	}
	k.used = d.used
	return k
}

// holds says whether a desk is still the one at an address.
func (d *desks) holds(at string, k *desk) bool {
	d.Lock()
	defer d.Unlock()
	return d.all[at] == k
}

// bound lets the desk go that was left alone longest, where there are too many; not
// the one that was begun just now.
func (d *desks) bound(begun *desk) {
	d.Lock()
	defer d.Unlock()
	for len(d.all) > d.most {
		var oldest *desk
		for _, k := range d.all {
			if k != begun && (oldest == nil || k.used < oldest.used) {
				oldest = k
			}
		}
		delete(d.all, oldest.at)
	}
}

// leave lets a conversation go.
func (d *desks) leave(k *desk) {
	d.Lock()
	defer d.Unlock()
	if d.all[k.at] == k {
		delete(d.all, k.at)
	}
}

// move has a conversation go on under another address.
func (d *desks) move(k *desk, to string) {
	d.Lock()
	defer d.Unlock()
	if d.all[k.at] == k {
		delete(d.all, k.at)
		d.all[to] = k
	}
	k.was, k.at = k.at, to
}

// movedTo is the address of the conversation that went on from another: the one that a
// turn belongs to, or any where it is "". "" if none did.
func (d *desks) movedTo(from, turn string) string {
	d.Lock()
	defer d.Unlock()
	for at, k := range d.all {
		if k.was == from && (turn == "" || strings.HasPrefix(turn, k.name+".")) {
			return at
		}
	}
	return ""
}

// address is that of a desk that somebody else may have.
func (d *desks) address(k *desk) string {
	d.Lock()
	defer d.Unlock()
	return k.at
}

// shown is what stood on a page, so that of an answer that comes too late it can be
// told what it was, and what changed since.
type shown struct {
	turn   string
	prompt prompt.Prompt
	text   string // names that of the case among those that were seen
}

// mostShown is how many pages of a desk are kept.
const mostShown = 16

// show keeps what a page shows.
func (k *desk) show(p prompt.Prompt, text string) {
	now := shown{turn: k.turn(), prompt: p, text: text}
	if k.shownTo(now.turn, p.Rests) != nil {
		return
	}
	k.shown = append(k.shown[max(0, len(k.shown)+1-mostShown):], now)
}

// shownTo is what stood on the page of a turn; nil if it is not kept.
func (k *desk) shownTo(turn, rests string) *shown {
	i := slices.IndexFunc(k.shown, func(s shown) bool { return s.turn == turn && s.prompt.Rests == rests })
	if i < 0 {
		return nil
	}
	return &k.shown[i]
}

// The fields of a form that answers a prompt.
const (
	fieldTurn   = "turn"   // which turn of the conversation it answers
	fieldPrompt = "prompt" // the prompt's id
	fieldRests  = "rests"  // the digest that the prompt carried
	fieldAlone  = "alone"  // the one option that was pressed
	fieldChosen = "chosen" // those that were ticked
	fieldText   = "text"
	fieldAnew   = "anew" // begins a talk again that is over
)

// turn names the turn that a desk has come to.
func (k *desk) turn() string { return k.named(k.turns) }

func (k *desk) named(turn int) string { return fmt.Sprintf("%s.%d", k.name, turn) }

// staleError says that a form answers what is not asked any more. Its answer was not
// taken.
type staleError struct{ anew bool }

func (e *staleError) Error() string {
	if e.anew {
		return "The talk was begun anew since this was asked, as it is when the program is started again. Your last answer was NOT taken. What was answered before is kept. Please look at what is asked now."
	}
	return "Somebody answered this in between, in another window or tab. Your last answer was NOT taken. Please look at what is asked now."
}

// take takes the answer of a form. A second press of the same button is no second
// answer. The error is a *staleError where the form is not of now, else that of the
// conversation.
func (k *desk) take(form url.Values) error {
	a := answerOf(form)
	switch turn := form.Get(fieldTurn); {
	case turn == k.turn():
	case k.turns > 0 && turn == k.named(k.turns-1) && same(a, k.last):
		return nil
	default:
		return &staleError{anew: !strings.HasPrefix(turn, k.name+".")}
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

// refusal is what is said of an answer that was not taken.
func refusal(err error) (said string, status int) {
	var problem *prompt.Problem
	var stale *staleError
	switch {
	case errors.As(err, &stale):
		return stale.Error(), http.StatusConflict
	case errors.As(err, &problem) && problem.Code == prompt.Other:
		return problem.Text + " It was NOT taken. Please look at what is asked now.", http.StatusConflict
	case errors.As(err, &problem):
		return problem.Text, http.StatusUnprocessableEntity
	}
	return "Your last answer could NOT be written: " + doc.Shown(source.Plain(err)) + ". Nothing else was changed. Once that is put right, answer again.", http.StatusInternalServerError
}
