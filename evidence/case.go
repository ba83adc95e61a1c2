package evidence

import (
	"slices"

	"telltale/evidence/source"
)

// Rotation is which way the crank turns.
type Rotation string

// The rotations. Forward: the top of the crankshaft moves toward the fluid end.
const (
	Forward         Rotation = "forward"
	Reverse         Rotation = "reverse"
	RotationUnknown Rotation = "unknown"
)

// PumpState is how the pump stands now.
type PumpState string

// The states. Isolated: locked off, lines closed, pressure proved zero.
const (
	Running  PumpState = "running"
	Stopped  PumpState = "stopped"
	Isolated PumpState = "isolated"
)

// PumpStates lists the states by name.
func PumpStates() []string { return []string{string(Running), string(Stopped), string(Isolated)} }

// Rotations lists the rotations by name.
func Rotations() []string {
	return []string{string(Forward), string(Reverse), string(RotationUnknown)}
}

// Pump is the pump of a case. A quantity that is not given is nil.
type Pump struct {
	Name string
	Layout
	Rotation Rotation
	State    PumpState
	Open     []At // opening already gained
	// ClosedAgain is what was open and is not any more, as long as the way back to
	// service was not gone to its end: some of its steps are owed to it.
	ClosedAgain []At
	Liner       *Quantity
	Stroke      *Quantity
	PistonRod   *Quantity // diameter
	// ConnectingRod is its length between the centres of its bearings.
	ConnectingRod *Quantity
	Speed         *Quantity
	Discharge     *Quantity
}

// At names an entry of the rulebook at a place of the pump.
type At struct {
	ID    string
	Place Place
	Pos   source.Pos
}

// Work is a work that was done lately.
type Work struct {
	ID    string
	Done  Done
	Cured Known // whether the trouble was gone after it
	At    Place // where; the zero place: nobody says, or everywhere
	Pos   source.Pos
}

// Done is whether a work was done before or after the trouble began.
type Done string

// The times of a work. Where nobody says, it counts as done before the trouble.
const (
	BeforeTrouble Done = "before-trouble"
	AfterTrouble  Done = "after-trouble"
)

// DoneTimes lists the times of a work by name.
func DoneTimes() []string { return []string{string(BeforeTrouble), string(AfterTrouble)} }

// WasDone says whether a work was done lately.
func (c *Case) WasDone(work string) bool {
	return slices.ContainsFunc(c.Recent, func(w Work) bool { return w.ID == work })
}

// BeforeTrouble is the case without the works that were done after the trouble
// began: those cannot have brought it on.
func (c *Case) BeforeTrouble() *Case {
	later := func(w Work) bool { return w.Done == AfterTrouble }
	if !slices.ContainsFunc(c.Recent, later) {
		return c
	}
	out := *c
	out.Recent = slices.DeleteFunc(slices.Clone(c.Recent), later)
	return &out
}

// Answer is what was found of a sign.
type Answer string

// The two answers that count; not looked at is no finding at all.
const (
	Present Answer = "present"
	Absent  Answer = "absent"
)

// Finding is one observation. Present: at least one of Over shows the sign
// (and, with a kind, what shows it shows that kind). Absent: none of Over does.
type Finding struct {
	Sign   string
	Answer Answer
	Kind   string // "" when the kind is not known or the sign has none
	At     Place  // as the crew named it
	Over   []Place
	Pos    source.Pos
	// Measured findings come from readings. They tell of their one kind and
	// leave the others open: absent means not of this kind. Chance is the
	// probability that the sign, of this kind, is there.
	Measured bool
	Chance   float64
}

// whole says whether the finding answers the sign altogether: a reading
// that speaks against one kind leaves the others open.
func (f *Finding) whole() bool { return f.Answer == Present || f.Kind == "" }

