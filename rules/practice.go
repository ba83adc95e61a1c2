package rules

import "telltale/evidence/source"

// Practice says how the trainee's pump is played; nothing of it weighs a real
// case.
type Practice struct {
	LookMinutes  float64         // of one look at a sign at one place
	WrongMinutes float64         // lost with the correction of a cause that is not there
	Told         [levels]int     // signs that the crew reports at level 1, 2 and 3
	CommonFrom   float64         // level 1 draws causes at least so common
	ClearSigns   int             // that level 1 must show from outside
	StandsIf     []string        // signs with which the pump stands already
	WithRoot     [levels]float64 // share of the troubles at level 1, 2 and 3 that a root brought on
	RootFrom     float64         // chance from which a root must be looked for before "nothing deeper" counts as shown
	BackHours    float64         // until a trouble is back whose root was left
}

func (l *loader) parsePractice() {
	n := l.single["practice"]
	if n == nil {
		return
	}
	o, ps := n.Object(&l.problems, "practice"), &l.problems
	p := &Practice{
		LookMinutes:  l.minutes(o.Need("look-minutes")),
		WrongMinutes: l.minutes(o.Need("wrong-minutes")),
		CommonFrom:   l.chance(o.Need("common-from"), l.book.Scale.HowCommon, "how-common"),
		ClearSigns:   int(o.Need("clear-signs").Number(ps, "clear-signs", 1, 5)),
		StandsIf:     l.ids(o.Get("stands-if"), "signs"),
		RootFrom:     o.Need("root-from").Number(ps, "root-from", 0.01, 0.5),
		BackHours:    o.Need("back-hours").Number(ps, "back-hours", 1, 1000),
	}
	for i, level := range l.perLevel(o, "told") {
		p.Told[i] = int(level.Number(ps, "told", 1, 9))
	}
	for i, level := range l.perLevel(o, "with-root") {
		p.WithRoot[i] = level.Number(ps, "with-root", 0, 1)
	}
	l.basis(o)
	l.close("practice", o)
	l.book.Practice = p
}

// levels is how many levels of difficulty there are.
const levels = 3

// perLevel reads a list with one number for each level.
func (l *loader) perLevel(o *source.Object, key string) []*source.Node {
	n := o.Need(key)
	out := n.Scalars(&l.problems, key)
	if n != nil && len(out) != levels {
		l.problems.Add(n.Pos, source.WrongForm, "%s gives %d numbers; expected one for each of the %d levels", key, len(out), levels)
	}
	return out[:min(len(out), levels)]
}
