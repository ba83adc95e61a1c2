package rules

import "telltale/evidence/source"

// Practice says how the trainee's pump is played; nothing of it weighs a real
// case.
type Practice struct {
	LookMinutes  float64  // of one look at a sign at one place
	WrongMinutes float64  // lost with the correction of a cause that is not there
	Told         [3]int   // signs that the crew reports at level 1, 2 and 3
	CommonFrom   float64  // level 1 draws causes at least so common
	ClearSigns   int      // that level 1 must show from outside
	StandsIf     []string // signs with which the pump stands already
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
	}
	told := o.Need("told").Scalars(ps, "told")
	if len(told) != len(p.Told) {
		ps.Add(n.Pos, source.WrongForm, "told gives %d numbers; expected one for each of the %d levels", len(told), len(p.Told))
	}
	for i := range min(len(told), len(p.Told)) {
		p.Told[i] = int(told[i].Number(ps, "told", 1, 9))
	}
	l.basis(o)
	l.close("practice", o)
	l.book.Practice = p
}
