package cli

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/engine/upkeep"
	"telltale/evidence"
	"telltale/evidence/rig"
	"telltale/evidence/source"
	"telltale/rules"
)

// rigOptions are the flags of pump and rig.
type rigOptions struct {
	book *bookOption
	path string
	on   string
	cost float64
	stop string
	view view
}

// flags adds what pump and rig have in common.
func (o *rigOptions) flags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&o.on, "on", "", "the day of the report, like 2026-03-04 (default: today)")
	o.view.flags(cmd)
	o.view.htmlFlag(cmd)
}

func newPump(s streams, book *bookOption) *cobra.Command {
	o := rigOptions{book: book}
	cmd := &cobra.Command{
		Use:   "pump PUMP",
		Short: "One pump of a rig over its hours: what is due, how it wears, how long its parts last, what came back",
		Long: `Reads a pump of a rig (a folder with pumps/ and jobs/ in it) with all its jobs, and says
what is due and when, which jobs are open and what stands open or locked, how it wears
with when it reaches its limits, how long its parts last, and which troubles came back.
PUMP is its file, pumps/NAME.yaml.`,
		Example: "  telltale pump testdata/rig/pumps/pump-2.yaml\n  telltale pump --html rig/pumps/pump-2.yaml > pump-2.html",
		Args:    takes(1, 1, "the file of one pump"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("failure-costs") && !(o.cost > 1) {
				return usageError{fmt.Errorf("--failure-costs is %g; expected more than 1: a failure costs more than a planned change", o.cost)}
			}
			o.path = args[0]
			return runPump(s, o)
		},
	}
	cmd.Flags().Float64Var(&o.cost, "failure-costs", 0, "how many times as much a failure costs as a planned change, above 1: says at which age a part is best changed")
	o.flags(cmd)
	return cmd
}

func newRig(s streams, book *bookOption) *cobra.Command {
	o := rigOptions{book: book}
	cmd := &cobra.Command{
		Use:   "rig [FOLDER]",
		Short: "All pumps of a rig, the worst first: open jobs and what is due",
		Long: `Reads the folder of a rig (pumps/ and jobs/ in it; default: this one) and says of every
pump, the worst first, which jobs are open and what is overdue or due next. A file that
cannot be read is named, and the rest goes on.

With --stop HOURS it plans one planned stop of so many hours for one crew: of what the
open jobs want, what is overdue and what falls due, as much as fits, in one list with
tools and parts; each opening once, the safety steps before and the closing up after. It
says what does not fit and when it is due.`,
		Example: "  telltale rig testdata/rig\n  telltale rig testdata/rig --stop '12 h'",
		Args:    takes(0, 1, "the folder of one rig"),
		RunE: func(_ *cobra.Command, args []string) error {
			o.path = "."
			if len(args) == 1 {
				o.path = args[0]
			}
			return runRig(s, o)
		},
	}
	cmd.Flags().StringVar(&o.stop, "stop", "", "plan a planned stop of so long, like '12 h'")
	o.flags(cmd)
	return cmd
}

// day is the day of the report.
func (o *rigOptions) day() (time.Time, error) {
	if o.on == "" {
		return time.Now(), nil
	}
	day, err := time.Parse(evidence.DateForm, o.on)
	if err != nil {
		return day, usageError{fmt.Errorf("--on is %q; expected year-month-day, like 2026-03-04", o.on)}
	}
	return day, nil
}

func runPump(s streams, o rigOptions) error {
	pumps, name := filepath.Split(filepath.Clean(o.path))
	pumps, name = filepath.Clean(pumps), strings.TrimSuffix(name, ".yaml")
	book, day, err := o.begin(filepath.Dir(pumps))
	if err != nil {
		return err
	}
	if filepath.Base(pumps) != rig.PumpsFolder {
		return usageError{fmt.Errorf("%s is no pump of a rig; expected the file of a pump, like rig/%s/pump-2.yaml", o.path, rig.PumpsFolder)}
	}
	all, err := rig.Read(filepath.Dir(pumps), book.Vocabulary())
	if err != nil {
		return fileError{err}
	}
	pump := all.Named(name)
	if pump == nil {
		for _, u := range all.Unread {
			if filepath.Base(u.Path) == name+".yaml" {
				return whyUnread(u)
			}
		}
		return fileError{fmt.Errorf("%s: %w", o.path, os.ErrNotExist)}
	}
	report, err := upkeep.Of(book, pump, upkeep.Options{Now: day, CostRatio: o.cost})
	if err != nil {
		return err
	}
	if err := unread(s, all); err != nil {
		return err
	}
	return o.view.write(s.out, report, func() *doc.Document { return pages.Pump(report, book) })
}

// whyUnread is why a file cannot be used, with its name.
func whyUnread(u rig.Unread) error {
	var unread *source.UnreadError
	if errors.As(u.Err, &unread) {
		return fileError{fmt.Errorf("%s: %w", u.Path, unread)}
	}
	return u.Err // which says where
}

// unread names the files that are not counted.
func unread(s streams, all *rig.Rig) error {
	for _, u := range all.Unread {
		if _, err := fmt.Fprintf(s.err, "not counted: %s: %s\n", doc.Shown(source.OneLine(u.Path)), doc.Shown(strings.ReplaceAll(u.Err.Error(), u.Path, source.OneLine(u.Path)))); err != nil {
			return fileError{err}
		}
	}
	return nil
}

// rigGrowth is how far the heap grows over a rig before it is swept: it may have
// thousands of jobs.
const rigGrowth = 100

func runRig(s streams, o rigOptions) error {
	book, day, err := o.begin(o.path)
	if err != nil {
		return err
	}
	hours, err := o.stopHours()
	if err != nil {
		return err
	}
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(rigGrowth)
	}
	all, err := rig.Read(o.path, book.Vocabulary())
	var none *rig.NoRigError
	if errors.As(err, &none) {
		return usageError{err}
	}
	if err != nil {
		return fileError{err}
	}
	if o.stop != "" {
		plan, err := upkeep.OfStop(book, all, upkeep.Options{Now: day}, hours.In("h"))
		if err != nil {
			return err
		}
		return o.view.write(s.out, plan, func() *doc.Document { return pages.PlannedStop(plan, book) })
	}
	report, err := upkeep.OfRig(book, all, upkeep.Options{Now: day, Brief: true})
	if err != nil {
		return err
	}
	return o.view.write(s.out, report, func() *doc.Document { return pages.Rig(report, book) })
}

// stopHours is how long the stop is.
func (o *rigOptions) stopHours() (evidence.Quantity, error) {
	if o.stop == "" {
		return evidence.Quantity{}, nil
	}
	q, err := evidence.ParseQuantity(o.stop, evidence.Duration)
	switch {
	case err != nil:
		return q, usageError{fmt.Errorf("--stop is %q: %w", o.stop, err)}
	case q.In("h") <= 0 || q.In("h") > upkeep.MostStop:
		return q, usageError{fmt.Errorf("--stop is %q; expected more than 0 h and at most %d h", o.stop, upkeep.MostStop)}
	}
	return q, nil
}

// begin reads the book of a rig and the day of the report.
func (o *rigOptions) begin(dir string) (*rules.Book, time.Time, error) {
	if err := o.view.check(); err != nil {
		return nil, time.Time{}, err
	}
	day, err := o.day()
	if err != nil {
		return nil, day, err
	}
	book, err := o.book.loadIn(dir)
	return book, day, err
}
