package cli

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/signal"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"telltale/cmd/internal/dialogue"
	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/talk"
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
		Args:    takes(0, 1, "one case file, or the folder of a rig"),
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
	chosen := dialogue.Chosen{File: o.file}
	var choice choosing
	if isRig(o.file) {
		choice, err = dialogue.NewRig(book, cmp.Or(o.file, "."), o.now, nil)
	} else if o.file == "" {
		choice, err = dialogue.NewJobs(book, ".")
	}
	if err != nil {
		return err
	}
	if choice != nil {
		held.begin(choice)
		err = terminal.Hold(held)
		if chosen = choice.Chosen(); err != nil || chosen.File == "" {
			return left(terminal, err, held.whatIsWritten())
		}
	}
	work, err := dialogue.NewWork(book, chosen, o.now)
	if err != nil {
		return err
	}
	held.begin(work)
	if err = terminal.Hold(held); err != nil && !work.InSitting() {
		terminal.Say(0, work.CloseOut())
	}
	return cmp.Or(left(terminal, cmp.Or(err, work.Broken()), held.whatIsWritten()), work.Unfit())
}

// choosing is the talk that comes before a case.
type choosing interface {
	talk.Conversation
	Chosen() dialogue.Chosen
}

// bookFor is the book of the job or of the rig that is named.
func (o *askOptions) bookFor() (*rules.Book, error) {
	if isRig(o.file) {
		return o.book.loadIn(cmp.Or(o.file, "."))
	}
	return o.book.loadFor(o.file)
}

// isRig says whether a folder is one of a rig, or is to become one: it is named, and
// is a folder.
func isRig(named string) bool {
	if named == "" {
		return rig.Is(".")
	}
	info, err := os.Stat(named)
	return err == nil && info.IsDir()
}

// left ends a talk that was left, or whose input ended, with a last word.
func left(terminal *talk.Terminal, err error, word string) error {
	if err != nil && !errors.Is(err, talk.ErrEnd) && !errors.Is(err, talk.ErrLeft) {
		var file *fs.PathError
		if errors.As(err, &file) { // a folder that may not be written any more, a disk that is gone
			return fmt.Errorf("%w. The last answer was NOT written. %s", err, word)
		}
		return err
	}
	terminal.Say(0, word)
	return terminal.Err()
}

// heldTalk is a talk that nobody breaks off while it writes.
type heldTalk struct {
	talk.Conversation // nil before there is any
	writing           sync.Mutex
}

func (h *heldTalk) begin(c talk.Conversation) {
	h.writing.Lock()
	defer h.writing.Unlock()
	h.Conversation = c
}

// Answer is as of the talk.
func (h *heldTalk) Answer(a prompt.Answer) error {
	h.writing.Lock()
	defer h.writing.Unlock()
	return h.Conversation.Answer(a)
}

// whatIsWritten says truly what is in the file.
func (h *heldTalk) whatIsWritten() string {
	const goesOn = "telltale ask goes on from there."
	switch c := h.Conversation.(type) {
	case *dialogue.Rig:
		if all := c.Written(); len(all) > 0 {
			return "Written: " + strings.Join(all, ", ") + "."
		}
	case *dialogue.Work:
		switch {
		case c.Empty():
			return "Nothing was written: there is no " + c.File() + " yet."
		case c.Begun():
			return "What was answered is in " + c.File() + ", but for the answer that was begun last: that is NOT. " + goesOn
		}
		if k, err := c.Case(); err == nil && k != nil && k.Job.IsClosed() {
			return "Everything that was answered is in " + c.File() + ". The job is closed."
		}
		return "Everything that was answered is in " + c.File() + ". " + goesOn
	}
	return "Nothing was written."
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
