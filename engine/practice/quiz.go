package practice

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"telltale/engine"
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
	// What the options stand for: causes, safety or access steps, or the
	// results of checks as "check/number"; shims in thou for a reading.
	IDs     [Answers]string
	Signs   []SignKind // of SignsOf
	Check   string     // of Before and Result
	Reading *RodReading
}

// SignKind is a symptom with the kind in which it shows.
type SignKind struct{ Symptom, Kind string }

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
	makers := []func(*quizzer) (Question, bool){(*quizzer).signs, (*quizzer).before, (*quizzer).reading, (*quizzer).result}
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

func (z *quizzer) text(s string) string { return engine.Fill(z.b, z.k, s) }

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

// shows is the chance that a cause shows a symptom in a kind; 0 is never by
// the book.
func (z *quizzer) shows(c *rules.Cause, s SignKind) float64 {
	for _, link := range c.LinksFor(z.k, z.b) {
		if link.Symptom != s.Symptom {
			continue
		}
		for i, kind := range z.b.Symptoms.Get(s.Symptom).Kinds {
			if kind.ID == s.Kind {
				return link.Kinds[i]
			}
		}
		return link.Total
	}
	return 0
}

// clearLink is how often at least a cause shows a sign that a question gives
// for it.
const clearLink = 0.3

