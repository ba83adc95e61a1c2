package rules

import (
	"slices"

	"telltale/evidence"
	"telltale/evidence/source"
)

// crossCheck looks at what only the whole book shows: orders that run in a
// circle, places that do not fit each other, safety that is not there.
func (l *loader) crossCheck() {
	b := l.book
	for _, a := range b.Openings.List {
		if len(a.StandsFor) > 0 {
			l.standIns = append(l.standIns, a)
		}
	}
	b.followGuards()
	needs := map[string][]string{} // of each opening, with all that can stand for it
	for _, a := range b.Openings.List {
		needs[a.ID] = l.needsOrStandIns(a)
	}
	next := func(id string) []string { return needs[id] }
	circles := inCircles(&b.Openings, next)
	for _, a := range b.Openings.List {
		l.openingOrder(a, next)
		l.noCircle(circles, "opening", a.Entry)
		for _, need := range a.Needs {
			l.inside(a.Pos, "opening "+a.ID, a.Level, "opening "+need, b.Openings.Get(need).Level)
		}
	}
	circles = inCircles(&b.Safety, b.stepsBefore)
	for _, s := range b.Safety.List {
		l.noCircle(circles, "safety", s.Entry)
		l.safetyOrder(s)
	}
	circles = inCircles(&b.Checks, func(id string) []string { return b.Checks.Get(id).everAfter() })
	for _, c := range b.Checks.List {
		l.safetyFits(c)
		l.noCircle(circles, "check", c.Entry)
		for _, id := range c.Openings {
			l.inside(c.Pos, "check "+c.ID, c.Level, "opening "+id, b.Openings.Get(id).Level)
		}
	}
	for _, c := range b.Checks.List {
		l.opensWhatMustBeClosed(c)
		l.standsForItsAnswers(c)
		l.liveIsGuarded(c)
	}
	l.opensForItsAnswers()
	for _, c := range b.Causes.List {
		l.repairSafe(c)
	}
	l.bringsFit()
	circles = inCircles(&b.Signs, func(id string) []string { return b.Signs.Get(id).Follows })
	for _, s := range b.Signs.List {
		l.noCircle(circles, "sign", s.Entry)
		for _, id := range s.Openings {
			l.inside(s.Pos, "sign "+s.ID, s.Level, "opening "+id, b.Openings.Get(id).Level)
		}
	}
	for _, p := range b.Parts.List {
		for _, id := range p.ReachedBy {
			l.inside(p.Pos, "part "+p.ID, p.Level, "opening "+id, b.Openings.Get(id).Level)
		}
	}
	for _, f := range b.Forms.List {
		l.formInOrder(f)
	}
	l.safetyPresent()
	l.localReadings()
}

// localReadings refuses a sign or a record of a local book that speaks of a
// sign on which a stop or a safety step rests: a reading could then say that
// it is not there.
func (l *loader) localReadings() {
	rests := l.restedOn()
	refuse := func(section string, e *Entry, sign string) {
		if on, ok := rests[sign]; ok && l.find(section, e.ID).fresh {
			l.problems.Add(e.Pos, source.NotAllowed, "%s is an entry of a local book and cannot speak of %s, on which %s rests: a reading could say that it is not there", e.ID, sign, on)
		}
	}
	for _, s := range l.book.Thresholds.List {
		refuse("thresholds", &s.Entry, s.Sign)
	}
	for _, p := range l.book.Parts.List {
		refuse("parts", &p.Entry, p.Sign)
	}
}

// restedOn gives the signs that a stop, a safety step, a return step or a
// check that comes first asks about, each with one that does.
func (l *loader) restedOn() map[string]string {
	out := map[string]string{}
	note := func(id string, c *Condition) {
		for ; c != nil; c = c.Or {
			for _, n := range c.Names {
				if n.Of == "signs" {
					out[n.ID] = id
				}
			}
		}
	}
	for _, s := range l.book.Stops.List {
		note("the stop "+s.ID, s.When)
	}
	for _, s := range l.book.Safety.List {
		note("the safety step "+s.ID, s.When)
	}
	for _, r := range l.book.Returns.List {
		note("the return step "+r.ID, r.When)
	}
	for _, c := range l.book.Checks.List {
		note("the check "+c.ID, c.FirstWhen)
	}
	return out
}

