package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/engine"
	"telltale/evidence"
	"telltale/evidence/rig"
	"telltale/evidence/source"
	"telltale/rules"
)

// triageOptions are the flags of triage.
type triageOptions struct {
	book  *bookOption
	files []string
	many  bool
	full  bool
	all   bool
	view  view
}

func newTriage(s streams, book *bookOption) *cobra.Command {
	o := triageOptions{book: book}
	cmd := &cobra.Command{
		Use:   "triage CASE",
		Short: "Weigh one case: likely causes, and the checks in a safe order",
		Long: `Reads one case file (or - for standard input) and prints one screen of 24 lines:
the stop conditions, how long it can wait, what is done next, what probably failed
and what brought it on, and the question that tells most. Of the stop conditions
nothing is left out, so with several of them the page is longer.

With --full it prints everything: the likely causes with the reasons for and
against each, the list of steps with the safety steps first, and what to ask next.
--json always has everything.`,
		Example: "  telltale triage testdata/cases/wiper-again.yaml\n  telltale triage --full case.yaml\n  telltale triage --json case.yaml",
		Args: func(cmd *cobra.Command, args []string) error {
			if o.many {
				return nil
			}
			return takes(1, 1, "one case file")(cmd, args)
		},
		RunE: func(_ *cobra.Command, args []string) error {
			o.files = args
			return runTriage(s, o)
		},
	}
	cmd.Flags().BoolVar(&o.many, "many", false, "read many cases (JSON Lines, or YAML documents parted by ---) from the files or standard input; write one JSON line each, with or without --json")
	cmd.Flags().BoolVar(&o.full, "full", false, "print everything, not only the first screen; with --many, the whole report of each case")
	cmd.Flags().BoolVar(&o.all, "all", false, "the same as --full, with every cause, not only the likely ones; with --many, the same as --full")
	o.view.flags(cmd)
	return cmd
}

func runTriage(s streams, o triageOptions) error {
	if err := o.view.check(); err != nil {
		return err
	}
	if o.many && (o.view.markdown || o.view.width != 0) {
		return usageError{errors.New("--many writes one line of JSON for each case; it goes without --markdown and --width")}
	}
	load := o.book.load
	if !o.many {
		load = func() (*rules.Book, error) { return o.book.loadFor(o.files[0]) }
	}
	book, err := load()
	if err != nil {
		return err
	}
	if o.many {
		files := o.files
		if len(files) == 0 {
			files = []string{"-"}
		}
		return runMany(s, book, files, o.full || o.all)
	}
	k, err := readCase(s, o.files[0], book)
	if err != nil {
		return err
	}
	report, err := engine.Diagnose(book, k)
	if err != nil {
		return o.view.withStops(s, report, err)
	}
	return o.view.write(s.out, report, func() *doc.Document {
		if o.full || o.all {
			return pages.Triage(report, o.all)
		}
		return pages.Glance(report, restOfTriage)
	})
}

// restOfTriage says where the rest of a short page is.
const restOfTriage = "telltale triage --full CASE; on paper: telltale sheet CASE"

// readCase reads a case file, at most one byte more than is allowed.
func readCase(s streams, file string, book *rules.Book) (*evidence.Case, error) {
	text, name, err := caseText(s, file)
	if err != nil {
		return nil, fileError{err}
	}
	return rig.ParseCase(name, text, book.Vocabulary())
}

func caseText(s streams, file string) (text []byte, name string, err error) {
	if file == "-" {
		text, err = source.ReadBounded(s.in, source.CaseLimits)
		return text, "standard input", err
	}
	f, err := os.Open(file)
	if err != nil {
		return nil, "", err
	}
	defer f.Close()
	text, err = readSteady(f, file)
	return text, file, err
}

// readSteady reads a file that stays as it is meanwhile: what is written over
// while it is read may be half of one case and half of another.
func readSteady(f fs.File, name string) ([]byte, error) {
	before, err := f.Stat()
	if err != nil {
		return nil, err
	}
	text, err := source.ReadBounded(f, source.CaseLimits)
	if err != nil {
		return nil, err
	}
	after, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if before.Mode().IsRegular() && (before.Size() != after.Size() || !before.ModTime().Equal(after.ModTime())) {
		return nil, fmt.Errorf("%s was changed while it was read; once it is saved, give the command again", name)
	}
	return text, nil
}

// width is what the user asked for, else the terminal's, else 80 columns.
func width(w io.Writer, asked int) int {
	if asked != 0 {
		return asked
	}
	if f, ok := w.(*os.File); ok {
		if columns, _, err := term.GetSize(int(f.Fd())); err == nil && columns > 0 {
			return min(max(columns, doc.LeastWidth), doc.MostWidth)
		}
	}
	return 80
}
