package rules

import (
	"telltale/evidence"
	"telltale/evidence/source"
)

// Trend is a measured value that wears with the hours of the pump, and what begins
// it anew.
type Trend struct {
	Entry
	// Threshold is past which it is a sign: the limit that the wear is held against.
	Threshold string
	Shims     bool     // shims under the lower guide set it back; it wears on at the same rate
	Parts     []string // with one of these new at its place another thing wears
	// Room is the limit of all that may be put under the guide; "" if shims do not
	// set it back.
	Room string
	// Check is the check that reads it.
	Check string
	// AtLimit is the part that is put in when it reaches its limit.
	AtLimit string
}

// Upkeep is a look that falls due so long after something was done, once.
type Upkeep struct {
	Entry
	Do        string
	Level     evidence.Level
	Corrected []string // causes that were put right
	Changed   []string // parts that were put in new
	Shimmed   bool     // shims were put in or taken out
	After     evidence.Quantity
	// What it takes: how the pump must stand, what must be open and safe, minutes, tools.
	Pump     PumpNeed
	Openings []string
	Safety   []string
	Minutes  float64
	Tools    []string
}

// Due says from when something is named as due.
type Due struct {
	PartShare float64           // the share of parts that have failed by the age at which one falls due
	Ahead     evidence.Quantity // what falls due within these hours is named
	// LookMinutes are those of a look again at a repair, RepairMinutes those of a repair
	// that takes no part whose minutes are known.
	LookMinutes, RepairMinutes float64
}

func (l *loader) parseTrend(o *source.Object, e Entry) *Trend {
	t := &Trend{Entry: e}
	if n := o.Need("threshold"); n != nil {
		t.Threshold = l.id(n, "thresholds")
		if th := l.book.Thresholds.Get(t.Threshold); th != nil && (th.Above == nil || th.Of.Kind().Share || th.Of.Kind().Level != evidence.OfCylinder) {
			l.problems.Add(n.Pos, source.DoesNotFit, "%s is no length of a cylinder that wears past something; expected a threshold with above:", t.Threshold)
		}
	}
	t.Shims = o.Get("shims").Bool(&l.problems, "shims")
	if n := o.Get("room"); n != nil {
		t.Room = l.limitOf(n, evidence.Length)
		if !t.Shims {
			l.problems.Add(n.Pos, source.NeedsOther, "room: is for what shims set back; expected %s", source.Want("shims: true"))
		}
	}
	t.Parts = l.ids(o.Get("parts"), "parts")
	if n := o.Need("check"); n != nil {
		t.Check = l.id(n, "checks")
		if c := l.book.Checks.Get(t.Check); c != nil && c.Level != evidence.OfCylinder {
			l.problems.Add(n.Pos, source.DoesNotFit, "%s is no check of a cylinder; a trend is read at one", t.Check)
		}
	}
	if n := o.Need("at-limit"); n != nil {
		t.AtLimit = l.id(n, "parts")
	}
	return t
}

func (l *loader) parseUpkeep(o *source.Object, e Entry) *Upkeep {
	u := &Upkeep{Entry: e, Do: l.text(o, "do"), Level: l.level(o)}
	u.Corrected = l.ids(o.Get("corrected"), "causes")
	u.Changed = l.ids(o.Get("changed"), "parts")
	u.Shimmed = o.Get("shimmed").Bool(&l.problems, "shimmed")
	u.After = l.hours(o.Need("after"))
	u.Pump = oneOf(l, o.Need("pump"), "pump", pumpNeeds...)
	u.Openings = l.ids(o.Get("openings"), "openings")
	u.Safety = l.ids(o.Get("safety"), "safety")
	u.Minutes = l.minutes(o.Need("minutes"))
	u.Tools = l.texts(o.Get("tools"), "tools")
	if len(u.Openings) > 0 && u.Pump != "" && u.Pump != NeedsIsolated {
		l.problems.Add(e.Pos, source.Unsafe, "%s needs something opened, so it needs pump: isolated; read %s", e.ID, u.Pump)
	}
	if len(u.Corrected)+len(u.Changed) == 0 && !u.Shimmed {
		l.problems.Add(e.Pos, source.Missing, "%s falls due after nothing; expected %s", e.ID, source.Want("corrected:, changed: or shimmed:"))
	}
	return u
}

func (l *loader) hours(n *source.Node) evidence.Quantity {
	if n == nil {
		return evidence.Quantity{}
	}
	q, _ := evidence.ReadQuantity(n, evidence.Duration, &l.problems)
	return q
}

func (l *loader) parseDue() {
	n := l.single["due"]
	if n == nil {
		return
	}
	o, d := n.Object(&l.problems, "due"), &l.book.Due
	d.PartShare = o.Need("part-share").Number(&l.problems, "part-share", 0.001, 0.5)
	d.Ahead = l.hours(o.Need("ahead"))
	d.LookMinutes = l.minutes(o.Need("look-minutes"))
	d.RepairMinutes = l.minutes(o.Need("repair-minutes"))
	l.basis(o)
	l.close("due", o)
}
