package site

import (
	"cmp"
	"crypto/rand"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	random "math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/trainer"
	"telltale/engine/practice"
	"telltale/evidence"
	"telltale/evidence/source"
)

// practiceAddress is where an exercise or a quiz is begun. Each has an address of its
// own below it, which says besides what was drawn: so it can be drawn again.
const practiceAddress = "/practice"

// recordFile keeps the exercises of whoever wants them kept, in the folder.
const recordFile = "practice.jsonl"

// mostRecorded bounds the record file that is read for a page, in bytes.
const mostRecorded = 16 << 20

// wanted is what a trainee wants to do.
type wanted struct {
	practice.Setup
	questions int // of a quiz; 0 of an exercise
	keep      bool
}

// The fields of a form that begins an exercise or a quiz.
const (
	fieldSeed      = "seed"
	fieldLevel     = "level"
	fieldPump      = "pump"
	fieldQuestions = "quiz"
	fieldKeep      = "record"
)

// mostSeed is how many seeds are drawn from: each is short enough to be written down.
const mostSeed = 1_000_000

// wantedOf reads what a form or an address wants; without a seed it draws one. What no
// level and no number of questions is says whoever draws.
func wantedOf(form url.Values) (wanted, error) {
	w := wanted{keep: form.Get(fieldKeep) != ""}
	var err error
	seed := strings.TrimSpace(form.Get(fieldSeed))
	if w.Seed, err = strconv.ParseUint(seed, 10, 64); seed == "" {
		w.Seed = random.Uint64N(mostSeed)
	} else if err != nil {
		return w, fmt.Errorf("seed %q: expected a whole number, such as 7", source.Clip(seed))
	}
	if text := strings.TrimSpace(form.Get(fieldQuestions)); form.Has(fieldQuestions) {
		if w.questions, err = strconv.Atoi(text); err != nil || w.questions < 1 {
			return w, fmt.Errorf("%q: a quiz has 1 to %d questions", source.Clip(text), practice.MostQuestions)
		}
		return w, nil
	}
	if text := form.Get(fieldLevel); text != "" {
		if w.Level, err = strconv.Atoi(text); err != nil {
			return w, fmt.Errorf("level %q: there are the levels 1 to 3", source.Clip(text))
		}
	}
	pump := form.Get(fieldPump)
	if _, ok := trainer.Pumps[pump]; !ok {
		return w, fmt.Errorf("pump %q: unknown pump%s", source.Clip(pump), source.Expected(pump, []string{"triplex", "duplex"}))
	}
	w.Action = trainer.Pumps[pump]
	return w, nil
}

// pump is the word for the kind of pump; "" if it is drawn.
func (w wanted) pump() string {
	for word, action := range trainer.Pumps {
		if action == w.Action {
			return word
		}
	}
	return ""
}

// fields are what wantedOf reads.
func (w wanted) fields() url.Values {
	out := url.Values{fieldSeed: {fmt.Sprint(w.Seed)}}
	if w.questions > 0 {
		out.Set(fieldQuestions, fmt.Sprint(w.questions))
		return out
	}
	out.Set(fieldLevel, fmt.Sprint(w.Level))
	out.Set(fieldPump, w.pump())
	if w.keep {
		out.Set(fieldKeep, "yes")
	}
	return out
}

// lesson is an exercise or a quiz under way. It lives in memory alone.
type lesson struct {
	conversation
	wanted
	exercise *trainer.Exercise // nil of a quiz
	quiz     *trainer.Quiz     // nil of an exercise
	ended    time.Time         // when the exercise was over
	recorded string            // what became of its record
	lost     string            // the same, if it was not recorded
}

