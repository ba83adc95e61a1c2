package site

import (
	"crypto/rand"
	"net/http"
	"net/url"

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
		return dialogue.NewRig(s.book, s.dir, s.now, s.readRig)
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
	if err := choice.Answer(answerOf(r.PostForm)); err != nil {
		return s.putHome(w, r.PostForm, err)
	}
	k, err := s.desks.sit(newAddress+"/"+rand.Text(), func() (conversation, error) { return choice, nil })
	if err != nil {
		return err
	}
	defer k.Unlock()
	return s.goOn(w, r, k)
}

// goOn leads to what comes after an answer of the talk before a job: its next prompt,
// or the job that was chosen. It is kept when it is over: a second press of its last
// button leads to the same job.
func (s *Site) goOn(w http.ResponseWriter, r *http.Request, k *desk) error {
	choice := k.talk.(choosing)
	p, err := choice.Prompt()
	if err != nil {
		return err
	}
	chosen := choice.Chosen()
	to := k.at
	switch {
	case p.Over() && chosen.File == "":
		to = "/"
	case p.Over():
		if k.job == nil {
			if k.job, err = s.chosenDesk(chosen); err != nil {
				return err
			}
			k.job.Unlock()
		}
		to = s.desks.address(k.job)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// newDesk is the desk of a talk before a job. Whoever has it unlocks it.
func (s *Site) newDesk(r *http.Request) (*desk, error) {
	return s.desks.sit(newAddress+"/"+r.PathValue("id"), func() (conversation, error) {
		return nil, &notFoundError{"This was begun before the program was started, or it is done. Nothing that was written is lost. Choose the job again."}
	})
}

func (s *Site) showNew(w http.ResponseWriter, r *http.Request) error {
	k, err := s.newDesk(r)
	if err != nil {
		return err
	}
	defer k.Unlock()
	p, err := k.talk.Prompt()
	if err != nil {
		return err
	}
	if p.Over() {
		return s.goOn(w, r, k)
	}
	return s.putNew(w, k, nil, nil)
}

func (s *Site) answerNew(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return err
	}
	k, err := s.newDesk(r)
	if err != nil {
		return err
	}
	defer k.Unlock()
	if err := k.take(r.PostForm); err != nil {
		return s.putNew(w, k, r.PostForm, err)
	}
	return s.goOn(w, r, k)
}

// putNew shows what is asked now before a job; refused is why an answer was not taken,
// nil where none was given.
func (s *Site) putNew(w http.ResponseWriter, k *desk, form url.Values, refused error) error {
	p, err := k.talk.Prompt()
	if err != nil {
		return err
	}
	over, status := &put{Prompt: p, Address: k.at, Turn: k.turn()}, http.StatusOK
	if refused != nil {
		status = over.refused(refused, form, k.shownTo(form.Get(fieldTurn), form.Get(fieldRests)))
	}
	k.show(p, "")
	body := struct {
		Title string
		Put   *put
	}{"Before the job", over}
	return s.show(w, status, "talk", shell{Title: body.Title, Body: body})
}
