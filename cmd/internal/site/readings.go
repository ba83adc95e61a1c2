package site

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/evidence"
	"telltale/evidence/record"
)

// Readings are typed in by the same edits as note makes; they are drawn, with what they
// say, before anything is written.

// The addresses below a job: of what was measured, and of what was measured again after
// a repair. A block of the whole pump has pumpPlace as its place.
const (
	readingsOf      = "readings"
	readingsAgainOf = "readings-again"
	pumpPlace       = "pump"
)

// The fields of a form of readings; those of the case file have fieldReading before
// their key.
const (
	fieldReading = "f."
	fieldTaken   = "taken"
	fieldBy      = "by"
	fieldDo      = "do"
	doWrite      = "write"
)

// readingsOn opens a job for its readings.
func (s *Site) readingsOn(name string) (*record.File, *evidence.Case, error) {
	at, err := s.file(name)
	if to := s.desks.movedTo(jobAddress(name), ""); err != nil && to != "" { // its file was renamed meanwhile
		if name, err = url.PathUnescape(path.Base(to)); err == nil {
			at, err = s.file(name)
		}
	}
	if err != nil {
		return nil, nil, err
	}
	file, err := record.OpenCase(s.dir, at, s.book.Vocabulary(), false)
	if err != nil {
		return nil, nil, err
	}
	k, err := file.Case()
	if err == nil && k == nil {
		err = &notFoundError{"Nothing stands in this case yet. Tell first which pump it is and how it stands."}
	}
	return file, k, err
}

// offered says whether a block can be read on a pump, or the case has it.
func (s *Site) offered(b *block, k *evidence.Case, again bool) bool {
	switch {
	case b.Name == shimsBlock:
		return !again && k.Job.Pump != ""
	case b.Name == suctionBlock:
		return !again
	case b.Name == "piston-rod" && k.Pump.Action != evidence.Duplex:
		return len(k.Measured.PistonRod)+len(k.MeasuredAgain.PistonRod) > 0
	}
	return true
}

// asked is the form that a request names.
func (s *Site) asked(r *http.Request) (*form, error) {
	file, k, err := s.readingsOn(r.PathValue("job"))
	if err != nil {
		return nil, err
	}
	b, again := pages.BlockNamed(r.PathValue("block")), r.PathValue("of") == readingsAgainOf
	if b == nil || !s.offered(b, k, again) || !again && r.PathValue("of") != readingsOf {
		return nil, &notFoundError{"There are no such readings on this pump."}
	}
	for _, at := range k.Pump.Places(b.Level) {
		if placeName(at) == r.PathValue("place") {
			return s.formOf(file, k, b, at, again)
		}
	}
	return nil, &notFoundError{"This pump has no such place for these readings."}
}

// placeName is a place in an address.
func placeName(at evidence.Place) string {
	if at.Cylinder == "" {
		return pumpPlace
	}
	return at.Cylinder
}

// readingsIndex shows which readings can be taken on this pump, and which are there.
func (s *Site) readingsIndex(w http.ResponseWriter, r *http.Request) error {
	file, k, err := s.readingsOn(r.PathValue("job"))
	if err != nil {
		return err
	}
	at, by := jobAddress(file.Name()), r.URL.Query().Get(fieldBy)
	body := readingsBody{Title: "Readings: " + strings.TrimPrefix(at, "/job/"), Job: withBy(at, by)}
	if name := k.Pump.Name; name != "" {
		body.Title = "Readings: " + name
	}
	for _, again := range []bool{false, true} {
		list := &body.First
		if again {
			list = &body.Again
		}
		for i := range pages.Blocks {
			b := &pages.Blocks[i]
			if !s.offered(b, k, again) {
				continue
			}
			shown := shownBlock{Title: b.Title()}
			for _, at := range k.Pump.Places(b.Level) {
				f, err := s.formOf(file, k, b, at, again)
				if err != nil {
					return err
				}
				shown.Places = append(shown.Places, shownPlace{Name: words.Capital(placeWords(at)), Address: withBy(f.address(), by), Have: f.have()})
			}
			*list = append(*list, shown)
		}
	}
	return s.show(w, http.StatusOK, "readings", shell{Title: body.Title, Pages: jobWays(at, readingsOf, by), Body: body})
}

// showReadings shows the form of a block at a place.
func (s *Site) showReadings(w http.ResponseWriter, r *http.Request) error {
	f, err := s.asked(r)
	if err != nil {
		return err
	}
	f.by = prompt.Plain(r.URL.Query().Get(fieldBy))
	if len(f.base) == 0 {
		f.asSister()
	}
	body := readingBody{Written: r.URL.Query().Has("written") && len(f.have()) > 0}
	if body.Written {
		body.Next = s.nextOf(r.PathValue("job"))
	}
	return s.putReadings(w, http.StatusOK, f, f.k, body)
}

