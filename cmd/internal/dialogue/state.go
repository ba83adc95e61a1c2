package dialogue

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"maps"
	"slices"
	"time"

	"telltale/cmd/internal/prompt"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/hear"
	"telltale/engine/interview"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/source"
	"telltale/rules"
)

// State is what a sitting has come to, besides what stands in the case. It is a
// value that can be written as JSON and read again. Whoever writes the case keeps
// it: it says what was done to make the pump safe, so nobody else may alter it. To
// show prompts and take answers nobody needs it.
type State struct {
	// Rests is the digest of the case that it belongs to; "" before the first answer.
	Rests   string             `json:"rests"`
	Sitting *interview.Sitting `json:"sitting"` // what was confirmed, put off and read out
	Begun   bool               `json:"begun"`   // it was said how the pump stands
	Over    bool               `json:"over"`
	By      string             `json:"by"` // who answers, for the log; "" if nobody said
	// Follow is what a check is followed by, before anything else is asked.
	Follow []Follow `json:"follow"`
	// Said are the answers so far of one that takes several: none of it is written
	// before all is said.
	Said []prompt.Answer `json:"said"`
	// Told is what was said once, by its name: it is said again when it changes.
	Told map[string]string `json:"told"`
	// Given is how often an answer was given to a prompt, by the digest of both and
	// of what the case says.
	Given map[string]int `json:"given"`
	// TakenUp is the digest of what the case said when what was put off was taken up.
	TakenUp string        `json:"taken_up"`
	News    []prompt.Line `json:"news"` // what the last answer brought
	// Before is what going back leads to, the last at the end.
	Before []Moment `json:"before"`
}

// Moment is a case and a sitting as they stood before an answer.
type Moment struct {
	Text  string `json:"text"`
	State State  `json:"state"`
}

// Follow is what is asked behind a check: which of its signs were seen, or one
// sign at the places of the check. It is also what is asked for again.
type Follow struct {
	Check string         `json:"check,omitempty"`
	Sign  string         `json:"sign,omitempty"`
	At    evidence.Place `json:"at"`
	Work  string         `json:"work,omitempty"`
	Cause string         `json:"cause,omitempty"`
	// Anew: the case holds it already, and it is asked for again.
	Anew bool `json:"anew,omitempty"`
	// Told: the crew told that the check was made; what came of it is asked for only
	// where nothing that it is for was told.
	Told bool `json:"told,omitempty"`
}

// NewState begins a sitting.
func NewState() State {
	return State{Sitting: interview.NewSitting(), Told: map[string]string{}, Given: map[string]int{}}
}

// on is the state as that of a case.
func (s State) on(text []byte) State {
	s.Rests = digest(text)
	return s
}

// of gives the state as one of a case: one that rests on none yet is new, whatever
// it says, and what nothing of the book or the pump answers to is left out. A
// *prompt.Problem if it is the state of another case, or of the case as it was.
func (s State) of(r *round) (State, error) {
	switch {
	case s.Rests == "":
		fresh := NewState()
		fresh.By = s.By
		return fresh, nil
	case s.Rests != digest(r.text):
		return s, &prompt.Problem{Code: prompt.Other, Text: "This talk is of another case, or of the case as it was."}
	}
	s = s.copy()
	strange := func(at evidence.Place) bool {
		return r.k == nil || !slices.ContainsFunc(evidence.Levels(), func(level string) bool {
			return slices.Contains(r.k.Pump.Places(evidence.Level(level)), at)
		})
	}
	s.Follow = slices.DeleteFunc(s.Follow, func(f Follow) bool {
		switch {
		case f.Check != "":
			return strange(f.At) || r.Book.Checks.Get(f.Check) == nil
		case f.Work != "":
			return r.Book.Works.Get(f.Work) == nil
		case f.Cause != "":
			return strange(f.At) || r.Book.Causes.Get(f.Cause) == nil
		}
		return strange(f.At) || r.Book.Signs.Get(f.Sign) == nil
	})
	s.Sitting.ToOpen = slices.DeleteFunc(s.Sitting.ToOpen, func(at evidence.At) bool {
		return strange(at.Place) || r.Book.Openings.Get(at.ID) == nil
	})
	return s, nil
}

func (s State) copy() State {
	if s.Sitting == nil {
		s.Sitting = interview.NewSitting()
	}
	s.Sitting = s.Sitting.Copy()
	if s.Told = maps.Clone(s.Told); s.Told == nil {
		s.Told = map[string]string{}
	}
	if s.Given = maps.Clone(s.Given); s.Given == nil {
		s.Given = map[string]int{}
	}
	s.Follow, s.Said, s.Before = slices.Clone(s.Follow), slices.Clip(s.Said), slices.Clip(s.Before)
	return s
}

