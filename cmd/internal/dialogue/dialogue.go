package dialogue

import (
	"errors"
	"fmt"
	"time"

	"telltale/cmd/internal/talk"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// Dialogue is one sitting with the crew over one case file.
type Dialogue struct {
	book    *rules.Book
	file    *record.File
	term    *talk.Terminal
	now     func() time.Time
	sitting *interview.Sitting
	by      string // who answers, for the log; "" if nobody said
	before  []moment
}

// moment is what "back" goes back to.
type moment struct {
	text    []byte
	sitting *interview.Sitting
}

// New starts a sitting over an open case file.
func New(book *rules.Book, file *record.File, term *talk.Terminal, now func() time.Time) *Dialogue {
	return &Dialogue{book: book, file: file, term: term, now: now, sitting: interview.NewSitting()}
}

// errLeave ends the sitting because the crew wants to leave.
var errLeave = errors.New("leave")

// Run talks until the crew leaves, nobody answers any more or nothing is left.
// Everything that was answered is in the file then.
func (d *Dialogue) Run() error {
	err := d.run()
	if errors.Is(err, talk.ErrEnd) || errors.Is(err, errLeave) {
		return d.term.Say(0, fmt.Sprintf("Everything that was answered is in %s. telltale ask goes on from there.", d.file.Name()))
	}
	return err
}

func (d *Dialogue) run() error {
	if k, err := d.file.Case(); err != nil {
		return err
	} else if k != nil {
		if err := d.greet(k); err != nil {
			return err
		}
	}
	for {
		k, err := d.file.Case()
		if err != nil {
			return err
		}
		if k == nil {
			if err := d.begin(); err != nil {
				return err
			}
			continue
		}
		move, err := interview.Next(d.book, k, d.sitting)
		if err != nil && move.Kind == "" {
			return err
		}
		over, err := d.turn(k, &move)
		if err != nil || over {
			return err
		}
	}
}

// turn puts one move to the crew; over says that nothing is left.
func (d *Dialogue) turn(k *evidence.Case, m *interview.Move) (over bool, err error) {
	switch m.Kind {
	case interview.Stop:
		return false, d.readStop(m)
	case interview.Leave:
		return true, d.term.Say(0, "The pump waits until the stop condition is over. Nothing more is asked now.")
	case interview.Notice:
		return false, d.notice(k, "What was noticed? Type a number, or a word such as leak, knock or pressure.")
	case interview.Ask:
		return false, d.ask(k, m)
	case interview.Do:
		return false, d.step(k, m)
	case interview.Repair:
		return false, d.repair(k, m)
	case interview.Recheck:
		return false, d.recheck(k, m)
	case interview.Close:
		return false, d.closing(k, m)
	case interview.Done:
		return true, d.done(k)
	}
	return d.nothingLeft(k, m)
}

// write makes the edits of one answer and saves them; then the answer counts.
// What stood before is kept for "back".
func (d *Dialogue) write(edits ...record.Edit) error {
	was := moment{text: d.file.Text(), sitting: d.sitting.Copy()}
	if _, err := d.file.Write(edits...); err != nil {
		return d.notWritten(err)
	}
	d.before = append(d.before, was)
	return nil
}

// notWritten tells the crew why an answer was not written, if the talk can go
// on: somebody edited the file in between (his words stand), or the answer
// does not fit what was said before.
func (d *Dialogue) notWritten(err error) error {
	var changed *record.ChangedError
	var refused *record.RefusedError
	switch {
	case errors.As(err, &changed) && changed.Now != nil:
		if err := d.file.Reread(); err != nil {
			return err
		}
		d.before = nil
		return d.term.Say(0, "The case file was changed by somebody else in between. It was read again. Your last answer was NOT written; please answer again.")
	case errors.As(err, &refused):
		return d.term.Say(0, "That does not fit what the case says already: "+refused.Error()+" It was NOT written.")
	}
	return err
}

// remember keeps the sitting for "back" before something is noted in it alone.
func (d *Dialogue) remember() {
	d.before = append(d.before, moment{text: d.file.Text(), sitting: d.sitting.Copy()})
}

// back takes the last answer back.
func (d *Dialogue) back() error {
	if len(d.before) == 0 {
		return d.term.Say(0, "There is nothing to go back to in this sitting.")
	}
	last := d.before[len(d.before)-1]
	if err := d.file.Save(last.text); err != nil {
		return d.notWritten(err)
	}
	d.before = d.before[:len(d.before)-1]
	d.sitting = last.sitting
	return nil
}

// log is the edit that notes what was done, by whom and when.
func (d *Dialogue) log(did string) record.Edit {
	return record.AddLog(evidence.LogEntry{At: d.now().UTC().Format(time.RFC3339), By: d.by, Did: did})
}

// greet says where the case stands when it is taken up again.
func (d *Dialogue) greet(k *evidence.Case) error {
	name := k.Pump.Name
	if name == "" {
		name = "the pump"
	}
	if err := d.term.Say(0, fmt.Sprintf("%s, %s. %d findings so far.", name, k.Pump.State, len(k.Findings))); err != nil {
		return err
	}
	if k.Pump.State == evidence.Isolated {
		return d.term.Say(0, "The case says that the pump is isolated. After a break that is proved again.")
	}
	return nil
}

// begin asks what a new case needs: the pump and how it stands.
func (d *Dialogue) begin() error {
	actions := evidence.Actions()
	i, err := d.choose("What pump is it?", []talk.Option{{Text: "triplex, single-acting (three cylinders)"}, {Text: "duplex, double-acting (two cylinders)"}})
	if err != nil {
		return err
	}
	action := actions[i]
	if err := d.term.Say(0, "Its name? Enter leaves it out."); err != nil {
		return err
	}
	name, err := d.term.Ask("")
	if err != nil {
		return err
	}
	j, err := d.choose("How does it stand now?", []talk.Option{{Text: "it runs"}, {Text: "it is stopped"}, {Text: "it is isolated: locked off, lines closed, pressure proved zero"}})
	if err != nil {
		return err
	}
	edits := []record.Edit{record.SetPump("action", action), record.SetPump("state", evidence.PumpStates()[j])}
	if name != "" {
		edits = append(edits, record.SetPump("name", name))
	}
	if _, err := d.file.Write(edits...); err != nil {
		return d.notWritten(err)
	}
	return nil
}

// choose offers answers and, besides, to leave.
func (d *Dialogue) choose(question string, options []talk.Option) (int, error) {
	i, err := d.term.Choose(question, append(options, talk.Option{Key: "q", Text: "leave; everything is kept"}))
	if err == nil && i == len(options) {
		return 0, errLeave
	}
	return i, err
}
