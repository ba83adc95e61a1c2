package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/engine/study"
	"telltale/evidence"
	"telltale/evidence/rig"
	"telltale/evidence/source"
	"telltale/rules"
)

// studyOptions are the flags of study.
type studyOptions struct {
	book  *bookOption
	files []string
	layer string
	view  view
}

func newStudy(s streams, book *bookOption) *cobra.Command {
	o := studyOptions{book: book}
	cmd := &cobra.Command{
		Use:   "study [CASES...]",
		Short: "Score the rulebook against closed cases",
		Long: `Reads cases (files of JSON Lines or of YAML documents parted by ---, standard input, or
the folder of a rig, of which the closed jobs count) and scores the rulebook against those in which a cause was proved: how often
what failed was told first; given the failure, how often what brought it on was told
first, where the case names it under brought-on-by; how well the chances are borne
out, the minutes of the planned order, and which figures of how common a cause is the
record would move. --layer writes those as a local rulebook for a person to read and
accept; nothing is applied by itself. Put into the folder book of the rig it counts for
all jobs of the rig, and their answers say how many closed calls stand behind it.`,
		RunE: func(_ *cobra.Command, args []string) error {
			o.files = args
			if len(args) == 0 {
				o.files = []string{"-"}
			}
			return runStudy(s, o)
		},
	}
	cmd.Flags().StringVar(&o.layer, "layer", "", "write what would move as a local rulebook into this new folder")
	o.view.flags(cmd)
	return cmd
}

func runStudy(s streams, o studyOptions) error {
	if err := o.view.check(); err != nil {
		return err
	}
	book, err := o.book.load()
	if err != nil {
		return err
	}
	st := study.New(book)
	bad, all := 0, 0
	var mistaken source.InputError // of all cases, where they are told as JSON
	files, jobs, err := rigsApart(s, book, o.files)
	if err != nil {
		return err
	}
	for _, k := range jobs {
		if err := st.Add(k); err != nil {
			return err
		}
	}
	err = eachDocument(s, files, func(name string, one source.StreamDocument) bool {
		all++
		if err := addClosed(st, book, name, one); err != nil {
			bad++
			input := mistakesAt(err, source.NeedsOther, name, one.Line)
			if o.view.json {
				gather(&mistaken, input)
			} else {
				fmt.Fprintln(s.err, doc.Shown(strings.TrimPrefix(marked(input), "\n")))
			}
		}
		return true
	})
	if err != nil {
		return err
	}
	if len(mistaken.Problems) > 0 {
		return &mistaken
	}
	if bad > 0 { // figures of a part of the record would look like those of all
		return &someBadError{bad: bad, all: all}
	}
	r, err := st.Result(book.HowCommonWeight, book.Readings.Confidence)
	if err != nil {
		return err
	}
	if o.layer != "" {
		if err := writeLayer(o.layer, r); err != nil {
			return err
		}
		if err := said(s.err, "Wrote "+filepath.Join(o.layer, "record.yaml")+". Next: read it, strike out what you do not accept, and lay it over the built-in book with --rulebook "+o.layer+"."); err != nil {
			return err
		}
	}
	return o.view.write(s.out, r, func() *doc.Document { return pages.Study(r) })
}

// rigsApart gives the files that are no rigs, and the closed jobs of those that are.
func rigsApart(s streams, book *rules.Book, paths []string) (files []string, jobs []*evidence.Case, err error) {
	for _, path := range paths {
		if info, err := os.Stat(path); err != nil || !info.IsDir() {
			files = append(files, path)
			continue
		}
		all, err := rig.Read(path, book.Vocabulary())
		if err != nil {
			return nil, nil, fileError{err}
		}
		if err := unread(s, all); err != nil {
			return nil, nil, err
		}
		for _, p := range all.Pumps {
			jobs = append(jobs, slices.DeleteFunc(p.Jobs, func(k *evidence.Case) bool { return !k.Job.IsClosed() })...)
		}
	}
	return files, jobs, nil
}

// gather adds the mistakes of one case to those of all.
func gather(all, one *source.InputError) {
	room := min(source.MostProblems-len(all.Problems), len(one.Problems))
	all.Problems = append(all.Problems, one.Problems[:room]...)
	all.More += len(one.Problems) - room + one.More
}

func addClosed(st *study.Study, book *rules.Book, name string, doc source.StreamDocument) error {
	if doc.Err != nil {
		return doc.Err
	}
	k, err := evidence.ParseDocument(name, doc, book.Vocabulary())
	if err != nil {
		return err
	}
	k.File = fmt.Sprintf("%s:%d", name, doc.Line)
	return st.Add(k)
}

// writeLayer writes the figures that the record would move as a local rulebook.
// It never writes over anything.
func writeLayer(dir string, r *study.Result) error {
	if _, err := os.Stat(dir); err == nil {
		return fileError{fmt.Errorf("%s is there already; name a new folder", dir)}
	} else if !errors.Is(err, os.ErrNotExist) {
		return fileError{err}
	}
	var b strings.Builder
	fmt.Fprintf(&b, "# What a record of %d closed cases would change. Read it, strike out what you do not\n# accept, and lay it over the built-in book with --rulebook.\n", r.Closed)
	fmt.Fprintf(&b, "rulebook: {name: record of %d closed cases, version: \"1\", calls: %d}\n", r.Closed, r.Closed)
	moves := 0
	for _, c := range r.Common {
		if !c.Moves {
			continue
		}
		if moves == 0 {
			b.WriteString("causes:\n")
		}
		moves++
		fmt.Fprintf(&b, "  %s:\n    how-common: %.4f\n    basis: \"calculation: beta-binomial; the book's %.4f and %d of %d closed cases; 95 in 100 from %.4f to %.4f\"\n",
			c.Cause, c.Record, c.Book, c.Proved, r.Closed, c.Low, c.High)
	}
	if moves == 0 {
		return fileError{errors.New("the record moves no figure; no layer was written")}
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fileError{err}
	}
	if err := putFile(filepath.Join(dir, "record.yaml"), []byte(b.String())); err != nil {
		_ = os.Remove(dir) // an empty folder would stand in the way of the next try
		return fileError{err}
	}
	return nil
}

// eachDocument hands the documents of the inputs on, in order, until do says
// that it has enough.
func eachDocument(s streams, files []string, do func(name string, doc source.StreamDocument) bool) error {
	for _, name := range files {
		if more, err := oneInput(s, name, do); err != nil || !more {
			return err
		}
	}
	return nil
}

func oneInput(s streams, name string, do func(string, source.StreamDocument) bool) (more bool, err error) {
	in, shown := s.in, "standard input"
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return false, fileError{err}
		}
		defer f.Close()
		in, shown = f, name
	}
	split := source.NewSplitter(in, source.CaseLimits)
	for {
		doc, err := split.Next()
		if errors.Is(err, io.EOF) {
			return true, nil
		}
		if err != nil {
			return false, fileError{err}
		}
		if !do(shown, doc) {
			return false, nil
		}
	}
}
