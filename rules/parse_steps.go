package rules

import (
	"telltale/evidence/source"
)

func (l *loader) parseSafety(o *source.Object, e Entry) *Safety {
	s := &Safety{Entry: e, Do: l.text(o, "do")}
	s.For = oneOf(l, o.Need("for"), "purpose", ForRunning, ForStopping, ForIsolation, ForNamed)
	s.Short = l.optional(o, "short")
	s.Signal = l.signal(o)
	s.After = l.ids(o.Get("after"), "safety")
	s.InFull = o.Get("in-full").Bool(&l.problems, "in-full")
	s.SkipOnStop = o.Get("skip-on-stop").Bool(&l.problems, "skip-on-stop")
	s.Turns = o.Get("turns").Bool(&l.problems, "turns")
	s.Hands = l.hands(o)
	s.Minutes = l.minutes(o.Need("minutes"))
	s.Reports = l.ids(o.Get("reports"), "signs")
	s.Lists = l.lists(o)
	s.LockOn, s.LeavesOpen = l.texts(o.Get("lock-on"), "lock-on"), l.texts(o.Get("leaves-open"), "leaves-open")
	s.TakenOver = l.takenOver(o.Get("taken-over"), s)
	s.When = l.readCondition(o.Get("when"))
	return s
}

// takenOver reads the form of a step for a pump that is isolated already.
func (l *loader) takenOver(n *source.Node, s *Safety) *TakenOver {
	if n == nil {
		return nil
	}
	if s.For != ForIsolation || s.InFull {
		l.problems.Add(n.Pos, source.DoesNotFit, "taken-over: is for a step of the isolation that is not done again in full (for: isolation, without in-full:)")
	}
	o := n.Object(&l.problems, "taken-over")
	out := &TakenOver{Title: l.text(o, "title"), Minutes: l.minutes(o.Need("minutes")), Do: l.text(o, "do")}
	o.Close()
	return out
}

func (l *loader) parseOpening(o *source.Object, e Entry) *Opening {
	a := &Opening{Entry: e, Level: l.level(o), Do: l.text(o, "do")}
	a.Needs = l.ids(o.Get("needs"), "openings")
	a.Safety = l.ids(o.Get("safety"), "safety")
	a.Minutes = l.minutes(o.Need("minutes"))
	a.Tools = l.texts(o.Get("tools"), "tools")
	a.Hands = l.hands(o)
	a.Uses = l.ids(o.Get("uses"), "parts")
	a.Where = l.ids(o.Get("where"), "signs")
	a.StandsFor = l.ids(o.Get("stands-for"), "openings")
	a.BeforeTurning = o.Get("before-turning").Bool(&l.problems, "before-turning")
	closing := o.Need("close").Object(&l.problems, "close")
	a.Close = Closing{Title: l.text(closing, "title"), Minutes: l.minutes(closing.Need("minutes")), Do: l.text(closing, "do"), Picture: l.picture(closing)}
	closing.Close()
	a.Picture = l.picture(o)
	a.When = l.readCondition(o.Get("when"))
	return a
}

func (l *loader) parseTold(o *source.Object, e Entry) *Told {
	return &Told{
		Entry: e, Of: l.text(o, "of"), Opened: l.ids(o.Get("opened"), "openings"),
		Causes: l.ids(o.Get("causes"), "causes"), When: l.readCondition(o.Get("when")),
	}
}

func (l *loader) parseReferral(o *source.Object, e Entry) *Referral {
	return &Referral{Entry: e, Ask: l.text(o, "ask"), Opened: l.ids(o.Get("opened"), "openings")}
}

func (l *loader) parseReturn(o *source.Object, e Entry) *Return {
	r := &Return{
		Entry: e, Do: l.text(o, "do"), Short: l.optional(o, "short"), Minutes: l.minutes(o.Need("minutes")),
		Opened: l.ids(o.Get("opened"), "openings"), Before: l.ids(o.Get("before"), "openings"), Repeats: l.ids(o.Get("repeats"), "checks"),
		When:  l.readCondition(o.Get("when")),
		Lists: l.lists(o), Picture: l.picture(o),
	}
	if n := o.Get("for"); n != nil {
		r.For = oneOf(l, n, "way", ForService, ForOutOfService)
	}
	return r
}

func (l *loader) parseStop(o *source.Object, e Entry) *Stop {
	s := &Stop{Entry: e, Signal: l.signal(o)}
	s.By = oneOf(l, o.Need("by"), "time of the stop", AtOnce, NextSafeMoment)
	s.When = l.anyCondition(o.Need("when"))
	s.Do = l.texts(o.Need("do"), "do")
	s.Standing = l.optional(o, "standing")
	s.StopPump = o.Get("stop-pump").Bool(&l.problems, "stop-pump")
	s.PowerOff = o.Get("power-off").Bool(&l.problems, "power-off")
	s.LeavePump = o.Get("leave-pump").Bool(&l.problems, "leave-pump")
	s.OpenNothing = o.Get("open-nothing").Bool(&l.problems, "open-nothing")
	s.OutOfService = o.Get("out-of-service").Bool(&l.problems, "out-of-service")
	s.IsolateAnew = o.Get("isolate-anew").Bool(&l.problems, "isolate-anew")
	if n := o.Get("haste"); n != nil {
		haste := l.parseHaste(n)
		s.Haste = &haste
		if l.book.Local == nil && (s.StopPump || s.LeavePump) {
			l.problems.Add(n.Pos, source.DoesNotFit, "a stop condition that stops or leaves the pump has no haste of its own; by says when")
		}
	}
	return s
}