// Talk is what a conversation rests on.
type Talk struct {
	Book *rules.Book
	File string // the name of the case file, for what is said of it
	Name string // what the pump of a new case is called; "" asks for it
	// Pump is the pump of the rig that the case is a job on; nil: it stands alone.
	Pump *evidence.PumpFile
	Now  func() time.Time
	last weighed
	ear  *hear.Listener
}

// words are the words with which the case is read.
func (t *Talk) words() evidence.Vocabulary {
	words := t.Book.Vocabulary()
	words.Pump = t.Pump
	return words
}

// weighed is a case and a sitting with the move that they lead to: it is asked for
// when the prompt is made and when it is answered, and takes a while.
type weighed struct {
	key  string
	move interview.Move
	err  error
}

// next gives the next move.
func (r *round) next() (interview.Move, error) {
	sitting, err := json.Marshal(r.s.Sitting)
	if err != nil {
		return interview.Move{}, err
	}
	if key := string(sitting) + string(r.text); key != r.last.key {
		move, err := interview.Next(r.Book, r.k, r.s.Sitting)
		r.last = weighed{key, move, err}
	}
	r.rests = r.last.move.Report
	return r.last.move, r.last.err
}

// round is the talk at one moment.
type round struct {
	*Talk
	text  []byte
	k     *evidence.Case // nil: yet to be started
	s     *State
	told  map[string]string // what this round says once
	news  []prompt.Line
	rests *engine.Report // what was weighed; nil: nothing was yet
	unfit error          // why the case cannot be weighed, where that is what is said
}

// turn is a prompt, or the end of an answer.
type turn = prompt.Turn[end]

// end is what a whole answer comes to.
type end struct {
	edits []record.Edit
	note  func(*State) // what it means for the sitting
	news  []prompt.Line
	final bool // nothing goes back behind it
}

func (t *Talk) round(text []byte, s *State) (*round, error) {
	k, err := record.Read(t.File, text, t.words())
	return &round{Talk: t, text: text, k: k, s: s, told: map[string]string{}}, err
}

// taken is round with a state that comes from outside.
func (t *Talk) taken(text []byte, s State) (*round, error) {
	r, err := t.round(text, &s)
	if err == nil {
		s, err = s.of(r)
	}
	return r, err
}

// Next gives the prompt that a case and a sitting lead to.
//
// Errors: *record.DamagedError if the text has mistakes, *prompt.Problem if the
// state is not that of the case, else those of interview.Next that the crew cannot settle.
func (t *Talk) Next(text []byte, s State) (prompt.Prompt, error) {
	p, _, err := t.asks(text, s)
	return p, err
}

// asks is Next, with the round that it is of; nil with an error.
func (t *Talk) asks(text []byte, s State) (prompt.Prompt, *round, error) {
	r, err := t.taken(text, s)
	if err != nil {
		return prompt.Prompt{}, nil, err
	}
	p := r.now().Prompt
	return p, r, nil
}

// now is the turn that the sitting has reached.
func (r *round) now() turn {
	if r.s.Over {
		return turn{Prompt: prompt.Prompt{ID: "over", News: r.s.News}}
	}
	at := r.withWords(r.first()).After(r.s.Said)
	if len(r.s.Said) > 0 {
		r.news = nil // that was said with the first of them
	}
	at.News = slices.Concat(r.s.News, r.news, at.News)
	at.Rests = digest(r.text)
	return at
}

// digest names the bytes of a case.
func digest(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:8])
}

