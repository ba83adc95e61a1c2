package site

import (
	"crypto/rand"
	"net/http"

	"telltale/cmd/internal/dialogue"
)

// newAddress is where the talk goes that comes before a job: which one it is, a new
// one, a new pump. Each has an address of its own below it, so that two who begin do
// not meet.
const newAddress = "/new"

// choosing is the talk before a job.
type choosing interface {
	conversation
	Chosen() dialogue.Chosen
}

// choice begins the talk before a job.
func (s *Site) choice() (choosing, error) {
	if s.isRig() {
		return dialogue.NewRig(s.book, s.dir, s.now)
	}
	return dialogue.NewJobs(s.book, s.dir)
}

// answerHome takes the first answer of the talk before a job.
func (s *Site) answerHome(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return err
	}
	choice, err := s.choice()
	if err != nil {
		return err
	}
	if said, status := refusal(choice.Answer(answerOf(r.PostForm))); said != "" {
		return s.putHome(w, status, put{Refused: said, Typed: r.PostForm.Get(fieldText)})
	} else if err != nil {
		return err
	}
	at := newAddress + "/" + rand.Text()
	if _, err := s.desks.at(at, func() (conversation, error) { return choice, nil }); err != nil {
		return err
	}
	return s.goOn(w, r, at, choice)
}

// goOn leads to what comes after an answer of the talk before a job: its next prompt,
// or the job that was chosen.
func (s *Site) goOn(w http.ResponseWriter, r *http.Request, at string, choice choosing) error {
	p, err := choice.Prompt()
	if err != nil {
		return err
	}
	if !p.Over() {
		http.Redirect(w, r, at, http.StatusSeeOther)
		return nil
	}
	s.desks.leave(at)
	chosen := choice.Chosen()
	if chosen.File == "" {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return nil
	}
	job := jobAddress(chosen.File)
	if _, err := s.desks.at(job, func() (conversation, error) { return dialogue.NewWork(s.book, chosen, s.now) }); err != nil {
		return err
	}
	http.Redirect(w, r, job, http.StatusSeeOther)
	return nil
}

// newDesk is the desk of a talk before a job.
func (s *Site) newDesk(r *http.Request) (*desk, string, error) {
	at := newAddress + "/" + r.PathValue("id")
	d, err := s.desks.at(at, func() (conversation, error) {
		return nil, &notFoundError{"This was begun before the program was started, or it is done. Nothing that was written is lost. Choose the job again."}
	})
	return d, at, err
}

func (s *Site) showNew(w http.ResponseWriter, r *http.Request) error {
	d, at, err := s.newDesk(r)
	if err != nil {
		return err
	}
	d.Lock()
	defer d.Unlock()
	return s.putNew(w, http.StatusOK, at, d, put{})
}

func (s *Site) answerNew(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return err
	}
	d, at, err := s.newDesk(r)
	if err != nil {
		return err
	}
	d.Lock()
	defer d.Unlock()
	err = s.desks.take(d, r.PostForm)
	if said, status := refusal(err); said != "" {
		return s.putNew(w, status, at, d, put{Refused: said, Typed: r.PostForm.Get(fieldText), Held: r.PostForm[fieldChosen]})
	}
	if err != nil {
		return err
	}
	return s.goOn(w, r, at, d.talk.(choosing))
}

func (s *Site) putNew(w http.ResponseWriter, status int, at string, d *desk, over put) error {
	var err error
	if over.Prompt, err = d.talk.Prompt(); err != nil {
		return err
	}
	over.Address, over.Turn = at, s.desks.turnOf(d)
	body := struct {
		Title string
		Put   *put
	}{"Before the job", &over}
	return s.show(w, status, "talk", shell{Title: body.Title, Body: body})
}
