package dialogue

import (
	"cmp"
	"slices"
	"time"

	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/engine/upkeep"
	"telltale/evidence/record"
	"telltale/rules"
)

// Chosen is the case that somebody chose to work on, or has begun.
type Chosen struct {
	File   string // "" while none is chosen; it may not be there yet
	Called string // what the pump of a new case is called; "" if nobody said
	Fresh  bool   // a job of a rig that was begun just now
	In     string // out of this folder no link is followed; "" is anywhere
}

// Work is all the talk over one case: the sitting; then, over a job that is closed, what
// it changed in what stands of its pump; and last what it came to. It is not for several
// goroutines at once.
type Work struct {
	*Sitting
	book     *rules.Book
	in       string
	stands   *Stands
	news     []prompt.Line // with what the sitting ended, until the next answer
	closeOut string        // of a closed job, once the sitting over it is over
	broken   error         // what keeps the pump's file from being asked for
}

// NewWork begins it over a case. Errors: those of record.OpenCase.
func NewWork(book *rules.Book, at Chosen, now func() time.Time) (*Work, error) {
	file, err := record.OpenCase(at.In, at.File, book.Vocabulary(), true)
	if err != nil {
		return nil, err
	}
	w := &Work{Sitting: NewSitting(book, file, now), book: book, in: at.In}
	w.Call(at.Called)
	if at.Fresh {
		w.Begins()
	}
	return w, nil
}

// InSitting says whether the last prompt is one over the case; else it is one over the
// file of its pump, or the last of all over a closed job.
func (w *Work) InSitting() bool { return w.closeOut == "" }

// CloseOut is what a closed job came to, in a line; "" before the sitting over it is
// over. The last prompt says it.
func (w *Work) CloseOut() string { return w.closeOut }

// Broken is why nothing can be asked: somebody wrote a mistake into the file of the case
// or of its pump meanwhile, or it is gone. nil where there is none.
func (w *Work) Broken() error { return cmp.Or(w.broken, w.Sitting.Broken()) }

// Prompt gives what is asked now.
func (w *Work) Prompt() (prompt.Prompt, error) {
	if w.InSitting() {
		p, err := w.Sitting.Prompt()
		if err != nil || !p.Over() || w.Sitting.Broken() != nil {
			return p, err
		}
		job, err := w.Case()
		if err != nil || job == nil || !job.Job.IsClosed() {
			return p, err
		}
		w.news = slices.Concat(p.News, p.Body)
		w.closeOut = pages.CloseOut(upkeep.CloseOutOf(w.book, job, w.Pump()))
		w.stands, w.broken = StandsOf(w.book, job, w.Text(), w.in)
	}
	var p prompt.Prompt
	if w.stands != nil {
		p, w.broken = w.stands.Prompt()
	}
	if w.broken != nil {
		p = prompt.Prompt{ID: "over"}
	}
	p.News = slices.Concat(w.news, p.News)
	if p.Over() {
		p.Body = append(p.Body, prompt.Line{Kind: prompt.Text, Text: w.closeOut})
	}
	return p, nil
}

// TooLate says whether the last answer was not taken since somebody changed the file in
// which it was to stand.
func (w *Work) TooLate() bool {
	if w.InSitting() {
		return w.Sitting.late
	}
	return w.stands != nil && w.stands.late
}

// Answer takes an answer to it; when it returns nil it is in the file of the case or of
// its pump, unless it came TooLate. Errors: those of Sitting.Answer or Stands.Answer.
func (w *Work) Answer(a prompt.Answer) error {
	switch {
	case w.Broken() != nil:
		return &prompt.Problem{Code: prompt.Other, Text: "Nothing is asked any more."}
	case w.InSitting():
		return w.Sitting.Answer(a)
	}
	if err := w.stands.Answer(a); err != nil {
		return err
	}
	w.news = nil
	return nil
}
