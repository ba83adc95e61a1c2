package cli

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"telltale/cmd/internal/page"
	"telltale/cmd/internal/sheet"
	"telltale/engine"
	"telltale/evidence"
	"telltale/rules"
)

// measureOptions are the flags of align and output.
type measureOptions struct {
	book     *bookOption
	file     string
	json     bool
	markdown bool
	html     bool
	width    int
	page     func(io.Writer, *engine.Report, int, bool) error
	sheet    func(sheet.Input) *sheet.Page
}

func newAlign(s streams, book *bookOption) *cobra.Command {
	return newMeasure(s, measureOptions{book: book, page: page.Align, sheet: sheet.Align}, &cobra.Command{
		Use:   "align CASE",
		Short: "Work out the rods' readings: where they stand, what shims would do, when to stop and ask",
		Long: `Reads one case file (or - for standard input) and works out its feeler readings:
where each rod stands in its opening, the shims that would centre it from what is
on hand, the clearance over the crosshead before and after, gaps, liners and rods.
It says what a correction will do before a guide is lifted, and when not to do it.`,
		Example: "  telltale align testdata/cases/rod-measured.yaml",
	})
}

func newOutput(s streams, book *bookOption) *cobra.Command {
	return newMeasure(s, measureOptions{book: book, page: page.Output, sheet: sheet.Output}, &cobra.Command{
		Use:   "output CASE",
		Short: "Work out the pump's numbers: displacement, loads, tank test, suction, record of parts",
		Long: `Reads one case file (or - for standard input) and works out the pump's numbers:
what it displaces, rod load and power, what a tank test lost and what that loss is
like, what head the suction has left, and what the record of changed parts shows.`,
		Example: "  telltale output testdata/cases/tank-short.yaml",
	})
}

func newMeasure(s streams, o measureOptions, cmd *cobra.Command) *cobra.Command {
	cmd.Args = usageArgs(cobra.ExactArgs(1))
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		o.file = args[0]
		return runMeasure(s, o)
	}
	cmd.Flags().BoolVar(&o.json, "json", false, "print everything as JSON")
	cmd.Flags().BoolVar(&o.markdown, "markdown", false, "print as Markdown")
	cmd.Flags().BoolVar(&o.html, "html", false, "print as one HTML file with pictures, for paper")
	cmd.Flags().IntVar(&o.width, "width", 0, widthHelp)
	return cmd
}

func runMeasure(s streams, o measureOptions) error {
	if err := checkView(o.json, o.markdown, o.width); err != nil {
		return err
	}
	if o.html && (o.json || o.markdown) {
		return usageError{errors.New("--html goes without --json and --markdown; choose one")}
	}
	book, err := o.book.load()
	if err != nil {
		return err
	}
	k, err := readCase(s, o.file, book)
	if err != nil {
		return err
	}
	if o.html {
		return measureSheet(s, o, book, k)
	}
	report, err := engine.Measure(book, k)
	if err != nil {
		return err
	}
	if o.json {
		err = page.JSON(s.out, report)
	} else {
		err = o.page(s.out, report, width(s.out, o.width), o.markdown)
	}
	if err != nil {
		return fileError{err}
	}
	return nil
}

// measureSheet writes the same with pictures.
func measureSheet(s streams, o measureOptions, book *rules.Book, k *evidence.Case) error {
	at, err := now()
	if err != nil {
		return err
	}
	in, err := measuredInput(book, k, at)
	if err != nil {
		return err
	}
	return putSheet(s.out, o.sheet(in), false, "")
}

const widthHelp = "columns of the text, 60 to 160 (default: the terminal's, else 80)"

// checkView refuses views that exclude each other and widths that do not print.
func checkView(json, markdown bool, width int) error {
	if json && markdown {
		return usageError{errors.New("--json and --markdown exclude each other; choose one")}
	}
	if width != 0 && (width < page.LeastWidth || width > page.MostWidth) {
		return usageError{fmt.Errorf("--width is %d; expected %d to %d", width, page.LeastWidth, page.MostWidth)}
	}
	return nil
}
