package dialogue

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/prompt"
	"telltale/engine"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// Sitting is one talk with the crew over one case file. Others may write to the
// file meanwhile. It is not for several goroutines at once.
type Sitting struct {
	talk    Talk
	file    *record.File
	state   State
	report  *engine.Report // behind the last prompt; nil: nothing was weighed for it
	unfit   error          // see Unfit
	unnamed bool           // a new job of a rig, of which nobody has told a sign yet
	broken  error
	late    bool // the last answer came too late
}

// As says who answers from now on; "" is nobody named.
func (s *Sitting) As(name string) { s.state.By = prompt.Plain(name) }

// By is who answers; "" if nobody was named.
func (s *Sitting) By() string { return s.state.By }

// Call names the pump of a new case before the talk begins.
func (s *Sitting) Call(name string) { s.talk.Name = name }

// NewSitting begins a sitting over a case file.
func NewSitting(book *rules.Book, file *record.File, now func() time.Time) *Sitting {
	return &Sitting{talk: Talk{Book: book, File: file.Name(), Pump: file.Words().Pump, Now: now}, file: file, state: NewState()}
}

// Prompt gives what is asked now.
func (s *Sitting) Prompt() (prompt.Prompt, error) {
	if s.broken != nil {
		s.report, s.unfit = nil, nil
		return prompt.Prompt{ID: "over", News: s.state.News}, nil
	}
	p, r, err := s.talk.asks(s.file.Text(), s.state)
	if s.report, s.unfit = nil, nil; r != nil {
		s.report, s.unfit = r.rests, r.unfit
	}
	return p, err
}

// Report is what was weighed for the last prompt; nil if nothing was. It is the report
// of an interview.Move: it does not say how firm it is, and of a case that cannot be
// weighed, or while a stop condition is read, it has the stop conditions alone.
func (s *Sitting) Report() *engine.Report { return s.report }

// Unfit is why the case cannot be weighed, where the last prompt said so; else nil.
func (s *Sitting) Unfit() error { return s.unfit }

// File is the path of the case file. A new job of a rig is renamed once a sign is told.
func (s *Sitting) File() string { return s.file.Name() }

// Broken is why nothing can be asked any more: somebody wrote a mistake into the
// file. nil while there is none.
func (s *Sitting) Broken() error { return s.broken }

// Begun says whether an answer that takes several prompts is under way: nothing of
// it is in the file yet.
func (s *Sitting) Begun() bool { return len(s.state.Said) > 0 }

// Empty says whether nothing is in the file yet.
func (s *Sitting) Empty() bool { return len(s.file.Text()) == 0 }

// Answer takes an answer; when it returns nil the answer is in the file, unless it came
// too late: one that was given to a case that somebody changed in between is not taken.
// The next prompt says what changed, and is made from the case as it is now.
//
// Errors: *prompt.Problem if it is no answer to the prompt, *record.ChangedError
// if the file is gone, else those of Talk.Answer and of record.File.Save.
func (s *Sitting) Answer(a prompt.Answer) error {
	s.late = false
	if changed, err := s.meanwhile(true); changed || err != nil {
		return err
	}
	text, state, err := s.talk.Answer(s.file.Text(), s.state, a)
	if err != nil {
		return err
	}
	if err := s.save(text, state); err != nil {
		return err
	}
	s.nameJob()
	return nil
}

func (s *Sitting) save(text []byte, state State) error {
	if string(text) != string(s.file.Text()) {
		if err := s.file.Save(text); err != nil {
			return s.stale(err, true)
		}
	}
	s.state = state
	return nil
}

// LookAgain takes over what somebody else wrote meanwhile, where nothing was answered;
// the next prompt says what changed. Errors: those of Answer but for *prompt.Problem.
func (s *Sitting) LookAgain() error {
	_, err := s.meanwhile(false)
	return err
}

// What begins what is said of a change of the pump's file, and of how another job on the
// pump says that it stands.
const (
	pumpChanged  = "The file of the pump was changed by somebody else in between"
	otherChanged = "Another job on this pump was changed: by it the pump stands otherwise now"
)

