package cli

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"time"

	"github.com/spf13/cobra"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/talk"
	"telltale/cmd/internal/trainer"
	"telltale/engine/practice"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// practiceOptions are the flags of practice.
type practiceOptions struct {
	book     *bookOption
	seed     uint64
	seeded   bool
	level    int
	pump     string
	quiz     int
	record   string
	progress string
	html     string
	width    int
}

func newPractice(s streams, book *bookOption) *cobra.Command {
	o := practiceOptions{book: book}
	cmd := &cobra.Command{
		Use:   "practice",
		Short: "Practise on a pump with hidden troubles, or answer short questions",
		Long: `Draws a pump with one or two hidden troubles from the rulebook's own model. Look, open
and check by numbered menus. Then name what failed with its correction, and what brought
it on, or that there is nothing deeper. A step before its safety step is stopped and
explained, and fails the exercise. A pass needs a check or a look that shows each of
them, and the right corrections. Put right alone, a failure comes back. In the end every
choice stands beside what the tool would have done. The same --seed gives the same
pump. Answers may come from a file: the end of the input ends the exercise.`,
		Example: "  telltale practice --level 1\n  telltale practice --quiz 10\n  telltale practice --record me.jsonl\n  telltale practice --progress me.jsonl",
		Args:    takes(0, 0, ""),
		RunE: func(cmd *cobra.Command, _ []string) error {
			o.seeded = cmd.Flags().Changed("seed")
			return runPractice(s, o, cmd.Flags().Changed)
		},
	}
	cmd.Flags().Uint64Var(&o.seed, "seed", 0, "draw this pump or quiz again (default: a new one)")
	cmd.Flags().IntVar(&o.level, "level", practice.CommonFault, "1: one common trouble, 2: any one trouble, 3: two troubles and a vague report")
	cmd.Flags().StringVar(&o.pump, "pump", "", "triplex or duplex (default: drawn)")
	cmd.Flags().IntVar(&o.quiz, "quiz", 0, "ask so many written questions instead")
	cmd.Flags().StringVar(&o.record, "record", "", "add the exercise as one line to this file")
	cmd.Flags().StringVar(&o.progress, "progress", "", "show how the exercises of this file went")
	cmd.Flags().StringVar(&o.html, "html", "", "write the review with pictures to this file (an older page is replaced)")
	cmd.Flags().IntVar(&o.width, "width", 0, widthHelp)
	return cmd
}

func (o *practiceOptions) check(given func(string) bool) error {
	if err := checkWidth(o.width); err != nil {
		return err
	}
	if o.level < practice.CommonFault || o.level > practice.TwoFaults {
		return usageError{fmt.Errorf("--level %d: there are the levels 1 to 3", o.level)}
	}
	if _, ok := trainer.Pumps[o.pump]; !ok {
		return usageError{fmt.Errorf("--pump %q: unknown pump%s", source.Clip(o.pump), source.Expected(o.pump, []string{"triplex", "duplex"}))}
	}
	if given("quiz") && (o.quiz < 1 || o.quiz > practice.MostQuestions) {
		return usageError{fmt.Errorf("--quiz %d: a quiz has 1 to %d questions", o.quiz, practice.MostQuestions)}
	}
	for _, flag := range []string{"quiz", "progress"} {
		for _, other := range []string{"level", "pump", "record", "html"} {
			if given(flag) && given(other) {
				return usageError{fmt.Errorf("--%s does not go with --%s", flag, other)}
			}
		}
	}
	if given("quiz") && given("progress") {
		return usageError{fmt.Errorf("--quiz does not go with --progress")}
	}
	return nil
}

func runPractice(s streams, o practiceOptions, given func(string) bool) error {
	if err := o.check(given); err != nil {
		return err
	}
	book, err := o.book.load()
	if err != nil {
		return err
	}
	if o.progress != "" {
		return showProgress(s, o, book)
	}
	at, err := now()
	if err != nil {
		return err
	}
	if !o.seeded {
		o.seed = rand.Uint64N(1_000_000)
	}
	if o.record != "" {
		if err := practice.Appendable(os.OpenFile, o.record); err != nil { // told before the exercise, not after it
			return fileError{err}
		}
	}
	if page, err := holdsPage(o.html); err == nil && !page {
		return fileError{fmt.Errorf("%s is there and is no page; it is left as it is. Name another file with --html", o.html)}
	}
	term := talk.New(s.in, s.out, width(s.out, o.width), height(s))
	if o.quiz > 0 {
		return runQuiz(o, book, term)
	}
	world, err := practice.Draw(book, practice.Setup{Seed: o.seed, Level: o.level, Action: trainer.Pumps[o.pump]})
	if err != nil {
		return err
	}
	exercise := trainer.NewExercise(book, world)
	err = term.Hold(exercise)
	if errors.Is(err, talk.ErrEnd) && exercise.GiveUp() {
		err = term.Hold(exercise) // how it went so far
	}
	if err != nil && !errors.Is(err, talk.ErrEnd) {
		return err
	}
	record, err := exercise.Record()
	if err != nil {
		return err
	}
	if o.record != "" {
		record.At = evidence.Stamp(time.Now())
		if err := practice.Append(os.OpenFile, o.record, record); err != nil {
			return fileError{trainer.NotRecorded(err, record)}
		}
		term.Say(0, "Recorded in "+o.record+". Next: telltale practice --progress "+o.record+" shows how you get on.")
	}
	if o.html == "" {
		return term.Err()
	}
	if err := put(s.out, exercise.Page(at).HTML, o.html); err != nil {
		return err
	}
	term.Say(0, "The review with pictures is in "+o.html+". Next: open it in a browser, read it, and print it if you like.")
	return term.Err()
}

func runQuiz(o practiceOptions, book *rules.Book, term *talk.Terminal) error {
	questions, err := practice.Quiz(book, o.quiz, o.seed)
	if err != nil {
		return err
	}
	term.Say(0, fmt.Sprintf("Quiz from the rulebook. Seed %d.", o.seed))
	quiz := trainer.NewQuiz(questions)
	if err := term.Hold(quiz); err != nil && !errors.Is(err, talk.ErrEnd) && !errors.Is(err, talk.ErrLeft) {
		return err
	}
	term.Gap()
	term.Say(0, quiz.Score())
	if err := term.Err(); !errors.Is(err, talk.ErrEnd) {
		return err
	}
	return nil
}

func showProgress(s streams, o practiceOptions, book *rules.Book) error {
	f, err := os.Open(o.progress)
	if err != nil {
		return fileError{err}
	}
	defer f.Close()
	records, damaged, err := practice.ReadRecords(f)
	if err != nil {
		return fileError{fmt.Errorf("%s: %w", o.progress, err)}
	}
	for _, d := range damaged {
		fmt.Fprintf(s.err, "%s:%d: this line is damaged and was skipped: %s\n", doc.Shown(o.progress), d.Line, doc.Shown(d.Why))
	}
	sum := practice.Sum(records)
	if err := pages.Progress(book, &sum).Text(s.out, width(s.out, o.width)); err != nil {
		return fileError{err}
	}
	return nil
}
