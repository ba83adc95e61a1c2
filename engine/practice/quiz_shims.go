package practice

import (
	"fmt"
	"slices"
	"strings"

	"telltale/engine/align"
	"telltale/engine/figures"
	"telltale/evidence"
)

// The questions about shims and the clearance over the crosshead. The figures
// are drawn; what is right is what the tool's own alignment makes of them, in
// the words of the rulebook.

// What the alignment comes to, as answers stand for it: ids of the rulebook's
// advice.
const (
	putIn     = string(align.EqualShims)
	stopAsk   = string(align.StopAndAsk)
	overAfter = string(align.UpperOver)
	tight     = string(figures.TightNow)
	slack     = string(figures.SlackNow)
	uneven    = string(figures.UnevenNow)
	within    = string(figures.InsideNow)
	askFigure = string(figures.AskFigure)
	changes   = string(align.ChangeAlongStroke)
)

// limits draws whether the scenario's pump has limits of its own, and which.
func (z *quizzer) limits() overCrosshead {
	if z.random.IntN(2) == 0 {
		return overCrosshead{}
	}
	least := 8 + z.random.IntN(9)
	return overCrosshead{least: least, most: least + 8 + z.random.IntN(5)}
}

// bounds gives the limits that count, in thou, and says them; ok is false if
// the book has none.
func (z *quizzer) bounds(o overCrosshead) (least, most int, text string, ok bool) {
	if o.least > 0 {
		return o.least, o.most, fmt.Sprintf("its manual's limits there, in this question: %d to %d thou", o.least, o.most), true
	}
	low, high := z.b.LimitFor(z.b.Readings.UpperLeast, z.k), z.b.LimitFor(z.b.Readings.UpperMost, z.k)
	if low == nil || high == nil {
		return 0, 0, "", false
	}
	least, most = int(low.SI/thou+0.5), int(high.SI/thou+0.5)
	return least, most, fmt.Sprintf("its manual is not at hand; common practice is %d to %d thou", least, most), true
}

// words are the title of an advice and the first thing to do by it.
func (z *quizzer) words(code string) (string, bool) {
	a := z.b.Advice.Get(code)
	if a == nil {
		return "", false
	}
	out := strings.TrimSuffix(z.text(a.Title), ".") + "."
	if len(a.Do) > 0 {
		out += " " + z.text(a.Do[0])
	}
	return out, true
}

// clearance asks what is left over the crosshead behind the shim that centres
// the rod, and what follows.
func (z *quizzer) clearance() (Question, bool) {
	shim := 2 * (2 + z.random.IntN(6))
	o := z.limits()
	least, most, limits, ok := z.bounds(o)
	left := least - 10 + z.random.IntN(most-least+21)
	o.at = alike(left + shim)
	q := Question{Topic: Clearance, Action: z.action, Over: o.at, Least: least, Most: most}
	gap := 40 + z.random.IntN(31)
	r := RodReading{Place: z.k.Pump.Places(evidence.OfCylinder)[0], Low: true, Top: alike(gap + shim), Bottom: alike(gap - shim)}
	q.Reading = &r
	c, err := alignment(z.b, z.k.Pump, &r, &o)
	if !ok || left < 1 || doubtful(left, least, most) || err != nil || c == nil {
		return q, false
	}
	code := afterShim(c)
	q.Text = []string{
		"A rod is parted, its crosshead seated below. At back, middle and front of the stroke alike it reads:",
		fmt.Sprintf("- above the rod %d thou, below it %d thou", r.Top[0], r.Bottom[0]),
		fmt.Sprintf("- over the crosshead %d thou everywhere", o.at[0]),
		"- " + limits,
		"What would be left over the crosshead with the rod centred, and what now?",
	}
	q.Why = fmt.Sprintf("Half of (%d less %d) is %d. %d less %d is %d, held against %d to %d. %s", r.Top[0], r.Bottom[0], shim, o.at[0], shim, left, least, most, basisOf(c))
	var right option
	var wrong []option
	for _, n := range []int{left, left + shim, left - shim, left + 2*shim} {
		for _, verdict := range []string{putIn, stopAsk, overAfter} {
			text, known := z.words(verdict)
			if !known || n < 1 {
				continue
			}
			answer := option{fmt.Sprintf("%d/%s", n, verdict), fmt.Sprintf("%d thou. %s", n, text)}
			switch {
			case n == left && verdict == code:
				right = answer
			case n == left || verdict == byLimits(n, least, most):
				wrong = append(wrong, answer)
			}
		}
	}
	return q, right.id != "" && z.fill(&q, right, wrong)
}

// afterShim is the outcome of a rod that stands low, with what the shim would
// leave over the crosshead.
func afterShim(c *figures.Centring) string {
	if c.Outcome == align.EqualShims && c.Says(align.UpperOver) {
		return overAfter
	}
	return string(c.Outcome)
}

