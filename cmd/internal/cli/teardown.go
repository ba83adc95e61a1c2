package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/engine"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// teardownOptions are the flags of teardown.
type teardownOptions struct {
	book   *bookOption
	view   view
	file   string
	causes []string
}

func newTeardown(s streams, book *bookOption) *cobra.Command {
	o := teardownOptions{book: book}
	cmd := &cobra.Command{
		Use:   "teardown CASE",
		Short: "Plan a teardown: how far to open, tools, parts, readings, and closing up again",
		Long: `Reads one case file (or - for standard input) and writes a plan to open the pump
once: for the likely causes, or for those named with --cause. It says how far to
open, how long it takes, who must be told, what to have at hand, what else is worth
a look while it is open, and how everything is closed again.`,
		Example: "  telltale teardown testdata/cases/wiper-again.yaml\n  telltale teardown --cause piston-worn:2 case.yaml",
		Args:    takes(1, 1, "one case file"),
		RunE: func(_ *cobra.Command, args []string) error {
			o.file = args[0]
			return runTeardown(s, o)
		},
	}
	cmd.Flags().StringArrayVar(&o.causes, "cause", nil, "plan for this cause instead of the ranking: ID, or ID:PLACE for one cylinder (may be repeated)")
	o.view.flags(cmd)
	return cmd
}

func runTeardown(s streams, o teardownOptions) error {
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
	named, err := namedCauses(o.causes, book, k)
	if err != nil {
		return err
	}
	plan, err := engine.PlanTeardown(book, k, named)
	if err != nil {
		return o.view.withStops(s, plan.Report, err)
	}
	return o.view.write(s.out, plan, func() *doc.Document { return pages.Teardown(plan) })
}

// namedCauses reads ID or ID:PLACE of each --cause; without a place it means
// every place of the cause.
func namedCauses(texts []string, book *rules.Book, k *evidence.Case) ([]evidence.At, error) {
	var out []evidence.At
	for _, text := range texts {
		id, place, one := strings.Cut(text, ":")
		cause := book.Causes.Get(id)
		if cause == nil {
			return nil, usageError{fmt.Errorf("--cause %q: unknown cause%s", source.Clip(text), source.Expected(id, book.Causes.IDs()))}
		}
		if !cause.When.HoldsForPump(&k.Pump) {
			return nil, usageError{fmt.Errorf("--cause %s cannot be on a %s pump", id, k.Pump.Action)}
		}
		places := k.Pump.Places(cause.Level)
		if one {
			p, allowed, ok := k.Pump.Find(place)
			if !ok || cause.Level == evidence.OfPump {
				return nil, usageError{fmt.Errorf("--cause %q: this pump has no %s for it%s", source.Clip(text), source.Clip(place), source.Expected(place, allowed))}
			}
			places = k.Pump.Under(p, cause.Level)
		}
		for _, p := range places {
			out = append(out, evidence.At{ID: id, Place: p})
		}
	}
	return out, nil
}