// draw draws what is wanted.
func (s *Site) draw(w wanted) (*lesson, error) {
	l := &lesson{wanted: w}
	if w.questions > 0 {
		questions, err := practice.Quiz(s.book, w.questions, w.Seed)
		if err != nil {
			return nil, err
		}
		l.quiz = trainer.NewQuiz(questions)
		l.conversation = l.quiz
		return l, nil
	}
	if w.keep {
		if err := practice.Appendable(s.openRecord, recordFile); err != nil { // told before the exercise, not after it
			return nil, err
		}
	}
	world, err := practice.Draw(s.book, w.Setup)
	if err != nil {
		return nil, err
	}
	l.exercise = trainer.NewExercise(s.book, world)
	l.conversation = l.exercise
	return l, nil
}

// over says whether nothing more is asked.
func (l *lesson) over() bool {
	if l.quiz != nil {
		return l.quiz.Over()
	}
	return l.exercise.Over()
}

// openRecord opens a file of the folder; what leads elsewhere is not followed.
func (s *Site) openRecord(name string, flag int, perm os.FileMode) (*os.File, error) {
	info, err := s.root.Lstat(name)
	if err == nil && !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s in this folder is no file of its own: it leads elsewhere, or is a folder. Nothing was read or written. Take it away, or keep no record", name)
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	return s.root.OpenFile(name, flag, perm)
}

// end notes that an exercise is over, and records it where that is wanted: once.
func (s *Site) end(l *lesson) error {
	if l.exercise == nil || !l.over() || !l.ended.IsZero() {
		return nil
	}
	l.ended = s.now()
	if !l.keep {
		return nil
	}
	record, err := l.exercise.Record()
	if err != nil {
		return err
	}
	record.At = evidence.Stamp(l.ended)
	if err := practice.Append(s.openRecord, recordFile, record); err != nil {
		l.lost = trainer.NotRecorded(err, record).Error()
		return nil
	}
	l.recorded = "Recorded in " + recordFile + " in this folder."
	return nil
}

// beginning is the page on which an exercise or a quiz is begun.
type beginning struct {
	Title, OnlyHere string
	Refused         string
	Record          string
	Levels          []choiceOf
	Pumps           []choiceOf
	Keep            bool
	Seed, QuizSeed  string
	Questions       string
	Most            int
}

// choiceOf is one of several to choose from.
type choiceOf struct {
	Value, Text string
	Chosen      bool
}

// usualQuestions is how many questions a quiz has if nobody says.
const usualQuestions = 10

func (s *Site) showPractice(w http.ResponseWriter, _ *http.Request) error {
	return s.putPractice(w, http.StatusOK, url.Values{}, "")
}

// putPractice shows what can be begun, with what was filled in.
func (s *Site) putPractice(w http.ResponseWriter, status int, form url.Values, refused string) error {
	body := beginning{Title: "Practice", OnlyHere: trainer.OnlyHere, Refused: refused, Record: recordFile, Keep: form.Has(fieldKeep), Most: practice.MostQuestions}
	body.Questions = fmt.Sprint(usualQuestions)
	if form.Has(fieldQuestions) {
		body.Questions, body.QuizSeed = prompt.Plain(form.Get(fieldQuestions)), prompt.Plain(form.Get(fieldSeed))
	} else {
		body.Seed = prompt.Plain(form.Get(fieldSeed))
	}
	level := cmp.Or(form.Get(fieldLevel), fmt.Sprint(practice.CommonFault))
	for n := practice.CommonFault; n <= practice.TwoFaults; n++ {
		value := fmt.Sprint(n)
		body.Levels = append(body.Levels, choiceOf{value, "Level " + value + ": " + trainer.Levels[n], value == level})
	}
	for _, p := range []choiceOf{{Value: "", Text: "drawn"}, {Value: "triplex", Text: "triplex"}, {Value: "duplex", Text: "duplex"}} {
		p.Chosen = p.Value == form.Get(fieldPump)
		body.Pumps = append(body.Pumps, p)
	}
	return s.show(w, status, "practice", shell{Title: body.Title, Ways: practiceWays(""), Body: body})
}

// progressAddress is where it is told how practice went.
const progressAddress = practiceAddress + "/progress"

// practiceWays are the ways from the pages of practice.
func practiceWays(here string) []way {
	return []way{{Text: "Practice so far", Address: progressAddress, Here: here == progressAddress}}
}