// nextOf is what the talk over a job asks now; "" where nothing is asked.
func (s *Site) nextOf(job string) string {
	k, err := s.jobDesk(job, "")
	if err != nil {
		return ""
	}
	defer k.Unlock()
	if err := k.talk.(overCase).LookAgain(); err != nil {
		s.desks.leave(k)
		return ""
	}
	p, err := k.talk.Prompt()
	if err != nil {
		return ""
	}
	return (&put{Prompt: p}).Heading()
}

// answerReadings draws what was typed, or writes it down.
func (s *Site) answerReadings(w http.ResponseWriter, r *http.Request) error {
	f, err := s.sent(r)
	if err != nil {
		return err
	}
	k, err := s.judge(f)
	if err != nil {
		return err
	}
	status := http.StatusOK
	if r.PostForm.Get(fieldDo) == doWrite {
		if status, err = s.writeReadings(f); err != nil {
			return err
		}
		if status == http.StatusSeeOther {
			to := url.Values{"written": {"1"}}
			if f.by != "" {
				to.Set(fieldBy, f.by)
			}
			http.Redirect(w, r, f.address()+"?"+to.Encode(), status)
			return nil
		}
	}
	return s.putReadings(w, status, f, k, readingBody{})
}

// sent is the form that was sent, over the case as it is now.
func (s *Site) sent(r *http.Request) (*form, error) {
	if err := r.ParseForm(); err != nil {
		return nil, err
	}
	f, err := s.asked(r)
	if err != nil {
		return nil, err
	}
	f.take(r.PostForm)
	rests := r.PostForm.Get(fieldRests)
	if rests == digest(string(f.file.Text())) {
		return f, nil
	}
	was := s.seen.get(rests)
	return f, f.merge(was, was != nil)
}

// writeReadings writes a form into the case, and says with which status it is shown
// again: SeeOther where it is written.
func (s *Site) writeReadings(f *form) (status int, err error) {
	edits := f.all(f.now, s.now())
	refused := func(text string) { f.told = append(f.told, text) }
	switch {
	case len(f.since) > 0 && len(edits) == 0 && len(f.base) > 0, len(f.wrong)+len(f.told) == 0 && len(edits) == 0 && len(f.base) > 0:
		return http.StatusSeeOther, nil // it stands there already
	case len(f.since) > 0:
		return http.StatusConflict, nil
	case f.Name == shimsBlock && f.k.Job.IsClosed():
		refused(fmt.Sprintf("%s: this job was closed on %s; first: note JOB open-again", shimsBlock, f.k.Job.Closed.Format(evidence.DateForm)))
	case len(f.wrong)+len(f.told) > 0:
	case len(edits) == 0:
		refused("Nothing was typed in. Type one reading at least.")
	case f.asksTaken() && f.taken == "":
		f.wrong[fieldTaken] = []string{"The pump runs, and this needs covers off. Say when it was taken."}
	}
	if len(f.wrong)+len(f.told) > 0 {
		return http.StatusUnprocessableEntity, nil
	}
	_, err = f.file.Write(edits...)
	var changed *record.ChangedError
	var unfit *record.RefusedError
	switch {
	case errors.As(err, &changed):
		f.since = doc.Each(changed.Changes, func(c record.Change) string { return doc.Shown(c.String()) })
		return http.StatusConflict, nil
	case errors.As(err, &unfit):
		refused(unfit.Error())
		return http.StatusUnprocessableEntity, nil
	case err != nil:
		said, status := refusal(err)
		refused(said)
		return status, nil
	}
	return http.StatusSeeOther, nil
}

// drawReadings gives the picture and the words of what was typed, without the page
// around them.
func (s *Site) drawReadings(w http.ResponseWriter, r *http.Request) error {
	f, err := s.sent(r)
	if err != nil {
		return err
	}
	k, err := s.judge(f)
	if err != nil {
		return err
	}
	drawn, err := s.drawn(f, k)
	if err != nil {
		return err
	}
	return s.show(w, http.StatusOK, "drawn", shell{Body: drawn})
}

// readingWays lead whoever confirms from what a prompt is about to the forms of its
// readings.
func (s *Site) readingWays(p *prompt.Prompt, k *evidence.Case, job, by string) (out []way) {
	if k == nil {
		return nil
	}
	for _, about := range p.About {
		var names []string
		switch about.Kind {
		case "check":
			if c := s.book.Checks.Get(about.ID); c != nil {
				names = s.book.BlocksOf(c.Answers...)
			}
		case "sign":
			names = s.book.BlocksOf(about.ID)
		}
		for _, name := range names {
			b := pages.BlockNamed(name)
			if b == nil || !s.offered(b, k, false) {
				continue
			}
			for _, at := range k.Pump.Places(b.Level) {
				if about.Cylinder != "" && at.Cylinder != "" && at.Cylinder != about.Cylinder {
					continue
				}
				f := form{block: b, at: at, job: job}
				to := way{Text: words.Titled(b.Title(), at), Address: withBy(f.address(), by)}
				if !slices.Contains(out, to) {
					out = append(out, to)
				}
			}
		}
	}
	return out
}