// meanwhile takes over what somebody wrote into the file of the case, of its pump, or of
// both, and says whether somebody did; answered says whether an answer is lost by it.
func (s *Sitting) meanwhile(answered bool) (changed bool, err error) {
	pump, err, was := false, error(nil), s.talk.Pump
	if k, broken := s.Case(); broken != nil || k == nil || !k.Job.IsClosed() { // behind a closed job it is read as it is then
		pump, err = s.file.RereadPump()
		if now := s.file.Words().Pump; now != s.talk.Pump { // the case as it is now is read with the pump as it is now
			s.talk.Pump, s.talk.last = now, weighed{}
		}
	}
	lead := pumpChanged
	if err == nil && pump && was != nil && evidence.HoldsAs(was.Others) != evidence.HoldsAs(s.talk.Pump.Others) {
		lead = otherChanged
	}
	unchanged := s.file.Unchanged()
	switch {
	case pump && (err != nil || unchanged == nil):
		return true, s.pumpAnew(answered, lead, err)
	case unchanged == nil:
		return false, nil
	}
	err = s.stale(unchanged, answered)
	if pump && err == nil {
		s.state.Sitting = safeAnew(lead, s.state.Sitting)
		s.state.News = slices.Concat(prompt.Lines(prompt.Text, lead+". It was read again."), s.state.News)
	}
	return true, err
}

// pumpAnew goes on with the pump's file as it was read again, or with why it could not be.
// An answer under way is dropped. The error is that of the talk.
func (s *Sitting) pumpAnew(answered bool, lead string, err error) error {
	s.late = answered
	lost := doc.If(answered, " Your last answer was NOT written")
	if err == nil {
		_, err = s.file.Case()
	}
	if s.broken = err; err != nil {
		s.state.News = prompt.Lines(prompt.Text, lead+", and has a mistake in it now, or does not fit this job."+doc.If(answered, lost+"."))
		return nil
	}
	state := s.state.copy()
	state.Said, state.Over = nil, false
	state.Sitting = safeAnew(lead, state.Sitting)
	state.News = prompt.Lines(prompt.Text, lead+". It was read again."+doc.If(answered, lost+"; please answer again."))
	text, state, err := s.talk.settle(s.file.Text(), state)
	if err != nil {
		return err
	}
	return s.save(text, state)
}

// safeAnew is a sitting after how another job says that the pump stands: what was done
// here to make it safe counts no more, and what stops the work is read out anew.
func safeAnew(lead string, s *interview.Sitting) *interview.Sitting {
	if lead == otherChanged {
		return interview.NewSitting()
	}
	return s
}

// stale takes over what somebody else wrote; answered says whether an answer is lost by
// it. Any other error is given back.
func (s *Sitting) stale(err error, answered bool) error {
	var changed *record.ChangedError
	if !errors.As(err, &changed) || changed.Now == nil {
		return err
	}
	s.late = answered
	was := s.file.Text()
	if err := s.file.Reread(); err != nil {
		return err
	}
	if _, err := s.file.Case(); err != nil {
		s.broken = err
		s.state.News = prompt.Lines(prompt.Text, "The case file was changed by somebody else in between, and has a mistake in it now."+doc.If(answered, " Your last answer was NOT written."))
		return nil
	}
	begun := NewState() // what was done before counts no more, should the rest fail
	begun.By = s.state.By
	mended := s.broken != nil
	s.broken = nil
	var text []byte
	var state State
	if mended {
		begun.News = prompt.Lines(prompt.Text, "The mistake in the case file was mended. It was read again, and the talk begins anew.")
		text, state, err = s.talk.settle(s.file.Text(), begun.on(s.file.Text()))
	} else {
		text, state, err = s.talk.Changed(was, s.file.Text(), s.state, answered)
	}
	s.state = begun
	if err != nil {
		return err
	}
	return s.save(text, state)
}

// Begins says that the case is a job of a rig that was begun just now: how the pump
// stands was said, and nobody is asked whether it still stands so; its file is named
// once a sign is told.
func (s *Sitting) Begins() {
	s.state.Begun, s.unnamed = true, true
	s.state = s.state.on(s.file.Text())
}

// nameJob gives the file of a new job its name: it is kept where that name is taken or
// cannot be given.
func (s *Sitting) nameJob() {
	if !s.unnamed {
		return
	}
	k, err := s.Case()
	if err != nil || k == nil {
		return
	}
	sign := signOf(k)
	if sign == "" {
		return
	}
	s.unnamed = false
	base := jobName(k.Job.Date.Format(evidence.DateForm), k.Job.Pump, sign)
	if s.file.Move(freeName(filepath.Join(filepath.Dir(s.File()), base))) == nil {
		s.talk.File = s.File()
	}
}

// Case is the case as it was last read or written; nil without an error: nothing is
// written yet.
func (s *Sitting) Case() (*evidence.Case, error) { return s.file.Case() }

// Text is the text of the case as it was last read or written.
func (s *Sitting) Text() []byte { return s.file.Text() }

// Pump is the pump of the rig that the case is a job on; nil: it stands alone.
func (s *Sitting) Pump() *evidence.PumpFile { return s.talk.Pump }

