package dialogue

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/talk"
	"telltale/engine"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/source"
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
	queue   []sign // what a check showed and is asked next
	stood   string // where the case stood when that was last shown
	rated   string // what was last said of the pump's ratings
	waits   string // how long it can wait, as it was last said
	before  []moment
}

// moment is what "back" goes back to.
type moment struct {
	text    []byte
	sitting *interview.Sitting
	queue   []sign
}

// New starts a sitting over an open case file.
func New(book *rules.Book, file *record.File, term *talk.Terminal, now func() time.Time) *Dialogue {
	return &Dialogue{book: book, file: file, term: term, now: now, sitting: interview.NewSitting()}
}

// What the crew can want instead of an answer: to leave, or to go back.
var (
	errLeave = errors.New("leave")
	errBack  = errors.New("back")
)

// Run talks until the crew leaves, nobody answers any more or nothing is left.
// Everything that was answered is in the file then.
func (d *Dialogue) Run() error {
	err := d.run()
	if errors.Is(err, talk.ErrEnd) { // what comes next is not to stand behind the prompt
		if err := d.term.Gap(); err != nil {
			return err
		}
	}
	if errors.Is(err, talk.ErrEnd) || errors.Is(err, errLeave) {
		return d.term.Say(0, fmt.Sprintf("Everything that was answered is in %s. telltale ask goes on from there.", d.file.Name()))
	}
	return err
}

func (d *Dialogue) run() error {
	if local := d.book.Local; local != nil {
		if err := d.term.Say(0, "The rulebook is changed by the "+local.String()+". What comes from it is marked."); err != nil {
			return err
		}
	}
	if err := d.stopsFirst(); err != nil {
		return err
	}
	if err := d.takeUp(); err != nil {
		return err
	}
	for {
		over, err := d.next()
		if errors.Is(err, errBack) {
			err = d.back()
		}
		if err != nil || over {
			return err
		}
	}
}

// next is one turn of the talk; over says that nothing is left.
func (d *Dialogue) next() (over bool, err error) {
	k, err := d.file.Case()
	if err != nil {
		return false, err
	}
	if k == nil {
		return false, d.begin()
	}
	move, err := interview.Next(d.book, k, d.sitting)
	if err == nil && move.Kind != interview.Stop { // a stop condition is read out first
		if err := d.sayHaste(move.Report); err != nil {
			return false, err
		}
	}
	switch {
	case err != nil && move.Kind == "":
		return false, d.cannotWeigh(k, err)
	case len(d.sitting.Returning) > 0 && move.Kind != interview.Close && move.Kind != interview.Stop && move.Kind != interview.Taken:
		return false, d.breakOff(k)
	case len(d.queue) > 0 && move.Kind != interview.Stop && move.Kind != interview.Leave && move.Kind != interview.Taken:
		return false, d.askQueued(k)
	}
	return d.turn(k, &move)
}

// cannotWeigh lets the crew put right what makes the case impossible or too
// wide to be weighed; what was said stays in the file till then.
func (d *Dialogue) cannotWeigh(k *evidence.Case, why error) error {
	d.queue = nil
	if err := d.term.Say(0, "It goes no further like this: "+why.Error()+"."); err != nil {
		return err
	}
	options := []talk.Option{{Key: "b", Text: "back: the last answer was wrong"}, {Key: "r", Text: "report or correct a sign"}, {Key: "q", Text: "leave"}}
	i, err := d.term.Choose("", options)
	switch {
	case err != nil:
		return err
	case i == 0:
		return errBack
	case i == 1:
		return d.notice(k, "Which sign?")
	}
	return errLeave
}

