package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/engine"
	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// sheetOptions are the flags of sheet.
type sheetOptions struct {
	book     *bookOption
	file     string // "" for blank forms
	blank    bool
	forms    []string // none: they are listed
	pump     string
	markdown bool
	text     bool
	width    int
	output   string
}

func newSheet(s streams, book *bookOption) *cobra.Command {
	o := sheetOptions{book: book}
	cmd := &cobra.Command{
		Use:   "sheet CASE",
		Short: "Write a job sheet to print: stops, isolation, causes, steps to tick, pictures, hand-over",
		Long: `Reads one case file (or - for standard input) and writes one HTML file to print on
A4 or Letter: the stop conditions, what is next and how long it can wait, the looks
at the running pump, the isolation to tick and sign, the looks behind it, the likely
repairs step by step, closing up, and a hand-over: four pages for an ordinary job.
teardown has the whole list. The file needs nothing from outside. With --blank it
is the blank form of a task, to fill in by hand before there is a case or beside it;
without a name the forms are listed, and "all" prints them behind each other. Each
line of a form has the words of note that type it into a case.

The file has the name of the case, in this folder: wiper-again.html. An older sheet of
that name is replaced; any other file is left as it is, and nothing is written. The case
of standard input, and the words of --markdown and --text, go to standard output.

The date on the sheet is now, or that of SOURCE_DATE_EPOCH (seconds since 1970)
if that is set.`,
		Example: "  telltale sheet testdata/cases/wiper-again.yaml\n  telltale sheet --blank\n  telltale sheet --blank valves --pump duplex\n  telltale sheet --markdown case.yaml",
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := o.take(cmd, args); err != nil {
				return err
			}
			return runSheet(s, o)
		},
	}
	cmd.Flags().StringVarP(&o.output, "output", "o", "", "write to this file (an older sheet is replaced), or - for standard output")
	cmd.Flags().BoolVar(&o.markdown, "markdown", false, "write Markdown, the pictures in words")
	cmd.Flags().BoolVar(&o.text, "text", false, "write plain text, the pictures in words")
	cmd.Flags().IntVar(&o.width, "width", 0, widthHelp)
	cmd.Flags().BoolVar(&o.blank, "blank", false, "a blank form of a task, by its name; takes no case")
	cmd.Flags().StringVar(&o.pump, "pump", "triplex", "of a blank form: triplex or duplex")
	return cmd
}

// action is the kind of pump of blank forms; empty where there is none of that name.
func (o *sheetOptions) action() evidence.Action {
	for _, kind := range pages.PumpKinds() {
		if kind.Name == o.pump {
			return kind.Action
		}
	}
	return ""
}

// allForms stands for the names of all blank forms.
const allForms = "all"

// blanks are the blank forms that are named, or, without a name, the list of them.
func (o *sheetOptions) blanks(book *rules.Book, at time.Time) (*doc.Document, error) {
	names := doc.Each(book.Forms.List, func(f *rules.Form) string { return f.ID })
	if len(o.forms) == 0 {
		if o.output != "" && o.output != "-" {
			return nil, usageError{fmt.Errorf("--blank alone lists the forms on the screen; name one for -o%s", source.Expected("", append(names, allForms)))}
		}
		return pages.FormList(book), nil
	}
	var forms []*rules.Form
	for _, name := range o.forms {
		f := book.Forms.Get(name)
		switch {
		case name == allForms && len(o.forms) == 1:
			forms = book.Forms.List
		case f == nil:
			return nil, usageError{fmt.Errorf("there is no blank form %q%s", source.Clip(name), source.Expected(name, append(names, allForms)))}
		case !slices.Contains(forms, f):
			forms = append(forms, f)
		}
	}
	return pages.Forms(book, forms, o.action(), at), nil
}

// take checks that there is a case or --blank.
func (o *sheetOptions) take(cmd *cobra.Command, args []string) error {
	if !o.blank {
		if err := takes(1, 1, "one case file, or --blank")(cmd, args); err != nil {
			return err
		}
	}
	switch {
	case o.markdown && o.text:
		return usageError{errors.New("--markdown and --text exclude each other; choose one")}
	case o.action() == "":
		return usageError{fmt.Errorf("--pump is %q; expected triplex or duplex", source.Clip(o.pump))}
	case o.blank:
		o.forms = args
	default:
		o.file = args[0]
	}
	return checkWidth(o.width)
}