// mostChanges is how many changes of somebody else are told.
const mostChanges = 12

// Changes tells what changed from one text of a case to another, as entries of a list.
func Changes(was, now []byte) (out []prompt.Line) {
	changes := record.Changes(was, now)
	for _, c := range changes[:min(len(changes), mostChanges)] {
		out = append(out, prompt.Line{Kind: prompt.Item, Text: c.String()})
	}
	if more := len(changes) - mostChanges; more > 0 {
		out = append(out, prompt.Line{Kind: prompt.Item, Text: fmt.Sprintf("and %d more", more)})
	}
	return out
}

// Changed gives the sitting after somebody else changed the case: the answer under
// way is dropped, nothing goes back behind the change, and it is told; a talk that was
// over goes on. What was done here to make the pump safe counts only while nobody else touched how it
// stands.
func (t *Talk) Changed(was, now []byte, s State, answered bool) ([]byte, State, error) {
	before, err := t.taken(was, s)
	if err != nil {
		return nil, s, err
	}
	after, err := t.round(now, before.s)
	if err != nil {
		return nil, s, err
	}
	s = before.s.copy()
	s.Said, s.Before, s.Follow, s.Over = nil, nil, nil, false
	if !standsAsItDid(before.k, after.k) {
		s.Sitting = interview.NewSitting()
	}
	if opened(before.k, after.k) { // the closing up begins anew, with what closes that too
		s.Sitting.Returning, s.Sitting.Closed = nil, map[string]bool{}
	}
	s.News = prompt.Lines(prompt.Text, changedLead(record.Changes(was, now)))
	s.News = append(s.News, Changes(was, now)...)
	if answered {
		s.News = append(s.News, prompt.Line{Kind: prompt.Text, Text: "Your last answer was NOT written; please answer again."})
	}
	return t.settle(now, s)
}

// changedLead says what kind of change was read again: readings alone, which somebody
// typed in beside the talk, or anything else.
func changedLead(changes []record.Change) string {
	const other = "The case file was changed by somebody else in between. It was read again:"
	readings := 0
	for _, c := range changes {
		switch key, _, _ := strings.Cut(c.Key, ":"); {
		case slices.Contains([]string{"measured", "measured-again", "suction-line", "taken", "shims"}, key):
			readings++
		case key != "log" || c.Was != "": // with readings a line may come into the log
			return other
		}
	}
	if readings == 0 {
		return other
	}
	return "Readings were written into the case meanwhile. It was read again:"
}

// opened says whether something is open that was not.
func opened(was, now *evidence.Case) bool {
	return was != nil && now != nil && slices.ContainsFunc(now.Pump.Open, func(at evidence.At) bool { return !was.Pump.Has(at.ID, at.Place) })
}

// standsAsItDid says whether nobody else started, stopped, closed or unlocked the
// pump, or shut what was to stay open, between two states of its case, as far as
// the case tells; what was proved before a stop condition that somebody said to be
// over counts for nobody. That another lock hangs makes up for none that is off.
func standsAsItDid(was, now *evidence.Case) bool {
	if was == nil || now == nil || was.Pump.State != now.Pump.State {
		return false
	}
	off := func(l evidence.Lock) bool { return hang(l, now.Locks) < hang(l, was.Locks) }
	closed := func(o evidence.LeftOpen) bool { return stay(o, now.StaysOpen) < stay(o, was.StaysOpen) }
	if slices.ContainsFunc(was.Locks, off) || slices.ContainsFunc(was.StaysOpen, closed) {
		return false
	}
	shut := func(at evidence.At) bool { return !now.Pump.Has(at.ID, at.Place) }
	if slices.ContainsFunc(was.Pump.Open, shut) || len(now.Log) < len(was.Log) || !slices.Equal(was.Log, now.Log[:len(was.Log)]) {
		return false
	}
	return !slices.ContainsFunc(now.Log[len(was.Log):], func(e evidence.LogEntry) bool {
		return strings.HasPrefix(e.Did, closingLog) || strings.HasPrefix(e.Did, saidLog) || strings.HasPrefix(e.Did, overLog)
	})
}

// hang is how many locks like one hang by a list.
func hang(like evidence.Lock, locks []evidence.Lock) (n int) {
	for _, l := range locks {
		if l.Hangs() && l.Is(like.On, like.By) && strings.EqualFold(l.Tag, like.Tag) {
			n++
		}
	}
	return n
}

// stay is how many like one stand open by a list.
func stay(like evidence.LeftOpen, list []evidence.LeftOpen) (n int) {
	for _, o := range list {
		if o.Open() && strings.EqualFold(o.What, like.What) {
			n++
		}
	}
	return n
}