// liveIsGuarded refuses a check of a local book that is done with power or charge
// pressure on and names no step that guards it: the isolation does not.
func (l *loader) liveIsGuarded(c *Check) {
	if c.Pump == NeedsLive && len(c.Safety) == 0 && l.find("checks", c.ID).fresh {
		l.problems.Add(c.Pos, source.Unsafe, "the check %s is done with power or charge pressure on; name under safety the steps that guard it; read none", c.ID)
	}
}

// standsForItsAnswers refuses a check that answers, on a pump that may move or is
// not isolated, a sign that is looked for on one that stands or is isolated.
func (l *loader) standsForItsAnswers(c *Check) {
	for _, id := range c.Answers {
		if s := l.book.Signs.Get(id); !c.Desk && len(s.Openings) == 0 && !c.Pump.asSafeAs(s.Pump) {
			l.problems.Add(c.Pos, source.Unsafe, "the check %s answers the sign %s, which needs pump: %s; expected that; read %s", c.ID, id, s.Pump, c.Pump)
		}
	}
}

// opensForItsAnswers refuses a check that answers a sign behind an opening which
// it does not open, unless the keeper of the built-in book says why it may. A
// local book cannot say it.
func (l *loader) opensForItsAnswers() {
	keeper := l.book
	if keeper.Under != nil {
		keeper = keeper.Under
	}
	for _, r := range keeper.Judged(l.book.unopened()) {
		if r.Accepted == "" {
			l.problems.Add(r.Pos, source.Unsafe, "%s; expected it under openings, with pump: isolated; read pump: %s", r.Message, l.book.Checks.Get(r.Of[0]).Pump)
		}
	}
}

// opensWhatMustBeClosed refuses a check that wants something closed which it,
// or a check that always comes before it, needs open. Behind one that comes
// before it in some cases only, it is left out in those cases.
func (l *loader) opensWhatMustBeClosed(c *Check) {
	if len(c.Closed) == 0 {
		return
	}
	open := map[string]source.Pos{} // and where it is told
	var needed func(ids []string, at source.Pos)
	needed = func(ids []string, at source.Pos) {
		for _, id := range ids {
			if _, seen := open[id]; !seen {
				open[id] = at
				opening := l.book.Openings.Get(id)
				needed(opening.Needs, opening.toldAt(at))
				needed(opening.StandsFor, opening.toldAt(at))
			}
		}
	}
	for id := range reach([]string{c.ID}, func(id string) []string { return l.book.Checks.Get(id).After }) {
		check := l.book.Checks.Get(id)
		needed(check.Openings, check.toldAt(c.Pos))
	}
	for _, id := range c.Closed {
		if at, is := open[id]; is {
			l.problems.Add(at, source.Unsafe, "check %s wants %s closed, but it, or a check before it, needs it open", c.ID, id)
		}
	}
}

// toldAt is where a mistake is told that this entry has a part in: here, if
// it comes from the local book.
func (e Entry) toldAt(otherwise source.Pos) source.Pos {
	if e.FromLocal {
		return e.Pos
	}
	return otherwise
}

// noCircle reports an entry that comes before itself.
func (l *loader) noCircle(circles map[string]bool, what string, e Entry) {
	if circles[e.ID] {
		l.problems.Add(e.Pos, source.Unsafe, "%s %s waits for itself", what, e.ID)
	}
}

// inCircles gives the entries of a table that are got to from themselves, in one
// walk (Tarjan 1972, Depth-First Search and Linear Graph Algorithms, from memory).
func inCircles[T any](table *Table[T], next func(id string) []string) map[string]bool {
	out, low, open := map[string]bool{}, map[string]int{}, map[string]bool{}
	var way []string
	var visit func(id string) int
	visit = func(id string) int {
		number := len(low) + 1
		at := len(way)
		low[id], open[id], way = number, true, append(way, id)
		least := number
		for _, to := range next(id) {
			switch {
			case to == id:
				out[id] = true
			case low[to] == 0:
				least = min(least, visit(to))
			case open[to]:
				least = min(least, low[to])
			}
		}
		if low[id] = least; least < number {
			return least
		}
		for _, member := range way[at:] {
			open[member] = false
			if len(way)-at > 1 {
				out[member] = true
			}
		}
		way = way[:at]
		return least
	}
	for id := range table.byID {
		if low[id] == 0 {
			visit(id)
		}
	}
	return out
}