// Answer takes the answer to what Next gives, and gives the case and the sitting
// after it. An answer that the case refuses leaves the case as it was; the next
// prompt says why.
//
// Errors: *prompt.Problem also if it is no answer to that prompt, else as Next.
func (t *Talk) Answer(text []byte, s State, a prompt.Answer) ([]byte, State, error) {
	r, err := t.taken(text, s)
	if err != nil {
		return nil, s, err
	}
	at, a := r.now(), a.Clean()
	if a.Rests != at.Rests {
		return nil, s, &prompt.Problem{Code: prompt.Other, Text: "This answers a case that is not so any more."}
	}
	if problem := at.Check(a); problem != nil {
		return nil, s, problem
	}
	after := r.s.copy()
	after.News = nil
	maps.Copy(after.Told, r.told)
	if r.again(&after, a) {
		after.Over, after.Said, after.News = true, nil, prompt.Lines(prompt.Text, inCircles)
		return text, after.on(text), nil
	}
	if a.One() == prompt.Back {
		text, after = back(text, after)
		k, err := record.Read(t.File, text, t.words())
		if err != nil {
			return nil, s, err
		}
		if lessSafe(r.k, k) {
			after.proveAllAnew()
		}
		return text, after.on(text), nil
	}
	next := at.Take(a)
	if next.Take != nil {
		after.Said = append(after.Said, a)
		return text, after.on(text), nil
	}
	after.Said = nil
	text, after, err = r.finish(after, next.End)
	if err != nil {
		return nil, s, err
	}
	return t.settle(text, after)
}

// finish makes the edits of a whole answer; only then does it count for the
// sitting.
func (r *round) finish(after State, e end) ([]byte, State, error) {
	text, k, err := record.Apply(r.File, r.text, r.words(), e.edits...)
	if len(e.edits) == 0 {
		text, k, err = r.text, r.k, nil
	}
	if err == nil {
		err = chances.Accepts(r.Book, r.k, k)
	}
	var refused *record.RefusedError
	var input *source.InputError
	switch {
	case errors.As(err, &refused):
	case errors.As(err, &input):
		refused = &record.RefusedError{Err: input}
	case err != nil:
		return nil, after, err
	}
	if refused != nil {
		lead := "That does not fit what the case says already: "
		if refused.Full() {
			lead = "The case is full: "
		}
		after.News = prompt.Lines(prompt.Text, lead+refused.Error()+". It was NOT written.")
		return r.text, after, nil
	}
	if !e.final && (len(e.edits) > 0 || e.note != nil) {
		was := r.s.copy()
		was.Before, was.Said, was.News, was.Given = nil, nil, nil, nil
		after.Before = append(after.Before, Moment{Text: string(r.text), State: was})
	}
	if e.note != nil {
		e.note(&after)
	}
	after.News = e.news
	return text, after, nil
}

// settle makes what follows by itself, without anybody being asked.
func (t *Talk) settle(text []byte, s State) ([]byte, State, error) {
	for {
		r, err := t.round(text, &s)
		if err != nil || s.Over {
			return text, s.on(text), err
		}
		r.forgetOver()
		at := r.first()
		if at.Take != nil {
			return text, s.on(text), nil
		}
		after := s.copy()
		if text, after, err = r.finish(after, at.End); err != nil {
			return nil, s, err
		}
		after.News = append(slices.Clip(s.News), after.News...)
		s = after
	}
}

// lessSafe says whether a pump stands less safe now than it did.
func lessSafe(now, was *evidence.Case) bool {
	if now == nil || was == nil || now.Pump.State == was.Pump.State {
		return false
	}
	return now.Pump.State == evidence.Running || was.Pump.State == evidence.Isolated
}

// proveAllAnew forgets what was done to make the pump safe, here and wherever one
// can go back to: since then it was put back to service.
func (s *State) proveAllAnew() {
	s.Sitting.Safe = map[string]bool{}
	s.Before = slices.Clone(s.Before)
	for i := range s.Before {
		s.Before[i].State = s.Before[i].State.copy()
		s.Before[i].State.Sitting.Safe = map[string]bool{}
	}
}

// forgetOver forgets that a stop condition was read that holds no more: should it
// come again, it is read again.
func (r *round) forgetOver() {
	if r.k == nil || len(r.s.Sitting.Read) == 0 {
		return
	}
	m, _ := r.next() // with an error too it says the stop conditions
	maps.DeleteFunc(r.s.Sitting.Read, func(id string, _ bool) bool {
		return !slices.ContainsFunc(m.Report.Stop, func(s chances.Stop) bool { return s.ID == id })
	})
}

// back takes the last answer back: of one that takes several the last of these.
// Who answers and what was said once stay.
func back(text []byte, s State) ([]byte, State) {
	switch {
	case len(s.Said) > 0:
		s.Said = s.Said[:len(s.Said)-1]
	case len(s.Before) == 0:
		s.News = prompt.Lines(prompt.Text, "There is nothing to go back to in this sitting.")
	default:
		last := s.Before[len(s.Before)-1]
		was := last.State.copy()
		was.By, was.Told, was.Given, was.Before = s.By, s.Told, s.Given, s.Before[:len(s.Before)-1]
		return []byte(last.Text), was
	}
	return text, s
}