// turn puts one move to the crew; over says that nothing is left.
func (d *Dialogue) turn(k *evidence.Case, m *interview.Move) (over bool, err error) {
	if err := d.ratings(m); err != nil {
		return false, err
	}
	switch m.Kind {
	case interview.Stop:
		return false, d.readStop(m)
	case interview.Leave:
		return d.waiting(k, m)
	case interview.Held:
		return false, d.held(k, m)
	case interview.Taken:
		return false, d.taken(m)
	case interview.Which:
		return false, d.which(m)
	case interview.Straight:
		return false, d.straight(m)
	case interview.Notice:
		return false, d.notice(k, "What was noticed?")
	case interview.Lately:
		return false, d.lately()
	case interview.Ask:
		return false, d.ask(k, m)
	case interview.Do:
		return false, d.step(k, m)
	case interview.Repair:
		return false, d.repair(k, m)
	case interview.LookAgain:
		return false, d.lookAgain(k, m)
	case interview.Close:
		return false, d.closing(k, m)
	case interview.Done:
		return d.done(k)
	}
	return d.nothingLeft(k, m)
}

// sayHaste says how long it can wait, before the first question and whenever
// that is another verdict than it was.
func (d *Dialogue) sayHaste(r *engine.Report) error {
	if r == nil || r.Haste == nil || r.Haste.Says == d.waits {
		return nil
	}
	d.waits = r.Haste.Says
	if err := d.term.Gap(); err != nil {
		return err
	}
	return d.term.Say(0, strings.TrimSpace(pages.HasteLine(r.Haste)+" "+pages.UntilItStands(r)))
}

// write makes the edits of one answer and saves them; then the answer counts.
// What stood before is kept for "back".
func (d *Dialogue) write(edits ...record.Edit) error { return d.writeThen(nil, edits...) }

// writeThen is write, and notes in the sitting what the answer means for it.
// Nothing is noted when nothing was written.
func (d *Dialogue) writeThen(note func(*interview.Sitting), edits ...record.Edit) error {
	was := d.moment()
	if err := d.accepts(edits); err != nil {
		return d.notWritten(err)
	}
	if _, err := d.file.Write(edits...); err != nil {
		return d.notWritten(err)
	}
	d.before = append(d.before, was)
	if note != nil {
		note(d.sitting)
	}
	return nil
}

// accepts refuses an answer after which the case could not be worked out: it
// says the opposite of a reading.
func (d *Dialogue) accepts(edits []record.Edit) error {
	before, err := d.file.Case()
	if err != nil {
		return err
	}
	_, after, err := record.Apply(d.file.Name(), d.file.Text(), d.book.Vocabulary(), edits...)
	if err != nil {
		return nil // Write says it
	}
	var input *source.InputError
	if err := engine.Accepts(d.book, before, after); errors.As(err, &input) {
		return &record.RefusedError{Err: input}
	}
	return nil
}

func (d *Dialogue) moment() moment {
	return moment{text: d.file.Text(), sitting: d.sitting.Copy(), queue: d.queue}
}

// notWritten tells the crew why an answer was not written, if the talk can go
// on: somebody edited the file in between (his words stand), or the answer
// does not fit what was said before.
func (d *Dialogue) notWritten(err error) error {
	var changed *record.ChangedError
	var refused *record.RefusedError
	switch {
	case errors.As(err, &changed) && changed.Now != nil:
		return d.reread()
	case errors.As(err, &refused):
		return d.term.Say(0, "That does not fit what the case says already: "+refused.Error()+". It was NOT written.")
	}
	return err
}

// reread takes over what somebody wrote into the file. If the pump stands
// otherwise now, what was done here to make it safe counts no longer.
func (d *Dialogue) reread() error {
	was, err := d.file.Case()
	if err != nil {
		return err
	}
	if err := d.file.Reread(); err != nil {
		return err
	}
	d.before, d.queue = nil, nil
	now, err := d.file.Case()
	if err != nil {
		return errors.Join(d.term.Say(0, "The case file was changed by somebody else in between, and has a mistake in it now. Your last answer was NOT written."), err)
	}
	if was == nil || now == nil || now.Pump.State != was.Pump.State {
		d.sitting = interview.NewSitting()
	}
	return d.term.Say(0, "The case file was changed by somebody else in between. It was read again. Your last answer was NOT written; please answer again.")
}