// Case is one pump in trouble: all that is known so far.
type Case struct {
	File     string
	ID       string       // what whoever sends many cases calls this one; "" if nothing
	Text     *source.Text // in which its places stand; nil if it was not read
	Job      Job          // of a rig's pump; the zero value: it stands alone
	Others   []OtherJob   // that say how the same pump stands
	Pump     Pump
	Recent   []Work
	Manual   map[string]Quantity // figures from this pump's manual, by limit
	Findings []Finding
	NotKnown []At // signs that were asked for and that nobody knows or looked at
	Cleared  []At // checks done that found nothing
	Unclear  []At // checks done whose result settles nothing
	// Measured is what was measured; it becomes findings when it is weighed.
	Measured Measured
	// MeasuredAgain is what was measured after the repair; Changed and Shims are
	// what was put in on the job. None of them is weighed: they are what the next
	// job knows.
	MeasuredAgain Measured
	Changed       []NewPart
	Shims         []Shimmed
	UpkeepDone    []At // what fell due and was done on the job
	// Confirmed are causes proved; RuledOut are causes proved not to be there.
	Confirmed []At
	RuledOut  []At
	// Judged are causes that the crew takes for what it was, where no look proved
	// them. They are not weighed.
	Judged []At
	// Corrected are confirmed causes that were repaired; LookedAgain are those of
	// them where the reading or look that showed the fault was repeated and is
	// right.
	Corrected   []At
	LookedAgain []At
	// BroughtOn is what brought confirmed failures on, by the crew. It is not
	// weighed: a study scores the rulebook by it.
	BroughtOn []BroughtOn
	// RootLeft are confirmed causes of which the crew says that they are put right
	// although a likely root of theirs was not looked at.
	RootLeft []At
	// Taken is when what needs covers off was taken, by the name of a sign, a
	// check or a block of readings; see TakenAt.
	Taken     map[string]Taken
	Log       []LogEntry
	Locks     []Lock     // of the isolation, hanging or taken off
	StaysOpen []LeftOpen // bleeds, drains and valves that the isolation needs open
	// Past are the ratings that the pump's figures are past. No case file says
	// so: it is filled in when the figures are worked out.
	Past []PastRating
}

// PastRating is a rating of the rulebook that the pump's figures are past.
type PastRating struct {
	ID    string
	Words string // the two figures: what it runs at and what it may
}

// IsPast says whether the pump's figures are past a rating.
func (c *Case) IsPast(rating string) bool {
	return slices.ContainsFunc(c.Past, func(p PastRating) bool { return p.ID == rating })
}

// LogEntry is one line of the record: who did what, and when, as far as the
// crew says.
type LogEntry struct {
	At  string // time as written, RFC 3339 when telltale wrote it
	By  string
	Did string
}

// Settled says whether nobody needs to be asked for the sign at this place
// again: it was answered, or nobody knows.
func (c *Case) Settled(sign string, place Place) bool {
	return has(c.NotKnown, sign, place) || c.Known(sign, place)
}

// has says whether a list names an entry at just this place.
func has(list []At, id string, place Place) bool {
	return slices.ContainsFunc(list, func(at At) bool { return at.ID == id && at.Place == place })
}

// Has says whether the case already has opening id open at a place that
// contains p.
func (p *Pump) Has(id string, place Place) bool { return has(p.Open, id, place) }

// finds says whether some finding of a sign is so.
func (c *Case) finds(sign string, so func(*Finding) bool) bool {
	return slices.ContainsFunc(c.Findings, func(f Finding) bool { return f.Sign == sign && so(&f) })
}

// Shows says whether the sign is known present anywhere; with a kind, of
// that kind.
func (c *Case) Shows(sign, kind string) bool {
	return c.finds(sign, func(f *Finding) bool { return f.Answer == Present && (kind == "" || f.Kind == kind) })
}

// ShowsNowhere says whether the sign is known absent at every one of places.
func (c *Case) ShowsNowhere(sign string, places []Place) bool {
	return !slices.ContainsFunc(places, func(p Place) bool {
		return !c.finds(sign, func(f *Finding) bool { return f.Answer == Absent && f.whole() && slices.Contains(f.Over, p) })
	})
}

// ShowsEverywhere says whether every cylinder is known to show the sign.
func (c *Case) ShowsEverywhere(sign string) bool {
	return !slices.ContainsFunc(c.Pump.Places(OfCylinder), func(cylinder Place) bool {
		elsewhere := func(p Place) bool { return p.Cylinder != cylinder.Cylinder }
		return !c.finds(sign, func(f *Finding) bool { return f.Answer == Present && !slices.ContainsFunc(f.Over, elsewhere) })
	})
}

// Known says whether the sign was answered at just this place: "somewhere"
// leaves each place open.
func (c *Case) Known(sign string, place Place) bool {
	return c.finds(sign, func(f *Finding) bool {
		return (f.Answer != Present || len(f.Over) == 1) && f.whole() && slices.Contains(f.Over, place)
	})
}

// HasConfirmed says whether a cause is proved, at any place.
func (c *Case) HasConfirmed(cause string) bool {
	return slices.ContainsFunc(c.Confirmed, func(at At) bool { return at.ID == cause })
}
