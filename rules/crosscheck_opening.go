package rules

import "telltale/evidence/source"

import "slices"

// openingOrder looks at what is opened only where a sign shows, in place of
// other openings, and at what must be open before anything turns the pump.
func (l *loader) openingOrder(a *Opening) {
	for _, id := range a.Where {
		l.inside(a.Pos, "where of "+a.ID, l.book.Signs.Get(id).Level, "opening "+a.ID, a.Level)
	}
	if (a.BeforeTurning || len(a.StandsFor) > 0) && len(a.Where) == 0 {
		l.problems.Add(a.Pos, source.Missing, "opening %s has before-turning or stands-for, so it must say where: the signs of which one shows there", a.ID)
	}
	for _, id := range a.StandsFor {
		if other := l.book.Openings.Get(id); other.Level != a.Level || len(other.StandsFor) > 0 {
			l.problems.Add(a.Pos, source.DoesNotFit, "opening %s cannot stand for %s: it must be of the same level and stand for nothing itself", a.ID, id)
		}
	}
	l.noCircle("opening", a.ID, a.Pos, l.needsOrStandIns)
	if a.BeforeTurning && l.turnsOnTheWay(a) {
		l.problems.Add(a.Pos, source.Unsafe, "opening %s must be open before anything turns the pump, but a safety step of it, or of what it needs, turns it", a.ID)
	}
}

// needsOrStandIns gives what an opening needs, with all that can stand for it.
func (l *loader) needsOrStandIns(id string) []string {
	needs := l.book.Openings.Get(id).Needs
	out := slices.Clone(needs)
	for _, a := range l.standIns {
		if slices.ContainsFunc(a.StandsFor, func(id string) bool { return slices.Contains(needs, id) }) {
			out = append(out, a.ID)
		}
	}
	return out
}

func (l *loader) turnsOnTheWay(a *Opening) bool {
	for id := range reach([]string{a.ID}, l.needsOrStandIns) {
		if l.book.anyTurns(l.book.Openings.Get(id).Safety) {
			return true
		}
	}
	return false
}
