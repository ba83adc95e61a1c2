package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"

	"github.com/spf13/cobra"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/words"
	"telltale/engine/hear"
	"telltale/engine/prove"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// errNotProved says that the rulebook was found wanting; what is wrong was
// printed already.
var errNotProved = errors.New("the rulebook does not pass")

func newRulebook(s streams, book *bookOption) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "rulebook",
		Short: "For the rulebook's keeper: what it knows, what is doubtful, what it proves",
		Long: `A rulebook is a folder of YAML files: causes, signs, checks, what makes them safe, and
the cases that prove it. A rig's own one is laid over the built-in one by --rulebook, or
lies in the folder book of the rig. It can only make the work safer, weigh otherwise and
say more. No stop of it leaves the pump, and none stands over a graver one. A check opens
what hides the signs that it answers, behind the isolation, or the book is refused.

Begin with show: an entry that is like yours is the pattern. Then vet gives every error
with its place, and what is worth a second look; prove runs the cases. DEVELOPERS.md has
every section and key, and how a sign, a cause or a check is added.`,
		Args: cobra.ArbitraryArgs,
		RunE: helpOrUnknown,
	}
	cmd.AddCommand(newShow(s, book), newVet(s, book), newProve(s, book))
	return cmd
}

// showOptions are the flags of rulebook show.
type showOptions struct {
	book *bookOption
	id   string
	pick pages.Pick
	view view
}

func newShow(s streams, book *bookOption) *cobra.Command {
	o := showOptions{book: book}
	cmd := &cobra.Command{
		Use:   "show [ID]",
		Short: "What the rulebook knows: all causes, or one entry with its links",
		Args:  takes(0, 1, "the name of one entry"),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 {
				o.id = args[0]
			}
			return runShow(s, o)
		},
	}
	o.view.pageFlags(cmd)
	o.view.htmlFlag(cmd)
	cmd.Flags().StringVar(&o.pick.Group, "group", "", "only causes of this group")
	cmd.Flags().StringVar(&o.pick.Action, "pump", "", "only what is on this kind of pump: triplex-single-acting or duplex-double-acting")
	return cmd
}

func runShow(s streams, o showOptions) error {
	if err := o.view.check(); err != nil {
		return err
	}
	b, err := o.book.load()
	if err != nil {
		return err
	}
	if g := o.pick.Group; g != "" && b.Groups.Get(g) == nil {
		return usageError{fmt.Errorf("unknown group %q%s", source.Clip(g), source.Expected(g, b.Groups.IDs()))}
	}
	if a := o.pick.Action; a != "" && !slices.Contains(evidence.Actions(), a) {
		return usageError{fmt.Errorf("unknown pump %q%s", source.Clip(a), source.Expected(a, evidence.Actions()))}
	}
	d := pages.Rulebook(b, o.pick)
	if o.id != "" {
		found := false
		if d, found = pages.Entry(b, o.id, o.pick); !found {
			return usageError{fmt.Errorf("the rulebook has no entry %q%s", source.Clip(o.id), source.Expected(o.id, b.EntryIDs()))}
		}
	}
	return o.view.write(s.out, nil, func() *doc.Document { return d })
}

// withDir lets a command name the local book as its argument too.
func (o *bookOption) withDir(args []string) bookOption {
	if len(args) == 1 {
		return bookOption{dir: args[0]}
	}
	return *o
}

// loadProved gives the rulebook with the proving cases of the built-in book
// and of the local one.
func (o *bookOption) loadProved() (*rules.Book, *prove.Suite, error) {
	b, err := o.load()
	if err != nil {
		return nil, nil, err
	}
	dirs := []prove.Dir{{Files: rules.BuiltInFiles(), Name: rules.BuiltInDir}}
	if o.dir != "" {
		root, err := os.OpenRoot(o.dir)
		if err != nil {
			return nil, nil, fileError{err}
		}
		defer root.Close()
		dirs = append(dirs, prove.Dir{Files: root.FS(), Name: filepath.ToSlash(o.dir)})
	}
	suite, err := prove.Load(b, dirs...)
	return b, suite, err
}

func newVet(s streams, book *bookOption) *cobra.Command {
	return &cobra.Command{
		Use:   "vet [DIR]",
		Short: "Errors of a rulebook, and what is worth a second look",
		Long: `Loads the built-in rulebook, with the local book of DIR laid over it if it is given,
and lists what is allowed but doubtful: a cause that no check exposes, two causes
that nothing tells apart, a check that exposes nothing, a cause without a proving
case. A remark that the book's keeper has
explained is listed with his reason and does not count.`,
		Args: takes(0, 1, "the folder of one local rulebook"),
		RunE: func(_ *cobra.Command, args []string) error { return runVet(s, book.withDir(args)) },
	}
}

