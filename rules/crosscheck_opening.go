package rules

import "telltale/evidence/source"

import "slices"

// openingOrder looks at what is opened only where a sign shows, in place of
// other openings, and at what must be open before anything turns the pump.
func (l *loader) openingOrder(a *Opening, needs func(id string) []string) {
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
	if a.BeforeTurning && l.turnsOnTheWay(a, needs) {
		l.problems.Add(a.Pos, source.Unsafe, "opening %s must be open before anything turns the pump, but a safety step of it, or of what it needs, turns it", a.ID)
	}
}

// needsOrStandIns gives what an opening needs, with all that can stand for it.
func (l *loader) needsOrStandIns(a *Opening) []string {
	out := slices.Clone(a.Needs)
	for _, other := range l.standIns {
		if slices.ContainsFunc(other.StandsFor, func(id string) bool { return slices.Contains(a.Needs, id) }) {
			out = append(out, other.ID)
		}
	}
	return out
}

func (l *loader) turnsOnTheWay(a *Opening, needs func(id string) []string) bool {
	for id := range reach([]string{a.ID}, needs) {
		if l.book.anyTurns(l.book.Openings.Get(id).Safety) {
			return true
		}
	}
	return false
}
