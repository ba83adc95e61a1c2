package cli

import (
	"errors"
	"os"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"telltale/cmd/internal/dialogue"
	"telltale/cmd/internal/talk"
	"telltale/evidence/record"
)

// askOptions are the flags of ask.
type askOptions struct {
	book  *bookOption
	file  string
	width int
}

func newAsk(s streams, book *bookOption) *cobra.Command {
	o := askOptions{book: book}
	cmd := &cobra.Command{
		Use:   "ask CASE",
		Short: "Talk with the crew: questions, steps and results, written to the case as they are answered",
		Long: `Asks what was noticed, then the question that tells most, and goes through the
steps with the crew, safety steps first, until the cause is proved, corrected and
looked at again. Answers are numbers; no colour is needed. Every answer is in the
case file before the next question comes: leave at any moment and start again with
the same file. The file may be edited by hand in between, and others may answer over
it meanwhile: an answer to what is not so any more is not taken, and what changed is
said. A new file is started if there is none.`,
		Example: "  telltale ask case.yaml",
		Args:    usageArgs(cobra.ExactArgs(1)),
		RunE: func(_ *cobra.Command, args []string) error {
			o.file = args[0]
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
	book, err := o.book.load()
	if err != nil {
		return err
	}
	file, err := record.Open(o.file, book.Vocabulary(), true)
	if err != nil {
		return fileError{err}
	}
	terminal, sitting := talk.New(s.in, s.out, width(s.out, o.width), height(s)), dialogue.NewSitting(book, file, time.Now)
	err = terminal.Hold(sitting)
	if err == nil {
		err = sitting.Broken()
	}
	if err != nil && !errors.Is(err, talk.ErrEnd) && !errors.Is(err, talk.ErrLeft) {
		return err
	}
	terminal.Say(0, "Everything that was answered is in "+o.file+". telltale ask goes on from there.")
	return terminal.Err()
}

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