func runVet(s streams, o bookOption) error {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(rigGrowth)
	}
	b, suite, err := o.loadProved()
	if err != nil {
		return err
	}
	remarks := append(b.Vet(), b.Judged(prove.Unproved(b, suite))...)
	remarks = append(remarks, b.Judged(hear.Vet(b))...)
	open, err := writeRemarks(s.out, b, remarks)
	if err != nil {
		return fileError{err}
	}
	if open > 0 {
		return errNotProved
	}
	return nil
}

// writeRemarks writes the remarks on a rulebook and gives how many are not
// explained.
func writeRemarks(w io.Writer, b *rules.Book, remarks []rules.Remark) (open int, err error) {
	var out bytes.Buffer
	for _, r := range remarks {
		if r.Accepted != "" {
			fmt.Fprintf(&out, "%s: %s: %s. Explained: %s\n", r.Pos, r.Kind, r.Message, r.Accepted)
			continue
		}
		open++
		fmt.Fprintf(&out, "%s: %s: %s\n", r.Pos, r.Kind, r.Message)
	}
	fmt.Fprintf(&out, "%d causes, %d signs, %d checks: no errors, %d remarks, %d of them explained\n",
		len(b.Causes.List), len(b.Signs.List), len(b.Checks.List), len(remarks), len(remarks)-open)
	return open, paged(w, []byte(doc.Shown(out.String())))
}

func newProve(s streams, book *bookOption) *cobra.Command {
	misses := false
	cmd := &cobra.Command{
		Use:   "prove [DIR]",
		Short: "Run the rulebook's own cases",
		Long: `Runs the proving cases that stand beside the rulebook (folder proofs), those of DIR
too if it is given, and prints what does not hold, with its place and the strongest
reasons, and what the cases cover. A case can demand what failed and, apart from it,
what brought it on. Passing is no measure of accuracy: the cases and the figures come
from the same people.`,
		Args: takes(0, 1, "the folder of one local rulebook"),
		RunE: func(_ *cobra.Command, args []string) error { return runProve(s, book.withDir(args), misses) },
	}
	cmd.Flags().BoolVar(&misses, "misses", false, "list what was not understood of the told stories, word for word")
	return cmd
}

func runProve(s streams, o bookOption, misses bool) error {
	b, suite, err := o.loadProved()
	if err != nil {
		return err
	}
	out := prove.Run(b, suite)
	if err := writeProved(s.out, b, suite, out, misses); err != nil {
		return fileError{err}
	}
	if !out.Full() {
		return errNotProved
	}
	return nil
}

// writeHeard writes how well a set of told stories was understood.
func writeHeard(out *bytes.Buffer, h prove.Hearing, misses bool) {
	if h.Stories == 0 {
		return
	}
	fmt.Fprintf(out, "told stories, %s (%d): sign first %s, in the first three %s; there or not %s, place %s, kind %s; strong and wrong %s, of what has no sign strong %s; work %s, checks %s, guesses %s\n",
		h.Set, h.Stories, h.Signs, h.Three, h.Answers, h.Places, h.Kinds, h.WrongStrong, h.StrongOfNone, h.Works, h.Checks, h.Guesses)
	if misses {
		for _, m := range h.Misses {
			fmt.Fprintf(out, "    %s\n", m)
		}
	}
}

// writeProved writes what the proving cases showed.
func writeProved(w io.Writer, b *rules.Book, s *prove.Suite, o prove.Outcome, misses bool) error {
	var out bytes.Buffer
	for _, f := range o.Failures {
		fmt.Fprintf(&out, "%s: %s: %s\n", f.Pos, f.Proof, f.Message)
		for _, r := range words.Weights(f.Found, f.Reasons) {
			fmt.Fprintf(&out, "    %s  %s\n", words.Decibans(r.Decibans), r.Text)
		}
	}
	for _, id := range o.NeverFirst {
		fmt.Fprintf(&out, "not covered: no proof brings the cause %s first\n", id)
	}
	for _, id := range o.Unused {
		fmt.Fprintf(&out, "not covered: no proof exercises the fact %s\n", id)
	}
	fmt.Fprintf(&out, "%d proofs: %d expectations hold, %d fail\n", o.Proofs, o.Held, len(o.Failures))
	fmt.Fprintf(&out, "coverage: %d of %d causes come first in a proof, %d of %d facts are exercised\n",
		len(b.Causes.List)-len(o.NeverFirst), len(b.Causes.List), len(s.Facts)-len(o.Unused), len(s.Facts))
	for _, set := range prove.Sets() {
		writeHeard(&out, prove.Listen(b, s.Stories, set), misses)
	}
	fmt.Fprintln(&out, "This is no measure of accuracy: the cases and the figures come from the same people.")
	return paged(w, []byte(doc.Shown(out.String())))
}
