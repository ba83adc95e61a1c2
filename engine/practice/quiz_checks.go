package practice

import (
	"fmt"
	"slices"
	"strings"

	"telltale/evidence"
	"telltale/rules"
)

// The questions about checks: what comes before them, what a reading calls
// for, and what to do after a result.

// before asks what must be done before a check; the others are safety steps
// and openings that it does not need.
func (z *quizzer) before() (Question, bool) {
	c := z.b.Checks.List[z.random.IntN(len(z.b.Checks.List))]
	q := Question{Topic: Before, Action: z.action, Check: c.ID}
	if !c.When.Holds(z.k, z.b) || slices.ContainsFunc(c.Openings, func(id string) bool { return !z.b.Exists(id, z.k) }) {
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
	for _, a := range z.b.Openings.List {
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
	known := *z.k
	known.Pump.State = evidence.Running
	l := lacks{s: begin(z.b, nil, known), seen: map[evidence.At]bool{}, gone: map[evidence.At]bool{}}
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
		if p := z.shows(c, SignKind{sign.sign, sign.kind}); p > 0 && (best == nil || p > z.shows(best, SignKind{sign.sign, sign.kind})) {
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