// beginPractice draws an exercise or a quiz and leads to it.
func (s *Site) beginPractice(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return err
	}
	want, err := wantedOf(r.PostForm)
	var l *lesson
	if err == nil {
		l, err = s.draw(want)
	}
	if err != nil {
		return s.putPractice(w, http.StatusUnprocessableEntity, r.PostForm, doc.Ended(doc.Shown(source.Plain(err)))+" Nothing was begun.")
	}
	at := practiceAddress + "/" + rand.Text()
	k, err := s.desks.sit(at, func() (conversation, error) { return l, nil })
	if err != nil {
		return err
	}
	k.Unlock()
	http.Redirect(w, r, at+"?"+want.fields().Encode(), http.StatusSeeOther)
	return nil
}

// errGone says that an exercise or a quiz is not in memory any more.
var errGone = errors.New("it is not in memory any more")

// lessonDesk is the desk of an exercise or a quiz. Whoever has it unlocks it.
func (s *Site) lessonDesk(r *http.Request) (*desk, error) {
	return s.desks.sit(practiceAddress+"/"+r.PathValue("id"), func() (conversation, error) { return nil, errGone })
}

// putGone says that it is gone, and offers to draw it again.
func (s *Site) putGone(w http.ResponseWriter, r *http.Request) error {
	body := struct {
		Title, OnlyHere, Record, What string
		Again                         []choiceOf
	}{Title: "Not there any more", OnlyHere: trainer.OnlyHere, Record: recordFile, What: "exercise"}
	if want, err := wantedOf(r.URL.Query()); err == nil && r.URL.Query().Has(fieldSeed) {
		body.Again = hidden(want)
		if want.questions > 0 {
			body.What = "quiz"
		}
	}
	return s.show(w, http.StatusNotFound, "gone", shell{Title: body.Title, Ways: practiceWays(""), Body: body})
}

// hidden are the fields of a form that draws the same again.
func hidden(want wanted) (out []choiceOf) {
	fields := want.fields()
	for _, name := range []string{fieldSeed, fieldLevel, fieldPump, fieldQuestions, fieldKeep} {
		if fields.Has(name) {
			out = append(out, choiceOf{Value: name, Text: fields.Get(name)})
		}
	}
	return out
}

func (s *Site) showLesson(w http.ResponseWriter, r *http.Request) error {
	k, err := s.lessonDesk(r)
	if errors.Is(err, errGone) {
		return s.putGone(w, r)
	} else if err != nil {
		return err
	}
	defer k.Unlock()
	return s.putLesson(w, k, nil, nil)
}

// answerLesson takes an answer, and leads to what is asked then.
func (s *Site) answerLesson(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return err
	}
	k, err := s.lessonDesk(r)
	if errors.Is(err, errGone) {
		return s.putGone(w, r)
	} else if err != nil {
		return err
	}
	defer k.Unlock()
	if err := k.take(r.PostForm); err != nil {
		return s.putLesson(w, k, r.PostForm, err)
	}
	l := k.talk.(*lesson)
	if err := s.end(l); err != nil {
		return err
	}
	http.Redirect(w, r, k.at+"?"+l.fields().Encode(), http.StatusSeeOther)
	return nil
}

// lessonBody is the page of an exercise or a quiz.
type lessonBody struct {
	Title, OnlyHere string
	Put             *put
	Score           string
	Beside          []group       // what is known
	Picture         template.HTML // of the rod that is asked about
	Over            bool
	Review          string // where the review is
	Recorded, Lost  string
	Again           []choiceOf
}

