package rules

import (
	"slices"

	"telltale/evidence"
)

// What a list of steps is made of: openings, safety steps, checks, and the steps
// back to service.

// PumpNeed says how the pump must stand for something to be seen or checked.
type PumpNeed string

// The needs, from nothing to hands in.
const (
	NeedsRunning     PumpNeed = "running"      // only while it runs
	NeedsLive        PumpNeed = "live"         // stopped, with power or charge pressure still on
	NeedsStopped     PumpNeed = "stopped"      // stopped; nothing is opened
	NeedsNothing     PumpNeed = "any"          // running or not
	NeedsNotIsolated PumpNeed = "not-isolated" // running or stopped, its lines not closed for the isolation
	NeedsIsolated    PumpNeed = "isolated"     // hands in
)

// UnderIsolation says whether what has this need can be done on an isolated
// pump.
func (n PumpNeed) UnderIsolation() bool {
	return n == NeedsStopped || n == NeedsNothing || n == NeedsIsolated
}

// asSafeAs says whether hands are no nearer to what moves than another need has
// them: not on a pump that may run where the other has it stand.
func (n PumpNeed) asSafeAs(other PumpNeed) bool {
	switch other {
	case NeedsIsolated:
		return n == NeedsIsolated
	case NeedsStopped, NeedsLive:
		return n == NeedsLive || n == NeedsStopped || n == NeedsIsolated
	}
	return true
}

// Opening is something that is opened to get at a place.
type Opening struct {
	Entry
	Level   evidence.Level
	Needs   []string
	Safety  []string
	Minutes float64
	Tools   []string
	Do      string
	Close   Closing
	Hands   int      // people that it takes
	Uses    []string // parts that are replaced whenever this was opened
	// Where is the signs of which one must show at its place; none = everywhere.
	Where         []string
	StandsFor     []string // openings in place of which it is opened there
	BeforeTurning bool     // nothing turns the pump before it is open
	Picture       Picture  // of how it is opened
	When          *Condition
}

// Closing is how an opening is closed again.
type Closing struct {
	Title   string
	Minutes float64
	Do      string
	Picture Picture
}

// Signal is a signal word of ANSI Z535 and ISO 3864.
type Signal string

// The signal words, gravest first.
const (
	Danger  Signal = "danger"
	Warning Signal = "warning"
	Caution Signal = "caution"
)

// Signals lists the signal words, gravest first.
func Signals() []string { return []string{string(Danger), string(Warning), string(Caution)} }

// SafetyFor says what a safety step guards.
type SafetyFor string

// What a safety step guards.
const (
	ForRunning   SafetyFor = "running"   // observations on the running pump
	ForStopping  SafetyFor = "stopping"  // bringing a running pump to rest
	ForIsolation SafetyFor = "isolation" // hands going in
	ForNamed     SafetyFor = "named"     // only where an opening or a check names it
)

// Safety is one safety step.
type Safety struct {
	Entry
	For    SafetyFor
	Signal Signal
	After  []string
	InFull bool // to be done again even if the pump is isolated already
	// SkipOnStop: not done when a stop condition stops the pump at once.
	SkipOnStop bool
	Turns      bool // it turns the pump, by hand or with power
	Hands      int  // people that it takes
	Minutes    float64
	Do         string
	Short      string     // what is done, on few lines of paper; the isolation has its title alone where there is none
	Reports    []string   // signs that show the step does not hold: they can be reported at it
	Lists      []string   // what the case says that belongs to it, one of Lists
	LockOn     []string   // what locks hang on at it, to choose from
	LeavesOpen []string   // what it leaves open, to choose from
	TakenOver  *TakenOver // its form on a pump that is isolated already; nil: it is not done there unless InFull
	When       *Condition
	turnsFirst bool // it, or one that comes before it, turns the pump
	stopsFirst bool // it, or one that comes before it, stops or isolates the pump
}

// What a step can list from the case.
const (
	ListsLocks = "locks"      // the locks that hang
	ListsOpen  = "stays-open" // what the isolation leaves open
)

// TakenOver is the short form of a step of the isolation for whoever comes to a
// pump that others have isolated: what he must see for himself.
type TakenOver struct {
	Title   string
	Minutes float64
	Do      string
}

// TakesOver says whether what others did of the isolation is taken over by whoever sees
// it for himself: the case says that the pump is isolated, and no stop condition holds
// after which it is made anew.
func (b *Book) TakesOver(k *evidence.Case) bool {
	return k.Pump.State == evidence.Isolated && !slices.ContainsFunc(b.Stops.List, func(s *Stop) bool { return s.IsolateAnew && s.When.Holds(k, b) })
}

// On gives the step as it is done where the isolation of others is taken over, or is not.
func (s *Safety) On(takenOver bool) *Safety {
	if s.TakenOver == nil || !takenOver {
		return s
	}
	out := *s
	out.Title, out.Minutes, out.Do, out.Short = s.TakenOver.Title, s.TakenOver.Minutes, s.TakenOver.Do, ""
	return &out
}

// Check is something to look at, measure or try.
type Check struct {
	Entry
	Level     evidence.Level
	Pump      PumpNeed
	Desk      bool // done over papers or by a word with somebody: nothing of the pump is near or opened
	Openings  []string
	Safety    []string
	After     []string
	AfterWhen []AfterRule
	FirstWhen *Condition
	Minutes   float64
	Tools     []string
	Do        string
	Finds     []Find
	Results   []Result
	Answers   []string // signs that it tells of; when all are answered, it is done
	Main      []string // those of Answers that it is for; when these are answered, it is done
	// Closed is what must not be open for it: the check stands before it is
	// opened at the same place, and is left out where it is open.
	Closed   []string
	NotWhere []string // signs that spoil it: it is left out where one of them shows, or may
	Hands    int      // people that it takes
	Read     []ReadBlank
	Picture  Picture
	When     *Condition
}

// ReadBlank is a reading to write down, with the limits that it is held
// against.
type ReadBlank struct {
	What   string
	Limits []string
}

// AfterRule puts more checks before a check while its condition holds.
type AfterRule struct {
	When  *Condition
	After []string
}

// Find says how surely a check exposes a cause that is there.
type Find struct {
	Cause string
	Sure  float64
}

// Result is one outcome of a check and what to do then.
type Result struct {
	If       string
	Then     string
	PointsTo []string
	Clears   []string
	// Shows is the sign of the check's answers that this result is, "" if it is
	// none; Kind of which kind, "" if it has none or it is not known.
	Shows, Kind string
}

// Return is one step of closing up and going back to service.
type Return struct {
	Entry
	Do      string
	Short   string // the same on few lines of paper; Do where there is none
	Minutes float64
	Opened  []string // only if one of these was opened; none = always after isolation
	Before  []string // done before the first of these is closed
	Repeats []string // checks whose readings are taken again where Opened was open
	Lists   []string // what the case says that belongs to it, as of Safety
	Picture Picture
	For     ReturnFor
	When    *Condition
}

// ReturnFor says which way a return step leads.
type ReturnFor string

// The two ways. A step that only makes safe is on both.
const (
	ForBoth         ReturnFor = ""
	ForService      ReturnFor = "service"        // the pump runs again
	ForOutOfService ReturnFor = "out-of-service" // a stop condition keeps the pump out of service
)

// Leads says whether a step is on the way of a pump that is kept out of service,
// or of one that is not.
func (r *Return) Leads(outOfService bool) bool {
	return r.For == ForBoth || outOfService == (r.For == ForOutOfService)
}