func runSheet(s streams, o sheetOptions) error {
	if err := notTheCase(o.place(), o.file); err != nil {
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
	var d *doc.Document
	if o.blank {
		d, err = o.blanks(book, at)
	} else {
		d, err = jobSheet(s, o.file, book, at)
	}
	if err != nil {
		return err
	}
	write := d.HTML
	switch {
	case o.markdown:
		write = d.Markdown
	case o.text || o.blank && len(o.forms) == 0:
		write = func(w io.Writer) error { return d.Text(w, width(s.out, o.width)) }
	}
	return putSheet(s, write, o.place())
}

// place is the file that a sheet goes to; empty for standard output.
func (o *sheetOptions) place() string {
	switch {
	case o.output == "-":
		return ""
	case o.output != "" || o.markdown || o.text || o.file == "-" || o.blank && len(o.forms) == 0:
		return o.output
	case o.blank && len(o.forms) == 1 && o.forms[0] != allForms:
		return o.forms[0] + "-" + o.pump + ".html"
	case o.blank:
		return "forms-" + o.pump + ".html"
	}
	name := filepath.Base(o.file)
	return strings.TrimSuffix(name, filepath.Ext(name)) + ".html"
}

// putSheet writes a sheet, and says where it is and what is done with it.
func putSheet(s streams, write func(io.Writer) error, file string) error {
	if file == "" {
		return put(s.out, write, "")
	}
	did := "Wrote"
	sheet, err := holdsSheet(file)
	switch {
	case err == nil && !sheet:
		return fileError{fmt.Errorf("%s is there and is no sheet that telltale wrote; it is left as it is. Name another file with -o, or move that one away first", file)}
	case err == nil:
		did = "Wrote anew"
	}
	if err := put(s.out, write, file); err != nil {
		return err
	}
	next := "Next: open it and print it; A4 or Letter, black and white will do."
	if strings.EqualFold(filepath.Ext(file), ".html") {
		next = "Next: open it in a browser and print it; A4 or Letter, black and white will do."
	}
	return said(s.out, did+" "+file+". "+next)
}

// holdsSheet says whether a sheet may take the place of a file. No more is read of it
// than a sheet can be long.
func holdsSheet(name string) (bool, error) {
	if at, err := os.Stat(name); err != nil || !at.Mode().IsRegular() || at.Size() > longestSheet {
		return false, err
	}
	text, err := os.ReadFile(name)
	return isSheet(text), err
}

// longestSheet bounds what is read to see whether a file is a sheet: many times what
// one comes to.
const longestSheet = 32 << 20

// isSheet says whether a text is a sheet that telltale wrote, of whatever version, or
// empty.
func isSheet(text []byte) bool {
	return len(bytes.TrimSpace(text)) == 0 || sheetHead.Match(text) && sheetBook.Match(text)
}

var (
	sheetHead = regexp.MustCompile(`\A(?:<!DOCTYPE html>[^\x00]{1,400}<title>|# )?(?:JOB SHEET\. |BLANK FORM|BLANK SHEET FOR READINGS)`)
	sheetBook = regexp.MustCompile(`Rulebook:[^\x00]{1,400}digest\s+[0-9a-f]{12}`)
)

// jobSheet works the sheet of a case out. If it cannot be weighed, the stop
// conditions still speak.
func jobSheet(s streams, file string, book *rules.Book, at time.Time) (*doc.Document, error) {
	k, err := readCase(s, file, book)
	if err != nil {
		return nil, err
	}
	plan, err := engine.PlanTeardown(book, k, nil)
	if err != nil {
		return nil, (&view{}).withStops(s, plan.Report, err)
	}
	in, err := measuredInput(book, k, at)
	if err != nil {
		return nil, err
	}
	in.Plan = plan
	return pages.JobSheet(in), nil
}

// measuredInput is what a page with pictures of the readings is made from.
func measuredInput(book *rules.Book, k *evidence.Case, at time.Time) (pages.Input, error) {
	in := pages.Input{Book: book, Case: k, Written: at}
	var err error
	if in.Measured, err = engine.Measure(book, k); err != nil {
		return in, err
	}
	in.Turn, err = figures.GuideTurn(book, k)
	return in, err
}

// now is the time that stands on a sheet. SOURCE_DATE_EPOCH takes its place,
// as is usual for output that must come out alike (reproducible-builds.org).
func now() (time.Time, error) {
	text := os.Getenv("SOURCE_DATE_EPOCH")
	if text == "" {
		return time.Now(), nil
	}
	seconds, err := strconv.ParseInt(text, 10, 64)
	if err != nil || seconds < 0 || seconds > 253402300799 {
		return time.Time{}, usageError{fmt.Errorf("SOURCE_DATE_EPOCH is %q; expected seconds since 1970", source.Clip(text))}
	}
	return time.Unix(seconds, 0).UTC(), nil
}

// put writes a page to a file, or to out if none is named.
func put(out io.Writer, write func(io.Writer) error, file string) error {
	var text bytes.Buffer
	err := write(&text)
	if err == nil && file == "" {
		err = paged(out, text.Bytes())
	} else if err == nil {
		err = putFile(file, text.Bytes())
	}
	if err != nil {
		return fileError{err}
	}
	return nil
}

// said prints a line about what was written, and what comes next.
func said(out io.Writer, line string) error {
	if _, err := fmt.Fprintln(out, doc.Shown(line)); err != nil {
		return fileError{err}
	}
	return nil
}

// notTheCase refuses to write over the case that is read.
func notTheCase(output, file string) error {
	if output == "" || file == "" || file == "-" {
		return nil
	}
	a, errA := os.Stat(output)
	b, errB := os.Stat(file)
	if errA == nil && errB == nil && os.SameFile(a, b) {
		return usageError{fmt.Errorf("the sheet would take the place of the case itself; %s is left as it is. Name another file with -o", source.Clip(file))}
	}
	return nil
}