// putLesson shows what is asked now, or how it went; refused is why an answer was not
// taken, nil where none was given.
func (s *Site) putLesson(w http.ResponseWriter, k *desk, form url.Values, refused error) error {
	l := k.talk.(*lesson)
	p, err := l.Prompt()
	if err != nil {
		return err
	}
	over, status := &put{Prompt: p, Address: k.at + "?" + l.fields().Encode(), Turn: k.turn()}, http.StatusOK
	if refused != nil {
		status = over.refused(refused, form, k.shownTo(form.Get(fieldTurn), form.Get(fieldRests)))
	}
	k.show(p, "")
	body := lessonBody{Title: "Practice pump", OnlyHere: trainer.OnlyHere, Put: over, Over: p.Over(), Recorded: l.recorded, Lost: l.lost, Again: hidden(l.wanted)}
	var rod *practice.RodReading
	switch {
	case l.quiz != nil:
		body.Title, body.Score = fmt.Sprintf("Quiz from the rulebook. Seed %d.", l.Seed), l.quiz.Score()
		rod = l.quiz.Rod()
	case body.Over:
		body.Review = k.at + "/review?" + l.fields().Encode()
		over.Body = firstPart(p.Body)
	default:
		over.News = slices.DeleteFunc(slices.Clone(p.News), func(l prompt.Line) bool { return l.Text == trainer.OnlyHere }) // it stands above
		body.Beside = groups(l.exercise.Beside())
		over.Options = slices.DeleteFunc(slices.Clone(p.Options), func(o prompt.Option) bool { return o.ID == "known" }) // it stands beside
		rod = l.exercise.Rod()
	}
	if rod != nil {
		if body.Picture, err = part(pages.PracticeRod(rod)); err != nil {
			return err
		}
	}
	return s.show(w, status, "lesson", shell{Title: body.Title, Ways: practiceWays(""), Body: body})
}

// firstPart is what is said up to the second heading.
func firstPart(lines []prompt.Line) []prompt.Line {
	for i, l := range lines {
		if i > 0 && l.Kind == prompt.Head {
			return lines[:i]
		}
	}
	return lines
}

// lessonReview is the review of an exercise with pictures, to read and to print.
func (s *Site) lessonReview(w http.ResponseWriter, r *http.Request) error {
	k, err := s.lessonDesk(r)
	if errors.Is(err, errGone) {
		return s.putGone(w, r)
	} else if err != nil {
		return err
	}
	defer k.Unlock()
	l := k.talk.(*lesson)
	if l.exercise == nil || !l.over() {
		return &notFoundError{"The review comes when the exercise is over."}
	}
	if _, err := l.Prompt(); err != nil { // judges it
		return err
	}
	address := k.at + "?" + l.fields().Encode()
	return s.documentIn(w, r, l.exercise.Page(l.ended), append(practiceWays(""), way{Text: "The exercise", Address: address}))
}

// mostDamaged is how many lines that cannot be read are told.
const mostDamaged = 5

// practiceProgress tells how the exercises of the record file went.
func (s *Site) practiceProgress(w http.ResponseWriter, r *http.Request) error {
	records, damaged, err := s.readRecords()
	if err != nil {
		return fmt.Errorf("%s: %w", recordFile, err)
	}
	sum := practice.Sum(records)
	d := pages.Progress(s.book, &sum)
	d.Lines = append([]string{"Practice, no real pump: these pumps existed only here.", "From " + recordFile + " in this folder: the exercises of everybody who had them recorded there."}, d.Lines...)
	for i, x := range damaged {
		if i == mostDamaged {
			d.Lines = append(d.Lines, fmt.Sprintf("Lines that are damaged besides: %d.", len(damaged)-i))
			break
		}
		d.Lines = append(d.Lines, fmt.Sprintf("%s:%d: this line is damaged and was skipped: %s.", recordFile, x.Line, doc.Shown(x.Why)))
	}
	return s.documentIn(w, r, d, practiceWays(progressAddress))
}

// readRecords reads the record file; there are none without one.
func (s *Site) readRecords() ([]practice.Record, []practice.Damaged, error) {
	f, err := s.openRecord(recordFile, os.O_RDONLY, 0)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, nil, err
	}
	if info.Size() > mostRecorded {
		return nil, nil, fmt.Errorf("it is larger than %d MB. The command still reads it: telltale practice --progress %s", mostRecorded>>20, recordFile)
	}
	return practice.ReadRecords(f)
}