// remember keeps the sitting for "back" before something is noted in it alone.
func (d *Dialogue) remember() { d.before = append(d.before, d.moment()) }

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
	d.sitting, d.queue = last.sitting, last.queue
	return nil
}

// log is the edit that notes what was done, by whom and when.
func (d *Dialogue) log(did string) record.Edit {
	return record.AddLog(evidence.LogEntry{At: d.now().UTC().Format(time.RFC3339), By: d.by, Did: did})
}

// stopsFirst reads out the stop conditions of an old case before anything else is
// said.
func (d *Dialogue) stopsFirst() error {
	for {
		k, err := d.file.Case()
		if err != nil || k == nil {
			return err
		}
		move, _ := interview.Next(d.book, k, d.sitting) // what cannot be weighed is said later
		if move.Kind != interview.Stop {
			return nil
		}
		err = d.readStop(&move)
		if errors.Is(err, errBack) {
			err = d.back()
		}
		if err != nil {
			return err
		}
	}
}

// takeUp says where an old case stands, and asks whether the pump still stands
// so.
func (d *Dialogue) takeUp() error {
	for {
		k, err := d.file.Case()
		if err != nil || k == nil {
			return err
		}
		name := k.Pump.Name
		if name == "" {
			name = "The pump"
		}
		if err := d.term.Say(0, fmt.Sprintf("%s: %s. Findings so far: %d.", name, k.Pump.State, len(k.Findings))); err != nil {
			return err
		}
		same, err := d.stillSo(k)
		if same || err != nil && !errors.Is(err, errBack) {
			return err
		}
	}
}

// stillSo asks whether the pump stands as the case says, and notes it if it
// does not. What is said to be isolated now was not isolated with this case:
// that is not offered.
func (d *Dialogue) stillSo(k *evidence.Case) (same bool, err error) {
	var states []evidence.PumpState
	options := []talk.Option{{Text: stillSo[k.Pump.State]}}
	for _, state := range []evidence.PumpState{evidence.Running, evidence.Stopped} {
		if state != k.Pump.State {
			states, options = append(states, state), append(options, talk.Option{Text: "no, " + standsNow[state]})
		}
	}
	i, err := d.choose("Does it still stand so?", options)
	if err != nil || i == 0 {
		return err == nil, err
	}
	state := states[i-1]
	return false, d.write(record.SetPump("state", string(state)), d.log("said: "+standsNow[state]))
}

var standsNow = map[evidence.PumpState]string{
	evidence.Running:  "it runs",
	evidence.Stopped:  "it is stopped",
	evidence.Isolated: "it is isolated: locked off, lines closed, pressure proved zero",
}

var stillSo = map[evidence.PumpState]string{
	evidence.Running:  "yes, it still runs",
	evidence.Stopped:  "yes, it is still stopped",
	evidence.Isolated: "yes, it is still isolated; before hands go in that is proved again",
}

// begin asks what a new case needs: the pump and how it stands.
func (d *Dialogue) begin() error {
	actions := evidence.Actions()
	i, err := d.choose("What pump is it?", []talk.Option{{Text: "triplex, single-acting (three cylinders)"}, {Text: "duplex, double-acting (two cylinders)"}})
	if err != nil {
		return err
	}
	action := actions[i]
	name, err := d.term.Ask("Its name? Enter leaves it out.")
	if err != nil {
		return err
	}
	var options []talk.Option
	for _, state := range evidence.PumpStates() {
		options = append(options, talk.Option{Text: standsNow[evidence.PumpState(state)]})
	}
	j, err := d.choose("How does it stand now?", options)
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

// choose offers answers and, besides, to go back (errBack) and to leave
// (errLeave).
func (d *Dialogue) choose(question string, options []talk.Option) (int, error) {
	options = append(slices.Clone(options), talk.Option{Key: "b", Text: "back"}, talk.Option{Key: "q", Text: "leave"})
	i, err := d.term.Choose(question, options)
	switch {
	case err != nil:
		return 0, err
	case options[i].Key == "b":
		return 0, errBack
	case options[i].Key == "q":
		return 0, errLeave
	}
	return i, nil
}
