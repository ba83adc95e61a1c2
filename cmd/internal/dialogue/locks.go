package dialogue

import (
	"strings"
	"time"

	"telltale/cmd/internal/talk"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// The locks of the isolation, and what stays open, are written down as the steps
// are done, if the crew wants. Nothing waits for it.

// lockOption offers it at a safety step.
func lockOption(g *rules.Safety) string {
	if len(g.LockOn) > 0 {
		return "whose lock hangs here? write it down"
	}
	return "what stays open? write it down"
}

// lockHere asks whose lock hangs on what, or what stays open and who opened it.
func (d *Dialogue) lockHere(g *rules.Safety) error {
	question, things := "What does the lock hang on? A number, or type it.", g.LockOn
	if len(things) == 0 {
		question, things = "What stays open? A number, or type it.", g.LeavesOpen
	}
	thing, err := d.thing(question, things)
	if err != nil || thing == "" {
		return err
	}
	by, err := d.name("Whose name?")
	if err != nil || by == "" {
		return err
	}
	at := d.now().UTC().Format(time.RFC3339)
	if len(g.LockOn) == 0 {
		return d.write(record.LeaveOpen(evidence.LeftOpen{What: thing, By: by, At: at}), d.log("stays open: "+thing))
	}
	tag, err := d.line("Number of its tag, or where the key is; Enter for none.")
	if err != nil {
		return err
	}
	return d.write(record.HangLock(evidence.Lock{On: thing, By: by, At: at, Tag: tag}), d.log(by+"'s lock on: "+thing))
}

// thing takes one of some things, or another that is typed; "" if nothing is to
// be written.
func (d *Dialogue) thing(question string, things []string) (string, error) {
	var options []talk.Option
	for _, t := range things {
		options = append(options, talk.Option{Text: t})
	}
	options = append(options, talk.Option{Key: "b", Text: "back, write nothing"})
	typed, i, err := d.term.ChooseOrWord(question, options)
	switch {
	case err != nil:
		return "", err
	case i < 0:
		return typed, nil
	case i == len(things):
		return "", nil
	}
	return things[i], nil
}

// name takes a name; Enter is whoever confirms, or nobody: then nothing is
// written.
func (d *Dialogue) name(question string) (string, error) {
	if d.by != "" {
		question += " Enter for " + d.by + "."
	} else {
		question += " Enter: write nothing."
	}
	name, err := d.line(question)
	if name == "" {
		name = d.by
	}
	return name, err
}

func (d *Dialogue) line(question string) (string, error) {
	if err := d.term.Say(0, question); err != nil {
		return "", err
	}
	return d.term.Ask("")
}

// lists says whether a step of the closing up has something of the case to list.
func (d *Dialogue) lists(k *evidence.Case, step string) (locks []evidence.Lock, open []evidence.LeftOpen) {
	r := d.book.Returns.Get(step)
	if r == nil {
		return nil, nil
	}
	for _, list := range r.Lists {
		for _, l := range k.Locks {
			if list == rules.ListsLocks && l.Hangs() {
				locks = append(locks, l)
			}
		}
		for _, o := range k.StaysOpen {
			if list == rules.ListsOpen && o.Open() {
				open = append(open, o)
			}
		}
	}
	return locks, open
}

// takenOff asks which locks are off, each by its owner, and what is shut again.
func (d *Dialogue) takenOff(locks []evidence.Lock, open []evidence.LeftOpen) error {
	question := "Which locks are off, each taken off by its owner? (several numbers with blanks between)"
	if len(locks) == 0 {
		question = "Which are shut now? (several numbers with blanks between)"
	}
	var options []talk.Option
	for _, l := range locks {
		options = append(options, talk.Option{Text: strings.TrimSpace(l.By + ", on " + l.On + " " + l.Tag)})
	}
	for _, o := range open {
		options = append(options, talk.Option{Text: o.What})
	}
	options = append(options, talk.Option{Key: "b", Text: "back, write nothing"})
	chosen, err := d.term.Several(question, options)
	if err != nil || options[chosen[0]].Key == "b" {
		return err
	}
	at, by := d.now().UTC().Format(time.RFC3339), d.by
	if len(open) > 0 {
		if by, err = d.name("Who shut it?"); err != nil || by == "" {
			return err
		}
	}
	var edits []record.Edit
	for _, c := range chosen {
		if c < len(locks) {
			l := locks[c]
			edits = append(edits, record.LockOff(l.On, l.By, l.Tag, l.By, at), d.log(l.By+"'s lock off: "+l.On))
			continue
		}
		what := open[c-len(locks)].What
		edits = append(edits, record.Shut(what, by, at), d.log("shut: "+what))
	}
	return d.write(edits...)
}