// signs asks which cause shows all of some signs. The others never show one of
// them at least.
func (z *quizzer) signs() (Question, bool) {
	causes := z.causes()
	right := causes[z.random.IntN(len(causes))]
	var clear []SignKind
	for _, link := range right.LinksFor(z.k, z.b) {
		s := z.b.Symptoms.Get(link.Symptom)
		if s.Reckoned || !s.When.HoldsForPump(&z.k.Pump) {
			continue
		}
		if len(s.Kinds) == 0 && link.Total >= clearLink {
			clear = append(clear, SignKind{s.ID, ""})
		}
		for i, kind := range s.Kinds {
			if link.Kinds[i] >= clearLink {
				clear = append(clear, SignKind{s.ID, kind.ID})
			}
		}
	}
	z.random.Shuffle(len(clear), func(i, j int) { clear[i], clear[j] = clear[j], clear[i] })
	q := Question{Topic: SignsOf, Action: z.action, Text: []string{"Which of these shows all of these signs on " + z.pumpWord() + "?"}}
	for _, s := range clear {
		if len(q.Signs) < 3 && !slices.ContainsFunc(q.Signs, func(o SignKind) bool { return o.Symptom == s.Symptom }) {
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
	symptom := z.b.Symptoms.Get(s.Symptom)
	if s.Kind == "" {
		return z.text(symptom.Title)
	}
	return z.text(symptom.Title) + ": " + z.text(symptom.KindTitle(s.Kind))
}

// before asks what must be done before a check; the others are safety steps
// and openings that it does not need.
func (z *quizzer) before() (Question, bool) {
	c := z.b.Checks.List[z.random.IntN(len(z.b.Checks.List))]
	q := Question{Topic: Before, Action: z.action, Check: c.ID}
	if !c.When.Holds(z.k, z.b) || slices.ContainsFunc(c.Access, func(id string) bool { return !z.b.Exists(id, z.k) }) {
		return q, false
	}
	needed := z.needed(c)
	var right, wrong []option
	whys := map[string]string{}
	add := func(id, title, do string, when *rules.Condition) {
		o := option{id, z.text(title)}
		whys[id] = z.text(do)
		switch {
		case slices.Contains(needed, id):
			right = append(right, o)
		case when.HoldsForPump(&z.k.Pump):
			wrong = append(wrong, o)
		}
	}
	for _, g := range z.b.Safety.List {
		add(g.ID, g.Title, g.Do, g.When)
	}
	for _, a := range z.b.Access.List {
		add(a.ID, a.Title, a.Do, a.When)
	}
	if len(right) == 0 {
		return q, false
	}
	one := right[z.random.IntN(len(right))]
	q.Text = []string{"The pump, " + z.pumpWord() + ", runs. Which of these must be done before this check?", "- " + z.text(c.Title)}
	q.Why = one.text + ": " + whys[one.id]
	return q, z.fill(&q, one, wrong)
}

// needed lists what a check needs on a running pump, directly or through
// others.
func (z *quizzer) needed(c *rules.Check) []string {
	s := Session{book: z.b, state: state{known: *z.k, safe: map[string]bool{}}}
	s.known.Pump.State = evidence.Running
	l := lacks{s: &s, seen: map[evidence.At]bool{}}
	l.check(c, z.k.Pump.Places(c.Level)[0])
	var out []string
	for _, n := range l.out {
		out = append(out, n.ID)
	}
	return out
}

// reading asks for the shim that the readings of a rod call for.
func (z *quizzer) reading() (Question, bool) {
	cylinder := z.k.Pump.Places(evidence.OfCylinder)[0]
	shim := 2 * (4 + z.random.IntN(9))
	if z.random.IntN(4) == 0 {
		shim = -shim
	}
	clearance := 40 + z.random.IntN(31)
	r := RodReading{Place: cylinder, Low: shim > 0, High: shim < 0}
	for i := range r.Top {
		r.Top[i], r.Bottom[i] = clearance+shim, clearance-shim
	}
	wanted, _, ok, err := ShimFor(z.b, z.k.Pump, r)
	q := Question{Topic: Reading, Action: z.action, Reading: &r}
	if err != nil || !ok || !near(wanted, shim) {
		return q, false
	}
	why, ok := z.shimText(r.Low)
	if !ok {
		return q, false
	}
	q.Text = []string{
		"A rod is parted, its crosshead seated below. At back, middle and front of the stroke alike it reads:",
		fmt.Sprintf("- above the rod %d thou, below it %d thou", r.Top[0], r.Bottom[0]),
		"What do these readings call for under the lower guide?",
	}
	q.Why = fmt.Sprintf("Half of (%d less %d) is %d. %s", r.Top[0], r.Bottom[0], shim, why)
	var wrong []option
	for _, n := range []int{2 * shim, shim / 2, -shim, -2 * shim} {
		wrong = append(wrong, shimOption(n))
	}
	return q, z.fill(&q, shimOption(shim), wrong)
}

func near(a float64, b int) bool { return a > float64(b)-0.5 && a < float64(b)+0.5 }

func shimOption(n int) option {
	if n < 0 {
		return option{fmt.Sprint(n), fmt.Sprintf("Take out %d thou, the same at both ends", -n)}
	}
	return option{fmt.Sprint(n), fmt.Sprintf("Put in %d thou, the same at both ends", n)}
}

// shimText is the correction of the cause that most often shows such a rod and
// that the check of the rod finds.
func (z *quizzer) shimText(low bool) (string, bool) {
	of := rules.RodHighBy
	if low {
		of = rules.RodLowBy
	}
	sign, ok := rodSignOf(z.b, z.k, of)
	if !ok {
		return "", false
	}
	var best *rules.Cause
	for _, c := range z.causes() {
		if p := z.shows(c, SignKind{sign.symptom, sign.kind}); p > 0 && (best == nil || p > z.shows(best, SignKind{sign.symptom, sign.kind})) {
			best = c
		}
	}
	if best == nil {
		return "", false
	}
	return z.text(best.Repair), true
}

// result asks what to do after a result of a check. The others belong to
// results that point to nothing of the same.
func (z *quizzer) result() (Question, bool) {
	c := z.b.Checks.List[z.random.IntN(len(z.b.Checks.List))]
	q := Question{Topic: Result, Action: z.action, Check: c.ID}
	if !c.When.HoldsForPump(&z.k.Pump) || len(c.Results) < 2 {
		return q, false
	}
	n := z.random.IntN(len(c.Results))
	right := c.Results[n]
	if len(right.PointsTo)+len(right.Clears) == 0 {
		return q, false // the book says no more than the answer
	}
	var same, others []option
	for _, other := range z.b.Checks.List {
		for i, r := range other.Results {
			if overlap(&right, &r) || r.If == right.If {
				continue
			}
			o := option{fmt.Sprintf("%s/%d", other.ID, i), z.text(r.Then)}
			if other == c {
				same = append(same, o)
			} else if other.Level == c.Level && other.Pump == c.Pump {
				others = append(others, o)
			}
		}
	}
	// Answers of the same check come first: they are harder.
	z.random.Shuffle(len(others), func(i, j int) { others[i], others[j] = others[j], others[i] })
	wrong := append(same, others[:min(len(others), max(0, Answers+2-len(same)))]...)
	q.Text = []string{"Check: " + z.text(c.Title), "Result: " + z.text(right.If), "What then?"}
	q.Why = z.meaning(&right)
	return q, z.fill(&q, option{fmt.Sprintf("%s/%d", c.ID, n), z.text(right.Then)}, wrong)
}

// overlap says whether two results may call for the same: they point to one
// cause or clear one, or neither points anywhere, or they say the same.
func overlap(a, b *rules.Result) bool {
	if a.Then == b.Then || len(a.PointsTo) == 0 && len(b.PointsTo) == 0 {
		return true
	}
	shared := func(x, y []string) bool {
		return slices.ContainsFunc(x, func(id string) bool { return slices.Contains(y, id) })
	}
	return shared(a.PointsTo, b.PointsTo) || shared(a.Clears, b.Clears)
}

func (z *quizzer) meaning(r *rules.Result) string {
	titles := func(ids []string) string {
		var out []string
		for _, id := range ids {
			out = append(out, z.text(z.b.Causes.Get(id).Title))
		}
		return strings.Join(out, "; ")
	}
	var out []string
	if len(r.PointsTo) > 0 {
		out = append(out, "It points to: "+titles(r.PointsTo)+".")
	}
	if len(r.Clears) > 0 {
		out = append(out, "It speaks against: "+titles(r.Clears)+".")
	}
	return strings.Join(out, " ")
}
