package cli

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"telltale/cmd/internal/dialogue"
	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/talk"
	"telltale/engine/upkeep"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/rig"
	"telltale/rules"
)

// askOptions are the flags of ask.
type askOptions struct {
	book  *bookOption
	file  string
	width int
	now   func() time.Time
}

func newAsk(s streams, book *bookOption) *cobra.Command {
	o := askOptions{book: book, now: time.Now}
	cmd := &cobra.Command{
		Use:   "ask [CASE|RIG]",
		Short: "Talk with the crew: questions, steps and results, written to the case as they are answered",
		Long: `Hears what the crew tells in its own words, then asks the question that tells most, and goes through the
steps with the crew, safety steps first, until the cause is proved, corrected and
looked at again. Answers are numbers; no colour is needed. Every answer is in the
case file before the next question comes: leave at any moment and start again with
the same file. The file may be edited by hand in between, and others may answer over
it meanwhile: an answer to what is not so any more is not taken, and what changed is
said. A new file is started if there is none. Without a file it offers the open jobs
of this folder, and a new one. In the folder of a rig (pumps/ and jobs/ in it), or with
one named, it offers the open jobs of the rig, a new job on each pump, of which nothing
is asked that the pump's file knows, and a new pump. At any question words can be typed instead of a
number: they tell something else that was seen.`,
		Example: "  telltale ask\n  telltale ask case.yaml\n  telltale ask rig",
		Args:    usageArgs(cobra.MaximumNArgs(1)),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 {
				o.file = args[0]
			}
			return runAsk(s, o)
		},
	}
	cmd.Flags().IntVar(&o.width, "width", 0, widthHelp)
	return cmd
}

func runAsk(s streams, o askOptions) error {
	if err := checkWidth(o.width); err != nil {
		return err
	}
	book, err := o.bookFor()
	if err != nil {
		return err
	}
	terminal := talk.New(s.in, s.out, width(s.out, o.width), height(s))
	held := &heldTalk{}
	defer held.minding(s)()
	called, fresh := "", false
	if isRig(o.file) {
		choice, err := newRigTalk(book, cmp.Or(o.file, "."), o.now, held.wrote)
		if err != nil {
			return err
		}
		if err := terminal.Hold(choice); err != nil || choice.file == "" {
			return left(terminal, err, held.whatIsWritten())
		}
		o.file, fresh = choice.file, choice.fresh
	} else if o.file == "" {
		jobs, err := openJobs(book, ".")
		if err != nil {
			return fileError{err}
		}
		choice := &jobChoice{jobs: jobs}
		if err := terminal.Hold(choice); err != nil {
			return left(terminal, err, held.whatIsWritten())
		}
		o.file, called = choice.file, choice.called
	}
	file, err := openCase(book, o.file, true)
	if err != nil {
		return err
	}
	sitting := dialogue.NewSitting(book, file, o.now)
	sitting.Call(called)
	if fresh {
		sitting.Begins()
	}
	held.begin(sitting, o.file, fresh)
	err = terminal.Hold(held)
	if err == nil {
		err = sitting.Broken()
	}
	if err == nil {
		err = closedJob(terminal, book, sitting)
	}
	return left(terminal, err, held.whatIsWritten())
}

// bookFor is the book of the job or of the rig that is named.
func (o *askOptions) bookFor() (*rules.Book, error) {
	if isRig(o.file) {
		return o.book.loadIn(cmp.Or(o.file, "."))
	}
	return o.book.loadFor(o.file)
}

// closedJob follows a job that is closed: what it changed in what stands is offered to
// the file of its pump, and then it says what the job came to.
func closedJob(terminal *talk.Terminal, book *rules.Book, sitting *dialogue.Sitting) error {
	job, err := sitting.Case()
	if err != nil || job == nil || !job.Job.IsClosed() {
		return err
	}
	stands, err := standsOf(book, job, sitting.Text())
	if err != nil {
		return err
	}
	err = terminal.Hold(stands)
	terminal.Say(0, pages.CloseOut(upkeep.CloseOutOf(book, job, sitting.Pump())))
	return err
}

// standsOf is the talk over the file of the pump of a closed job.
func standsOf(book *rules.Book, job *evidence.Case, text []byte) (*dialogue.Stands, error) {
	file, err := record.OpenPump(filepath.Join(filepath.Dir(job.File), "..", rig.PumpsFolder, job.Job.Pump+".yaml"), book.Vocabulary(), false)
	if err != nil {
		return nil, fileError{err}
	}
	return dialogue.NewStands(book, job, text, file)
}

// left ends a talk that was left, or whose input ended, with a last word.
func left(terminal *talk.Terminal, err error, word string) error {
	if err != nil && !errors.Is(err, talk.ErrEnd) && !errors.Is(err, talk.ErrLeft) {
		return err
	}
	terminal.Say(0, word)
	return terminal.Err()
}

// heldTalk is a talk that nobody breaks off while it writes. Before a job is
// chosen there is no sitting.
type heldTalk struct {
	sitting *dialogue.Sitting
	file    string
	written []string // in the folder of a rig, before there is a sitting
	unnamed bool     // a new job of a rig, of which nobody has told a sign yet
	writing sync.Mutex
}

func (h *heldTalk) begin(s *dialogue.Sitting, file string, unnamed bool) {
	h.writing.Lock()
	defer h.writing.Unlock()
	h.sitting, h.file, h.unnamed = s, file, unnamed
}

// wrote notes what was written before there is a sitting.
func (h *heldTalk) wrote(path string) {
	h.writing.Lock()
	defer h.writing.Unlock()
	h.written = append(h.written, path)
}

// Prompt is as of the sitting.
func (h *heldTalk) Prompt() (prompt.Prompt, error) { return h.sitting.Prompt() }

// Answer is as of the sitting.
func (h *heldTalk) Answer(a prompt.Answer) error {
	h.writing.Lock()
	defer h.writing.Unlock()
	if err := h.sitting.Answer(a); err != nil {
		return err
	}
	h.nameJob()
	return nil
}

// whatIsWritten says truly what is in the file.
func (h *heldTalk) whatIsWritten() string {
	switch {
	case h.sitting == nil && len(h.written) > 0:
		return "Written: " + strings.Join(h.written, ", ") + "."
	case h.sitting == nil:
		return "Nothing was written."
	case h.sitting.Empty():
		return "Nothing was written: there is no " + h.file + " yet."
	case h.sitting.Begun():
		return "What was answered is in " + h.file + ", but for the answer that was begun last: that is NOT. telltale ask goes on from there."
	}
	return "Everything that was answered is in " + h.file + ". telltale ask goes on from there."
}

// minding has Ctrl-C say what is in the file before it ends the talk; what is
// given is called when the talk is over.
func (h *heldTalk) minding(s streams) func() {
	broken := make(chan os.Signal, 1)
	signal.Notify(broken, os.Interrupt)
	go func() {
		if _, open := <-broken; !open {
			return
		}
		h.writing.Lock()
		fmt.Fprintf(s.out, "\n%s\n", doc.Shown(h.whatIsWritten()))
		os.Exit(interrupted)
	}()
	return func() {
		signal.Stop(broken)
		close(broken)
	}
}

// interrupted is how a talk ends that Ctrl-C broke off: 128 and the number of the
// signal, as shells say it.
const interrupted = 130

// height is the lines of the terminal; 0, which never pauses, if there is none.
func height(s streams) int {
	f, ok := s.out.(*os.File)
	if !ok {
		return 0
	}
	if _, lines, err := term.GetSize(int(f.Fd())); err == nil {
		return lines
	}
	return 0
}
