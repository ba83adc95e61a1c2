package dialogue

import (
	"fmt"
	"slices"
	"strings"

	"telltale/cmd/internal/prompt"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// The locks of the isolation, and what stays open, are written down as the steps
// are done, if the crew wants. Nothing waits for it.

// lockHere asks whose lock hangs on what, or what stays open and who opened it.
func (r *round) lockHere(g *rules.Safety) turn {
	question, things := "What does the lock hang on?", g.LockOn
	if len(things) == 0 {
		question, things = "What stays open?", g.LeavesOpen
	}
	return thing(question, things, func(what string) turn {
		return r.name("Whose name?", func(by string) turn {
			if len(g.LockOn) == 0 {
				return write(record.LeaveOpen(evidence.LeftOpen{What: what, By: by, At: r.time()}), r.log("stays open: "+what))
			}
			return entry("tag", "Number of its tag, or where the key is?", "for none", func(tag string) turn {
				return write(record.HangLock(evidence.Lock{On: what, By: by, At: r.time(), Tag: tag}), r.log(by+"'s lock on: "+what))
			})
		})
	})
}

// thing takes one of some things, or another.
func thing(question string, things []string, take func(string) turn) turn {
	p := prompt.Prompt{ID: "thing", Ask: question, Back: backBare, Leave: leave, Entry: &prompt.Entry{Hint: "what it is"}}
	for _, t := range things {
		p.Options = append(p.Options, option(t, t))
	}
	return turn{Prompt: p, Take: func(a prompt.Answer) turn { return take(a.One() + a.Text) }}
}

// name takes a name; without one it is whoever confirms, or nobody: then nothing
// is written.
func (r *round) name(question string, take func(string) turn) turn {
	blank := "writes nothing"
	if r.s.By != "" {
		blank = "for " + r.s.By
	}
	return entry("name", question, blank, func(name string) turn {
		if name == "" {
			name = r.s.By
		}
		if name == "" {
			return turn{}
		}
		return take(name)
	})
}

// lists gives what a step of the closing up has of the case to list.
func (r *round) lists(step string) (locks []evidence.Lock, open []evidence.LeftOpen) {
	back := r.Book.Returns.Get(step)
	if back == nil {
		return nil, nil
	}
	if slices.Contains(back.Lists, rules.ListsLocks) {
		locks = r.k.HangingLocks()
	}
	if slices.Contains(back.Lists, rules.ListsOpen) {
		open = r.k.StillLeftOpen()
	}
	return locks, open
}

// takenOff asks which locks are off, each by its owner, and what is shut again.
func (r *round) takenOff(locks []evidence.Lock, open []evidence.LeftOpen) turn {
	p := prompt.Prompt{ID: "off", Ask: "Which locks are off, each taken off by its owner?", Back: backBare}
	if len(locks) == 0 {
		p.Ask = "Which are shut now?"
	}
	off := map[string]func(by string) []record.Edit{}
	offer := func(title string, edits func(by string) []record.Edit) {
		id := fmt.Sprintf("line %d", len(p.Options)+1)
		p.Options = append(p.Options, prompt.Option{ID: id, Title: title, Together: true})
		off[id] = edits
	}
	for _, l := range locks {
		offer(strings.TrimSpace(l.By+", on "+l.On+" "+l.Tag), func(string) []record.Edit {
			return []record.Edit{record.LockOff(l.On, l.By, l.Tag, l.By, r.time()), r.log(l.By + "'s lock off: " + l.On)}
		})
	}
	for _, o := range open {
		offer(o.What, func(by string) []record.Edit {
			return []record.Edit{record.Shut(o.What, by, r.time()), r.log("shut: " + o.What)}
		})
	}
	return several(p, func(ids []string) turn {
		do := func(by string) turn {
			var edits []record.Edit
			for _, id := range ids {
				edits = append(edits, off[id](by)...)
			}
			return write(edits...)
		}
		if len(open) == 0 {
			return do("")
		}
		return r.name("Who shut it?", do)
	})
}
