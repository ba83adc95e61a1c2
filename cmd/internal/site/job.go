package site

import (
	"errors"
	"html/template"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"
	"strings"

	"telltale/cmd/internal/dialogue"
	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/engine"
	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/evidence/rig"
	"telltale/evidence/source"
)

// jobBody is the page of a job: the talk over it, and beside it what it may be.
type jobBody struct {
	Title  string
	Stops  template.HTML
	Haste  string
	Glance template.HTML
	Put    *put
}

// overCase is the talk over a case, in which an answer that came too late is an error.
type overCase struct{ *dialogue.Work }

func (c overCase) Answer(a prompt.Answer) error {
	if err := c.Work.Answer(a); err != nil {
		return err
	}
	if c.TooLate() {
		return &staleError{}
	}
	return nil
}

// chosenDesk is the desk of the talk over a job. Whoever has it unlocks it.
func (s *Site) chosenDesk(chosen dialogue.Chosen) (*desk, error) {
	return s.desks.sit(jobAddress(chosen.File), func() (conversation, error) {
		work, err := dialogue.NewWork(s.book, chosen, s.now)
		return overCase{work}, err
	})
}

// jobDesk is the same by the name of the job, one that it had before too. turn is that
// of an answer; "" where none was given.
func (s *Site) jobDesk(name, turn string) (*desk, error) {
	at := "/job/" + url.PathEscape(name)
	if to := s.desks.movedTo(at, turn); to != "" && turn != "" {
		at = to
	}
	k, err := s.desks.sit(at, func() (conversation, error) {
		file, err := s.file(name)
		if err != nil {
			return nil, err
		}
		work, err := dialogue.NewWork(s.book, dialogue.Chosen{File: file, In: s.dir}, s.now)
		return overCase{work}, err
	})
	var none *notFoundError
	if to := s.desks.movedTo(at, ""); to != "" && errors.As(err, &none) {
		return s.desks.sit(to, func() (conversation, error) { return nil, err }) // it went meanwhile
	}
	return k, err
}

// showJob puts what is asked now over a job.
func (s *Site) showJob(w http.ResponseWriter, r *http.Request) error {
	k, err := s.jobDesk(r.PathValue("job"), "")
	if err != nil {
		return err
	}
	defer k.Unlock()
	by := r.URL.Query().Get(fieldBy)
	if k.at != "/job/"+url.PathEscape(r.PathValue("job")) {
		http.Redirect(w, r, withBy(k.at, by), http.StatusSeeOther)
		return nil
	}
	k.talk.(overCase).As(by)
	if err := k.talk.(overCase).LookAgain(); err != nil {
		s.desks.leave(k)
		return err
	}
	return s.putJob(w, k, nil, nil)
}

// answerJob takes an answer, and leads to what is asked then.
func (s *Site) answerJob(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return err
	}
	k, err := s.jobDesk(r.PathValue("job"), r.PostForm.Get(fieldTurn))
	if err != nil {
		return err
	}
	defer k.Unlock()
	work := k.talk.(overCase)
	work.As(r.URL.Query().Get(fieldBy))
	if err = work.LookAgain(); r.PostForm.Has(fieldAnew) {
		if p, broken := work.Prompt(); err != nil || broken != nil || p.Over() && r.PostForm.Get(fieldTurn) == k.turn() {
			s.desks.leave(k)
		}
		http.Redirect(w, r, withBy(k.at, work.By()), http.StatusSeeOther)
		return nil
	}
	if err == nil {
		err = k.take(r.PostForm)
	}
	if now := jobAddress(work.File()); now != k.at {
		s.desks.move(k, now)
	}
	if err != nil {
		return s.putJob(w, k, r.PostForm, err)
	}
	http.Redirect(w, r, withBy(k.at, work.By()), http.StatusSeeOther)
	return nil
}

// withBy is the address of a page of a job for whoever confirms: two tabs at one job are
// two people. "" is nobody named.
func withBy(address, by string) string {
	if by == "" {
		return address
	}
	return address + "?" + url.Values{fieldBy: {by}}.Encode()
}

