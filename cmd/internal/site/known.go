package site

import (
	"errors"
	"net/http"
	"strings"

	"telltale/cmd/internal/dialogue"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/evidence"
	"telltale/evidence/record"
)

// knownOf is the end of the address of what a case holds.
const knownOf = "known"

// knownBody is the page of what a case holds, each with the way to put it right.
type knownBody struct {
	Title, Job string
	PutRight   string // where what is to be put right goes
	Refused    string // why something was not asked again
	Closed     bool   // the job is: nothing is put right
	Groups     []knownGroup
}

type knownGroup struct {
	Heading string
	Lines   []knownLine
}

// knownLine is one thing that a case holds: by its name it is asked again; readings have
// a form of their own at Address.
type knownLine struct{ Text, Name, Address string }

var knownHeadings = []struct {
	is      dialogue.KnownIs
	heading string
}{{dialogue.KnownSeen, "Seen"}, {dialogue.KnownChecked, "Looked at"}, {dialogue.KnownDone, "Done lately"}, {dialogue.KnownProved, "Proved"}}

// showKnown shows what a case holds.
func (s *Site) showKnown(w http.ResponseWriter, r *http.Request) error {
	return s.putKnown(w, r, http.StatusOK, "")
}

// putRight has one thing asked again in the talk, and leads there.
func (s *Site) putRight(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return err
	}
	k, err := s.jobDesk(r.PathValue("job"), "")
	if err != nil {
		return err
	}
	defer k.Unlock()
	work := k.talk.(overCase)
	work.As(r.URL.Query().Get(fieldBy))
	if err := work.LookAgain(); err != nil {
		s.desks.leave(k)
		return err
	}
	var problem *prompt.Problem
	switch err := work.PutRight(r.PostForm.Get("name")); {
	case errors.As(err, &problem):
		return s.putKnown(w, r, http.StatusConflict, problem.Text)
	case err != nil:
		return err
	}
	k.turns++ // what was asked before is not asked any more
	http.Redirect(w, r, withBy(k.at, r.URL.Query().Get(fieldBy)), http.StatusSeeOther)
	return nil
}

// putKnown makes the page.
func (s *Site) putKnown(w http.ResponseWriter, r *http.Request, status int, refused string) error {
	file, k, err := s.readingsOn(r.PathValue("job"))
	if err != nil {
		return err
	}
	job, by := jobAddress(file.Name()), r.URL.Query().Get(fieldBy)
	body := knownBody{Title: "What is known: " + strings.TrimPrefix(job, "/job/"), Job: withBy(job, by), PutRight: withBy(job+"/"+knownOf, by), Refused: refused, Closed: k.Job.IsClosed()}
	if k.Pump.Name != "" {
		body.Title = "What is known: " + k.Pump.Name
	}
	all := dialogue.KnownOf(s.book, k)
	for _, of := range knownHeadings {
		g := knownGroup{Heading: of.heading}
		for _, one := range all {
			if one.Is == of.is {
				g.Lines = append(g.Lines, knownLine{Text: one.Text, Name: one.Name})
			}
		}
		body.add(g)
	}
	readings, err := s.readingsHeld(file, k)
	if err != nil {
		return err
	}
	body.add(readings)
	return s.show(w, status, "known", shell{Title: body.Title, Pages: jobWays(job, knownOf, by), Body: body})
}

func (b *knownBody) add(g knownGroup) {
	if len(g.Lines) > 0 {
		b.Groups = append(b.Groups, g)
	}
}

// readingsHeld are the readings that a case holds, with the forms in which they stand.
func (s *Site) readingsHeld(file *record.File, k *evidence.Case) (knownGroup, error) {
	g := knownGroup{Heading: "Measured"}
	for _, again := range []bool{false, true} {
		for i := range pages.Blocks {
			b := &pages.Blocks[i]
			if !s.offered(b, k, again) {
				continue
			}
			for _, at := range k.Pump.Places(b.Level) {
				f, err := s.formOf(file, k, b, at, again)
				if err != nil {
					return g, err
				}
				if have := f.have(); len(have) > 0 {
					lead := b.Title() + ", " + placeWords(at)
					if again {
						lead += ", measured again"
					}
					g.Lines = append(g.Lines, knownLine{Text: words.Capital(lead) + ": " + strings.Join(have, "; "), Address: f.address()})
				}
			}
		}
	}
	return g, nil
}
