package cli

import (
	"github.com/spf13/cobra"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/engine"
)

// handoverOptions are the flags of handover.
type handoverOptions struct {
	book *bookOption
	view view
	file string
}

func newHandover(s streams, book *bookOption) *cobra.Command {
	o := handoverOptions{book: book}
	cmd := &cobra.Command{
		Use:   "hand-over CASE",
		Short: "One page for the change of tour: stops, locks, what was done and found, what comes next, names",
		Long: `Reads one case file (or - for standard input), one that stands alone or a job of a
rig, and writes one page to hand the pump over with: the stop conditions and how long it
can wait, what hangs and stands open and by whom, what was found, proved and done, what
comes next, whom to tell, and blanks for the names. The job sheet has everything at length.

The date on the page is now, or that of SOURCE_DATE_EPOCH (seconds since 1970) if that is
set.`,
		Example: "  telltale hand-over testdata/cases/wiper-again.yaml\n  telltale hand-over --html rig/jobs/2026-10-26-pump-3-valve-right.yaml > page.html",
		Args:    takes(1, 1, "one case file"),
		RunE: func(_ *cobra.Command, args []string) error {
			o.file = args[0]
			return runHandover(s, o)
		},
	}
	o.view.pageFlags(cmd)
	o.view.htmlFlag(cmd)
	return cmd
}

func runHandover(s streams, o handoverOptions) error {
	if err := o.view.check(); err != nil {
		return err
	}
	book, err := o.book.loadFor(o.file)
	if err != nil {
		return err
	}
	at, err := now()
	if err != nil {
		return err
	}
	k, err := readCase(s, o.file, book)
	if err != nil {
		return err
	}
	plan, err := engine.PlanTeardown(book, k, nil)
	if err != nil {
		return o.view.withStops(s, plan.Report, err)
	}
	in := pages.Input{Book: book, Case: k, Plan: plan, Written: at}
	return o.view.write(s.out, plan, func() *doc.Document { return pages.HandOver(in) })
}