// putJob shows a job with what is asked now; refused is why an answer was not taken,
// nil where none was given.
func (s *Site) putJob(w http.ResponseWriter, k *desk, form url.Values, refused error) error {
	work := k.talk.(overCase)
	p, err := work.Prompt()
	if err != nil {
		s.desks.leave(k) // or it would say so for ever
		return err
	}
	over, status := &put{Prompt: p, Address: withBy(k.at, work.By()), Turn: k.turn(), Leaving: "/", Known: withBy(k.at+"/"+knownOf, work.By())}, http.StatusOK
	if refused != nil {
		of := k.shownTo(form.Get(fieldTurn), form.Get(fieldRests))
		status = over.refused(refused, form, of)
		if status == http.StatusConflict && of != nil {
			over.Changed = slices.DeleteFunc(dialogue.Changes(s.seen.get(of.text), work.Text()), func(l prompt.Line) bool { return slices.Contains(p.News, l) })
		}
	}
	if p.Over() {
		over.end(work.Broken() == nil)
	}
	if broken := work.Broken(); broken != nil {
		over.Refused = strings.TrimSpace(over.Refused + "\n" + broken.Error())
	}
	if of, err := work.Case(); err == nil {
		over.Readings = s.readingWays(&p, of, k.at, work.By())
	}
	k.show(p, s.seen.put(work.Text()))
	body := jobBody{Title: strings.TrimSuffix(filepath.Base(work.File()), ending), Put: over}
	if report := work.Report(); report != nil {
		body.Title = pages.PumpName(report)
		if report.Haste != nil {
			body.Haste = pages.HasteLine(report.Haste)
			over.News = besides(over.News, body.Haste)
		}
		if reading := strings.HasPrefix(p.ID, "stop ") && len(report.Stop) == 1; !reading { // it is read out below
			if body.Stops, err = part(pages.StopBox(report)); err != nil {
				return err
			}
		}
		if body.Glance, err = part(pages.Beside(report)); err != nil {
			return err
		}
	}
	return s.show(w, status, "job", shell{Title: body.Title, Pages: jobWays(k.at, "", work.By())[1:], Body: body})
}

// besides is what lines say besides what stands above them already.
func besides(lines []prompt.Line, above string) (out []prompt.Line) {
	for _, l := range lines {
		if rest, ok := strings.CutPrefix(l.Text, above); ok {
			l.Text = strings.TrimSpace(rest)
		}
		if l.Text != "" {
			out = append(out, l)
		}
	}
	return out
}

// part is a document without its title, to stand within a page.
func part(d *doc.Document) (template.HTML, error) {
	if len(d.Sections) == 0 {
		return "", nil
	}
	within := *d
	within.Title, within.Lines = "", nil
	return within.Body(addressOf)
}

// jobDocuments are the pages of a job to read and to print, by the end of their
// address.
var jobDocuments = []struct{ of, text string }{
	{knownOf, "What is known, to put right"}, {"all", "All reasons and steps"}, {"sheet", "Job sheet"}, {"hand-over", "Hand-over"}, {"teardown", "Teardown"}, {"rods", "Rods and shims"}, {"output", "Pump's numbers"}, {readingsOf, "Readings"},
}

// jobWays are the ways from a job to its pages for whoever confirms; here is the one
// that is shown.
func jobWays(at, here, by string) []way {
	out := []way{{Text: "This job", Address: withBy(at, by), Here: here == ""}}
	for _, d := range jobDocuments {
		out = append(out, way{Text: d.text, Address: withBy(at+"/"+d.of, by), Here: here == d.of})
	}
	return out
}

// jobPage is one of the pages of a job to read and to print.
func (s *Site) jobPage(w http.ResponseWriter, r *http.Request) error {
	file, err := s.file(r.PathValue("job"))
	if err != nil {
		return err
	}
	text, err := s.read(file)
	if err != nil {
		return err
	}
	k, err := rig.ParseCase(file, text, s.book.Vocabulary())
	if err != nil {
		return err
	}
	d, err := s.jobDocument(r.PathValue("of"), k)
	if err != nil {
		return err
	}
	return s.document(w, r, d, jobWays(jobAddress(file), r.PathValue("of"), r.URL.Query().Get(fieldBy))...)
}

// jobDocument makes one of the pages of a case.
func (s *Site) jobDocument(of string, k *evidence.Case) (*doc.Document, error) {
	in := pages.Input{Book: s.book, Case: k, Written: s.now()}
	var err error
	switch of {
	case "rods", "output":
		if in.Measured, err = engine.Measure(s.book, k); err != nil {
			return nil, err
		}
		if in.Turn, err = figures.GuideTurn(s.book, k); err != nil {
			return nil, err
		}
		if of == "rods" {
			return pages.Align(in), nil
		}
		return pages.Output(in), nil
	case "all", "sheet", "hand-over", "teardown":
		if in.Plan, err = engine.PlanTeardown(s.book, k, nil); err != nil {
			return nil, err
		}
	}
	switch of {
	case "all":
		return pages.Triage(in.Plan.Report, false), nil
	case "teardown":
		return pages.Teardown(in.Plan), nil
	case "hand-over":
		return pages.HandOver(in), nil
	case "sheet":
		if in.Measured, err = engine.Measure(s.book, k); err != nil {
			return nil, err
		}
		if in.Turn, err = figures.GuideTurn(s.book, k); err != nil {
			return nil, err
		}
		return pages.JobSheet(in), nil
	}
	return nil, &notFoundError{"There is no such page of a job."}
}

// read reads a case file of the folder.
func (s *Site) read(file string) ([]byte, error) {
	within, err := filepath.Rel(s.dir, file)
	if err != nil {
		return nil, err
	}
	in, err := s.root.Open(within)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return source.ReadBounded(in, source.CaseLimits)
}
