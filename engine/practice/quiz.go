package practice

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"telltale/evidence"
	"telltale/rules"
)

// Topic is what a question is about.
type Topic string

// The topics.
const (
	SignsOf Topic = "signs"   // which cause shows all of these signs
	Before  Topic = "before"  // what comes before a check
	Reading Topic = "reading" // what a reading calls for
	Result  Topic = "result"  // what to do after a result of a check
	Behind  Topic = "behind"  // what to look at behind a failure, before the new part runs
	// What the shim leaves over the crosshead; a crosshead that is tight or
	// slack; a rod that stands differently at the two ends.
	Clearance Topic = "clearance"
	Tight     Topic = "tight"
	Ends      Topic = "ends"
)

// Answers is how many answers a question has; one is right.
const Answers = 4

// Question is one written question with one right answer by the rulebook.
type Question struct {
	Topic   Topic
	Action  evidence.Action // the kind of pump that it is about
	Text    []string        // lines
	Options [Answers]string
	Right   int
	Why     string // from the rulebook
	// What the options stand for: causes, safety or opening steps, or the
	// results of checks as "check/number"; shims in thou for a reading; advice,
	// behind the thou that are left and a slash where a clearance is asked for.
	IDs     [Answers]string
	Signs   []SignKind // of SignsOf and Behind
	Failed  string     // of Behind
	Check   string     // of Before and Result
	Reading *RodReading
	// Of Clearance and Tight: over the crosshead at rear, middle and front, and
	// its limits, in thou.
	Over        [3]int
	Least, Most int
}

// SignKind is a sign with the kind in which it shows.
type SignKind struct{ Sign, Kind string }

// MostQuestions bounds a quiz; mostDraws the draws for one question.
const (
	MostQuestions = 50
	mostDraws     = 500
)

// Quiz draws n questions, the topics in turn and none twice.
func Quiz(b *rules.Book, n int, seed uint64) ([]Question, error) {
	if n < 1 || n > MostQuestions {
		return nil, fmt.Errorf("a quiz has 1 to %d questions", MostQuestions)
	}
	random := chance(seed, streamQuiz)
	makers := []func(*quizzer) (Question, bool){(*quizzer).signs, (*quizzer).before, (*quizzer).reading, (*quizzer).result, (*quizzer).behind, (*quizzer).clearance, (*quizzer).tightOrSlack, (*quizzer).ends}
	start := random.IntN(len(makers))
	asked := map[string]bool{}
	var out []Question
	for i := range n {
		q, ok := drawQuestion(b, random, makers, start+i, asked)
		if !ok {
			return nil, errors.New("this rulebook has too few entries for so many questions")
		}
		out = append(out, q)
	}
	return out, nil
}

// drawQuestion draws one of the topic whose turn it is, else of the next one.
func drawQuestion(b *rules.Book, random *rand.Rand, makers []func(*quizzer) (Question, bool), turn int, asked map[string]bool) (Question, bool) {
	for t := range makers {
		for range mostDraws {
			action := []evidence.Action{evidence.Triplex, evidence.Duplex}[random.IntN(2)]
			z := &quizzer{b: b, k: rules.BareCase(action), random: random, action: action}
			q, ok := makers[(turn+t)%len(makers)](z)
			key := strings.Join(q.Text, "\n")
			if ok && !asked[key] {
				asked[key] = true
				return q, true
			}
		}
	}
	return Question{}, false
}

// quizzer draws questions about one kind of pump.
type quizzer struct {
	b      *rules.Book
	k      *evidence.Case
	action evidence.Action
	random *rand.Rand
}

// option is a possible answer with what it stands for.
type option struct{ id, text string }

// fill puts the right answer and three wrong ones in a random order; false if
// there are not enough or two read alike.
func (z *quizzer) fill(q *Question, right option, wrong []option) bool {
	z.random.Shuffle(len(wrong), func(i, j int) { wrong[i], wrong[j] = wrong[j], wrong[i] })
	all := []option{right}
	for _, w := range wrong {
		if len(all) < Answers && !slices.ContainsFunc(all, func(o option) bool { return o.text == w.text }) {
			all = append(all, w)
		}
	}
	if len(all) < Answers {
		return false
	}
	z.random.Shuffle(Answers, func(i, j int) { all[i], all[j] = all[j], all[i] })
	for i, o := range all {
		q.IDs[i], q.Options[i] = o.id, o.text
		if o == right {
			q.Right = i
		}
	}
	return true
}

func (z *quizzer) text(s string) string { return z.b.Fill(z.k, s) }

func (z *quizzer) pumpWord() string {
	if z.action == evidence.Duplex {
		return "a duplex pump"
	}
	return "a triplex pump"
}

// causes are those that can be on the pump.
func (z *quizzer) causes() []*rules.Cause {
	var out []*rules.Cause
	for _, c := range z.b.Causes.List {
		if c.When.HoldsForPump(&z.k.Pump) {
			out = append(out, c)
		}
	}
	return out
}

// shows is the chance that a cause shows a sign in a kind; 0 is never by
// the book.
func (z *quizzer) shows(c *rules.Cause, s SignKind) float64 { return z.among(c.LinksFor(z.k, z.b), s) }

// clearLink is how often at least a cause shows a sign that a question gives
// for it.
const clearLink = 0.3

// signs asks which cause shows all of some signs. The others never show one of
// them at least.
func (z *quizzer) signs() (Question, bool) {
	causes := z.causes()
	right := causes[z.random.IntN(len(causes))]
	clear := z.clearLinks(right.LinksFor(z.k, z.b))
	z.random.Shuffle(len(clear), func(i, j int) { clear[i], clear[j] = clear[j], clear[i] })
	q := Question{Topic: SignsOf, Action: z.action, Text: []string{"Which of these shows all of these signs on " + z.pumpWord() + "?"}}
	for _, s := range clear {
		if len(q.Signs) < 3 && !slices.ContainsFunc(q.Signs, func(o SignKind) bool { return o.Sign == s.Sign }) {
			q.Signs = append(q.Signs, s)
			q.Text = append(q.Text, "- "+z.signText(s))
		}
	}
	if len(q.Signs) < 2 {
		return q, false
	}
	var wrong []option
	for _, c := range causes {
		never, some := false, false
		for _, s := range q.Signs {
			if z.shows(c, s) == 0 {
				never = true
			} else {
				some = true
			}
		}
		if never && (some || c.Group == right.Group) {
			wrong = append(wrong, option{c.ID, z.text(c.Title)})
		}
	}
	q.Why = z.text(right.Why)
	return q, z.fill(&q, option{right.ID, z.text(right.Title)}, wrong)
}

func (z *quizzer) signText(s SignKind) string {
	sign := z.b.Signs.Get(s.Sign)
	if s.Kind == "" {
		return z.text(sign.Title)
	}
	return z.text(sign.Title) + ": " + z.text(sign.KindTitle(s.Kind))
}