// doubtful says whether a reading is so near a limit that feelers cannot tell.
func doubtful(n, least, most int) bool {
	return max(n-least, least-n) < 2 || max(n-most, most-n) < 2
}

func byLimits(n, least, most int) string {
	switch {
	case n < least:
		return stopAsk
	case n > most:
		return overAfter
	}
	return putIn
}

// basisOf says what the limits rest on.
func basisOf(c *figures.Centring) string { return "The limits: " + c.LimitsBasis + "." }

// tightOrSlack asks what the clearance over a crosshead as it stands calls for.
func (z *quizzer) tightOrSlack() (Question, bool) {
	o := z.limits()
	least, most, limits, ok := z.bounds(o)
	o.at = alike(max(3, least-8) + z.random.IntN(most-least+20))
	if z.random.IntN(3) == 0 {
		step := 3 + z.random.IntN(4)
		o.at = [3]int{least + 3, least + 3 + step, least + 3 + 2*step}
	}
	q := Question{Topic: Tight, Action: z.action, Over: o.at, Least: least, Most: most}
	c, err := alignment(z.b, z.k.Pump, nil, &o)
	spread := o.at[2] - o.at[0]
	if !ok || err != nil || c == nil || spread == most-least || slices.ContainsFunc(o.at[:], func(n int) bool { return doubtful(n, least, most) }) {
		return q, false
	}
	q.Text = []string{
		"Over a crosshead the long leaf shows, right across:",
		fmt.Sprintf("- rear %d, middle %d, front %d thou", o.at[0], o.at[1], o.at[2]),
		"- " + limits,
		"What now?",
	}
	q.Why = fmt.Sprintf("The least is %d, the most %d thou, held against %d to %d. %s", slices.Min(o.at[:]), slices.Max(o.at[:]), least, most, basisOf(c))
	if c.Outcome == figures.UnevenNow {
		q.Why = fmt.Sprintf("From end to end it differs by %d thou. %s", spread, q.Why)
	}
	var right option
	var wrong []option
	for _, code := range []string{tight, slack, uneven, within, askFigure} {
		text, known := z.words(code)
		switch {
		case !known:
		case code == string(c.Outcome):
			right = option{code, text}
		case code == uneven && spread > 0, code == slack && slices.Max(o.at[:]) > most, code == tight && slices.Min(o.at[:]) < least && o.least > 0:
			// true besides
		default:
			wrong = append(wrong, option{code, text})
		}
	}
	return q, right.id != "" && z.fill(&q, right, wrong)
}

// ends asks what to do about a rod that stands differently at the two ends of
// the stroke.
func (z *quizzer) ends() (Question, bool) {
	rear, step, gap := 2*(1+z.random.IntN(4)), 2*(2+z.random.IntN(4)), 45+z.random.IntN(26)
	r := RodReading{Place: z.k.Pump.Places(evidence.OfCylinder)[0]}
	for i := range r.Top {
		r.Top[i], r.Bottom[i] = gap+rear+i*step, gap-rear-i*step
	}
	front := rear + 2*step
	q := Question{Topic: Ends, Action: z.action, Reading: &r}
	c, err := alignment(z.b, z.k.Pump, &r, nil)
	advice := z.b.Advice.Get(changes)
	if err != nil || c == nil || advice == nil || len(advice.Do) == 0 || !c.AskEngineer || !c.Says(align.ChangeAlongStroke) {
		return q, false
	}
	q.Text = []string{"A rod is parted, its crosshead seated below. Above and below the rod it reads, in thou:"}
	for i, at := range []string{"back", "middle", "front"} {
		q.Text = append(q.Text, fmt.Sprintf("- crosshead at the %s: %d above, %d below", at, r.Top[i], r.Bottom[i]))
	}
	q.Text = append(q.Text, "What do these readings call for?")
	q.Why = fmt.Sprintf("Half of (%d less %d) is %d at the back, half of (%d less %d) is %d at the front. They differ by %d. %s. %s",
		r.Top[0], r.Bottom[0], rear, r.Top[2], r.Bottom[2], front, front-rear, strings.TrimSuffix(z.text(advice.Title), "."), z.text(advice.Do[0]))
	wrong := []option{
		{"ends", fmt.Sprintf("Put %d thou under the rear end and %d thou under the front end", rear, front)},
		{"turned", fmt.Sprintf("Put %d thou under the rear end and %d thou under the front end", front, rear)},
		{"front", fmt.Sprintf("Put %d thou under the front end only", front-rear)},
		{"mean", fmt.Sprintf("Put %d thou under both ends and join the rods", rear+step)},
	}
	return q, z.fill(&q, option{changes, z.text(advice.Do[len(advice.Do)-1])}, wrong)
}