var depth = map[evidence.Level]int{evidence.OfPump: 0, evidence.OfCylinder: 1, evidence.OfChamber: 2}

// inside demands that what is needed belongs to the same place or to a larger
// one: a check of the whole pump cannot need one cylinder opened.
func (l *loader) inside(pos source.Pos, what string, level evidence.Level, need string, needLevel evidence.Level) {
	if depth[needLevel] > depth[level] {
		l.problems.Add(pos, source.DoesNotFit, "%s is of the %s but needs %s, which is of the %s; which one would it be?", what, level, need, needLevel)
	}
}

// safetyOrder keeps the guards of the running pump apart from the isolation.
func (l *loader) safetyOrder(s *Safety) {
	if s.Turns && s.For != ForNamed {
		l.problems.Add(s.Pos, source.Unsafe, "%s turns the pump, so it must be for: named, behind the isolation; read %s", s.ID, s.For)
	}
	for _, id := range s.After {
		before := l.book.Safety.Get(id)
		if before.For == ForNamed && s.For != ForNamed || s.For == ForRunning && before.For != ForRunning || s.For == ForStopping && before.For == ForIsolation {
			l.problems.Add(s.Pos, source.Unsafe, "%s (for %s) comes after %s (for %s), which may not be in the list", s.ID, s.For, id, before.For)
		}
	}
}

// safetyFits refuses a check on the running pump, with power on or with the
// lines open, whose guards would stop or isolate the pump first.
func (l *loader) safetyFits(c *Check) {
	stopsFirst := func(id string) bool { return l.book.Safety.Get(id).stopsFirst }
	if c.Pump.UnderIsolation() || !slices.ContainsFunc(c.Safety, stopsFirst) {
		return
	}
	for id := range reach(c.Safety, l.book.stepsBefore) {
		s := l.book.Safety.Get(id)
		stops := c.Pump == NeedsRunning && s.For == ForStopping
		isolates := s.For == ForIsolation && (s.InFull || c.Pump != NeedsLive) // with power on, locks of the other sources are no isolation
		if stops || isolates {
			l.problems.Add(c.Pos, source.Unsafe, "%s needs the pump %s, but its safety step %s comes after the pump is stopped or isolated", c.ID, c.Pump, s.ID)
			return
		}
	}
}

// repairSafe refuses a cause whose repair is done behind its own line and
// names no step that shuts it, and guards of a repair that belong to the pump
// where the pump is neither stopped nor isolated for it.
func (l *loader) repairSafe(c *Cause) {
	if c.Behind == BehindLine && len(c.Safety) == 0 {
		l.problems.Add(c.Pos, source.Unsafe, "the repair of %s is done behind its own line; name under safety the steps that shut, bleed and prove it", c.ID)
	}
	for _, id := range c.Safety {
		s := l.book.Safety.Get(id)
		if s.For != ForNamed {
			l.problems.Add(c.Pos, source.Unsafe, "the safety step %s (for %s) cannot stand before the repair of %s; expected one that is for: named", id, s.For, c.ID)
			continue
		}
		if c.Behind != BehindPump && s.stopsFirst {
			l.problems.Add(c.Pos, source.Unsafe, "the repair of %s is behind %s, but its safety step %s comes after the pump is stopped or isolated", c.ID, c.Behind, id)
		}
	}
}

// safetyPresent demands that hands never go in, and nobody watches a running
// pump, without at least one safety step, and that the isolation is proved.
func (l *loader) safetyPresent() {
	var running, stopping, isolation, again bool
	for _, s := range l.book.Safety.List {
		unconditional := s.When == nil
		running = running || s.For == ForRunning && unconditional
		stopping = stopping || s.For == ForStopping && unconditional && !s.SkipOnStop
		isolation = isolation || s.For == ForIsolation && unconditional
		again = again || s.For == ForIsolation && s.InFull && unconditional
	}
	if !running {
		l.problems.Add(wholeBook, source.Unsafe, "no safety step is for: running; looks at the running pump would have no safety step")
	}
	if !stopping {
		l.problems.Add(wholeBook, source.Unsafe, "no safety step is for: stopping on every pump; work would begin on a running pump")
	}
	if !isolation || !again {
		l.problems.Add(wholeBook, source.Unsafe, "the isolation needs safety steps, and at least one with in-full: true that proves it")
	}
}
