package cli

import (
	"github.com/spf13/cobra"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/engine"
	"telltale/engine/figures"
)

// measureOptions are the flags of align and output.
type measureOptions struct {
	book *bookOption
	view view
	file string
	page func(pages.Input) *doc.Document
}

func newAlign(s streams, book *bookOption) *cobra.Command {
	return newMeasure(s, measureOptions{book: book, page: pages.Align}, &cobra.Command{
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
	return newMeasure(s, measureOptions{book: book, page: pages.Output}, &cobra.Command{
		Use:   "output CASE",
		Short: "Work out the pump's numbers: displacement, loads, tank test, suction, record of parts",
		Long: `Reads one case file (or - for standard input) and works out the pump's numbers:
what it displaces, rod load and power, what a tank test lost and what that loss is
like, what head the suction has left, and what the record of changed parts shows.`,
		Example: "  telltale output testdata/cases/tank-short.yaml",
	})
}

func newMeasure(s streams, o measureOptions, cmd *cobra.Command) *cobra.Command {
	cmd.Args = takes(1, 1, "one case file")
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		o.file = args[0]
		return runMeasure(s, o)
	}
	o.view.flags(cmd)
	o.view.htmlFlag(cmd)
	return cmd
}

func runMeasure(s streams, o measureOptions) error {
	if err := o.view.check(); err != nil {
		return err
	}
	book, err := o.book.loadFor(o.file)
	if err != nil {
		return err
	}
	k, err := readCase(s, o.file, book)
	if err != nil {
		return err
	}
	in := pages.Input{Book: book, Case: k}
	if o.view.html {
		if in.Written, err = now(); err != nil {
			return err
		}
	}
	if in.Measured, err = engine.Measure(book, k); err != nil {
		return err
	}
	if in.Turn, err = figures.GuideTurn(book, k); err != nil {
		return err
	}
	return o.view.write(s.out, in.Measured, func() *doc.Document { return o.page(in) })
}
