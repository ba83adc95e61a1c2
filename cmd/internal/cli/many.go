package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"runtime/debug"

	"golang.org/x/term"

	"telltale/cmd/internal/doc"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// manyLine is what is written for one case of a stream.
type manyLine struct {
	Case int    `json:"case"`         // from 1, over all inputs
	From string `json:"from"`         // file and line where it starts
	ID   string `json:"id,omitempty"` // the case's own
	Pump string `json:"pump,omitempty"`
	// LocalRulebook is the local book that was laid over the built-in one.
	LocalRulebook *engine.LocalReport `json:"local_rulebook,omitempty"`
	*chances.Ranking
	// Report is the whole answer, with --all.
	Report *engine.Report   `json:"report,omitempty"`
	Errors []source.Problem `json:"errors,omitempty"`
	// MoreErrors are counted and not listed.
	MoreErrors int `json:"more_errors,omitempty"`
}

// job is one case on its way: read, worked out by some worker, written in its
// turn.
type job struct {
	number int
	name   string
	doc    source.StreamDocument
	line   []byte
	bad    bool
	done   chan struct{}
}

// someBad says that cases of a stream could not be answered; each has its own
// line.
type someBadError struct{ bad, all int }

func (e *someBadError) Error() string {
	return fmt.Sprintf("%d of %d cases could not be answered; each has a line with its error", e.bad, e.all)
}

// leastMany is the chance from which a cause stands in the line of a case.
const leastMany = 0.02

// longGrowth is how far the heap of a run of many cases grows before it is swept.
const longGrowth = 400

// runMany answers every case of the inputs with one JSON line, in order. It
// holds a few cases for each processor and no more.
func runMany(s streams, book *rules.Book, files []string, all bool) error {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(longGrowth)
	}
	workers := runtime.GOMAXPROCS(0)
	toDo, inTurn := make(chan *job, 2*workers), make(chan *job, 4*workers)
	stop := make(chan struct{})
	for range workers {
		go func() {
			w := manyWorker{book: book, words: book.Vocabulary(), ranker: chances.NewRanker(book), all: all}
			for j := range toDo {
				w.answer(j)
				close(j.done)
			}
		}()
	}
	readErr := make(chan error, 1)
	go func() {
		readErr <- readMany(s, files, toDo, inTurn, stop)
		close(toDo)
		close(inTurn)
	}()
	written, bad, err := writeMany(s, inTurn)
	close(stop)
	for range inTurn { // let the reader end after a failed write
	}
	if readError := <-readErr; err == nil {
		err = readError
	}
	if err == nil && bad > 0 {
		err = &someBadError{bad: bad, all: written}
	}
	return err
}

// readMany cuts the inputs into cases and hands them out. The errors are those of
// inputs that could not be read.
func readMany(s streams, files []string, toDo, inTurn chan<- *job, stop <-chan struct{}) error {
	number := 0
	hand := func(name string, doc source.StreamDocument) bool {
		number++
		j := &job{number: number, name: name, doc: doc, done: make(chan struct{})}
		select {
		case inTurn <- j:
			toDo <- j
			return true
		case <-stop:
			return false
		}
	}
	var failed []error
	for _, name := range files {
		more, err := oneInput(s, name, hand)
		if err != nil { // it has its line, and the next is read
			failed = append(failed, err)
			more = hand(name, source.StreamDocument{Line: 1, Err: err})
		}
		if !more {
			break
		}
	}
	return errors.Join(failed...)
}

// writeMany writes the lines in the order of the cases.
func writeMany(s streams, inTurn <-chan *job) (written, bad int, err error) {
	progress := newProgress(s)
	for j := range inTurn {
		<-j.done
		if _, err := s.out.Write(j.line); err != nil {
			return written, bad, fileError{err}
		}
		written++
		if j.bad {
			bad++
		}
		progress.show(written, bad)
	}
	progress.end(written, bad)
	return written, bad, nil
}

// manyWorker answers cases, one after another.
type manyWorker struct {
	book   *rules.Book
	words  evidence.Vocabulary
	ranker *chances.Ranker
	all    bool
}

func (w *manyWorker) answer(j *job) {
	out := manyLine{Case: j.number, From: fmt.Sprintf("%s:%d", j.name, j.doc.Line), LocalRulebook: engine.LocalBook(w.book)}
	if err := w.work(j, &out); err != nil {
		j.bad = true
		code := source.TooLarge
		if unread := (fileError{}); errors.As(err, &unread) {
			code = source.CannotRead
		}
		input := mistakesAt(err, code, j.name, j.doc.Line)
		out.Errors, out.MoreErrors = input.Problems, input.More
	}
	line, err := json.Marshal(out)
	if err != nil { // only a number that is none could do that
		line = []byte(fmt.Sprintf(`{"case":%d,"from":%q,"errors":[{"text":"cannot be written as JSON"}]}`, j.number, out.From))
		j.bad = true
	}
	j.line = append(doc.EscapeJSON(line), '\n')
}

func (w *manyWorker) work(j *job, out *manyLine) error {
	if j.doc.Err != nil {
		return j.doc.Err
	}
	var ps source.Problems
	root := j.doc.Parse(j.name, source.CaseLimits, &ps)
	if root == nil {
		return ps.Err()
	}
	if id := root.Value("id"); id != nil { // a bad case is known by it too
		out.ID = source.Clip(id.Text)
	}
	k := evidence.ReadCase(root, w.words, &ps)
	if err := ps.Err(); err != nil {
		return err
	}
	out.ID, out.Pump = k.ID, k.Pump.Name
	var err error
	if w.all {
		out.Report, err = engine.Diagnose(w.book, k)
		return err
	}
	out.Ranking, err = w.ranker.Rank(k, leastMany)
	return err
}

// progress tells a person at a terminal how far it is.
type progress struct {
	to   io.Writer
	each int
}

func newProgress(s streams) progress {
	if f, ok := s.err.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		return progress{to: s.err, each: 1000}
	}
	return progress{}
}

func (p progress) show(written, bad int) {
	if p.to != nil && written%p.each == 0 {
		fmt.Fprintf(p.to, "\r%d cases, %d with errors", written, bad)
	}
}

func (p progress) end(written, bad int) {
	if p.to != nil {
		fmt.Fprintf(p.to, "\r%d cases, %d with errors\n", written, bad)
	}
}
