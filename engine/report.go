package engine

import (
	"telltale/engine/figures"
	"telltale/evidence"
)

// ReportSchema is the version of the Report's structure; it changes when a
// field changes its meaning or goes.
const ReportSchema = 3

// Report is the answer to a case: the one structure that every view reads.
// Probabilities are between 0 and 1, times in minutes, weights in decibans.
type Report struct {
	Schema   int            `json:"schema"`
	Rulebook RulebookReport `json:"rulebook"`
	Pump     PumpReport     `json:"pump"`
	// Stop is what comes before everything else. With LeavePump the pump
	// waits: causes, steps and questions are held back.
	Stop      []StopReport `json:"stop"`
	LeavePump bool         `json:"leave_pump"`
	// OpenNothing: a stop condition holds every opening back, and with it
	// every check with hands in and the closing up.
	OpenNothing bool `json:"open_nothing"`
	// Ratings are the pump's figures beside the limits that the case or the
	// book gives, in the order of the book.
	Ratings []figures.Rating `json:"ratings"`
	// Beside is what was taken beside moving parts and is therefore not used.
	Beside []BesideReport `json:"taken_beside_moving_parts"`
	// Haste says how long it can wait; nil only where the case could not be
	// weighed and no stop condition holds.
	Haste *HasteReport `json:"haste"`
	// Measured is what the readings came to, nil if nothing was measured.
	Measured *MeasuredReport `json:"measured,omitempty"`
	// Locks are the locks of the isolation by the case, and StaysOpen what it
	// leaves open; both as they were written down.
	Locks     []LockReport `json:"locks"`
	StaysOpen []OpenLine   `json:"stays_open"`
	// Found are the findings as they were understood.
	Found []Finding `json:"findings"`
	// Causes has every cause that can be on this pump, likeliest first;
	// confirmed ones stand in Confirmed instead.
	Causes    []CauseReport     `json:"causes"`
	Confirmed []ConfirmedReport `json:"confirmed"`
	// Unexplained are the findings that the confirmed causes leave open.
	Unexplained []UnexplainedReport `json:"unexplained"`
	Groups      []GroupReport       `json:"groups"`
	// Firmness tells how far the first cause depends on the judged figures.
	Firmness *FirmnessReport `json:"firmness,omitempty"`
	// NoneOfThese is the probability that no cause of the rulebook is there.
	NoneOfThese float64      `json:"none_of_these"`
	Steps       []StepReport `json:"steps"`
	// ExpectedMinutes is the mean time until a check exposes a cause, over
	// the causes by their probability, given that the list exposes it.
	// Closing up is not in it.
	ExpectedMinutes float64 `json:"expected_minutes"`
	// Order says how good the order is; nil if no check is in it.
	Order *OrderReport `json:"order,omitempty"`
	// NotInSteps is the chance that the trouble is not found by the list.
	NotInSteps float64 `json:"not_found_by_steps"`
	// RunAgain is what only the running pump shows, if the steps find nothing.
	RunAgain *RunAgainReport  `json:"run_again,omitempty"`
	Ask      []QuestionReport `json:"ask"`
	// GoStraight is the look that can prove the likeliest cause at once, where
	// that is likely enough; nil if none is.
	GoStraight *GoStraightReport `json:"go_straight,omitempty"`
	// Contradictions are words of the case that speak against each other.
	Contradictions []ContradictionReport `json:"contradictions"`
	// Closed: all that was proved is corrected and was right when it was looked
	// at again, and nothing that was seen is left unexplained.
	Closed bool     `json:"closed"`
	Notes  []string `json:"notes"`
}

// RulebookReport says which rulebook the answer rests on.
type RulebookReport struct {
	Name    string `json:"name"`
	Version string `json:"version"`
	Digest  string `json:"digest"`
	// Basis says what the probabilities rest on.
	Basis string `json:"basis"`
	// Local names the local book that was laid over this one.
	Local *LocalReport `json:"local,omitempty"`
}

// LocalReport is a local rulebook that was laid over the built-in one.
type LocalReport struct {
	Name    string `json:"name"`
	Version string `json:"version"`
	Digest  string `json:"digest"`
}

// FirmnessReport says what becomes of the first cause when every figure of
// the rulebook is moved at random.
type FirmnessReport struct {
	Cause string `json:"cause"`
	evidence.Place
	Books      int     `json:"books"`       // perturbed books
	Spread     float64 `json:"spread"`      // standard deviation on the log-odds scale
	StaysFirst int     `json:"stays_first"` // of those books
	// Low and High are the 5 % and 95 % points of its probability.
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// PumpReport is the pump as it was understood; quantities in both systems.
type PumpReport struct {
	Name      string   `json:"name"`
	Action    string   `json:"action"`
	Cylinders []string `json:"cylinders"`
	State     string   `json:"state"`
	Rotation  string   `json:"rotation"`
	Liner     string   `json:"liner,omitempty"`
	Stroke    string   `json:"stroke,omitempty"`
	Speed     string   `json:"speed,omitempty"`
	Discharge string   `json:"discharge,omitempty"`
	Open      []string `json:"open"`
	Recent    []string `json:"recent"`
}

// StopReport is a stop condition that holds.
type StopReport struct {
	ID     string   `json:"id"`
	Signal string   `json:"signal"`
	By     string   `json:"by"` // at-once, next-safe-moment
	Title  string   `json:"title"`
	Do     []string `json:"do"`
	// FromLocal: it, or something of it, comes from the local book.
	FromLocal bool `json:"from_local,omitempty"`
}

// LockReport is one lock of the isolation: who hung it on what, and who took it
// off. Text says it in one line.
type LockReport struct {
	On    string `json:"on"`
	By    string `json:"by"`
	At    string `json:"at,omitempty"`
	Tag   string `json:"tag,omitempty"`
	Key   string `json:"key,omitempty"`
	Hangs bool   `json:"hangs"`
	OffBy string `json:"off_by,omitempty"`
	OffAt string `json:"off_at,omitempty"`
	Text  string `json:"text"`
}

// OpenLine is a bleed, drain or valve that the isolation leaves open.
type OpenLine struct {
	What   string `json:"what"`
	By     string `json:"by,omitempty"`
	At     string `json:"at,omitempty"`
	Open   bool   `json:"open"`
	ShutBy string `json:"shut_by,omitempty"`
	ShutAt string `json:"shut_at,omitempty"`
	Text   string `json:"text"`
}

// Finding is one finding as it was understood: a sign with one answer at the
// places where it was given, or a check that found nothing. What follows from
// it points to its number; a view puts it into words.
type Finding struct {
	Number int    `json:"number"` // its place in the list of findings, from 1
	Sign   string `json:"sign,omitempty"`
	Check  string `json:"check,omitempty"`
	Title  string `json:"title"`  // of the sign or check
	Answer string `json:"answer"` // present, absent; nothing: the check found nothing
	// Kind is the kind of the sign, and KindTitle what it is called.
	Kind      string           `json:"kind,omitempty"`
	KindTitle string           `json:"kind_title,omitempty"`
	Places    []evidence.Place `json:"places"` // none: the whole pump
	// Measured: it comes from readings; InDoubt: one of them is near its
	// threshold.
	Measured bool `json:"measured"`
	InDoubt  bool `json:"in_doubt"`
}

// FoundNothing is the answer of a check that found nothing.
const FoundNothing = "nothing"

// MeasuredReport is what the readings of a case came to and what they say.
type MeasuredReport struct {
	*figures.Figures
	// Thresholds are what was looked for in the readings.
	Thresholds []MeasuredFinding `json:"thresholds"`
}

// CauseReport is one cause at one place.
type CauseReport struct {
	Cause string `json:"cause"`
	evidence.Place
	Title       string   `json:"title"`
	Group       string   `json:"group"`
	Probability float64  `json:"probability"`
	For         []Reason `json:"for"`
	Against     []Reason `json:"against"`
	Why         string   `json:"why"`
	Repair      string   `json:"repair"`
	LookAgain   string   `json:"look_again"`
	Parts       []string `json:"parts"`
	Ruins       string   `json:"ruins"`
	Basis       string   `json:"basis"`
	// FromLocal: it, or something of it, comes from the local book.
	FromLocal bool `json:"from_local,omitempty"`
}

// Reason is a finding's weight of evidence: 10 log10 of the odds with the
// finding over the odds without it, all other findings kept; decibans.
// Weights do not add up to the whole when findings explain each other.
type Reason struct {
	Finding  int     `json:"finding"` // its number
	Decibans float64 `json:"decibans"`
}

// ConfirmedReport is a cause that was proved, with what to do about it.
type ConfirmedReport struct {
	Cause string `json:"cause"`
	evidence.Place
	Title string `json:"title"`
	// Behind says what the repair is done behind: pump (its isolation),
	// own-line, nothing. Safety are the safety steps of its own that come
	// before it; they stand in Steps until the cause is corrected.
	Behind    string         `json:"behind"`
	Safety    []SafetyReport `json:"safety"`
	Repair    string         `json:"repair"`
	LookAgain string         `json:"look_again"`
	Parts     []string       `json:"parts"`
	Ruins     string         `json:"ruins"`
	// FromLocal: it, or something of it, comes from the local book.
	FromLocal bool `json:"from_local,omitempty"`
	// Corrected: it was repaired; LookedAgain: and was right when it was looked
	// at again.
	Corrected   bool `json:"corrected"`
	LookedAgain bool `json:"looked_again"`
}

// SafetyReport names a safety step.
type SafetyReport struct {
	ID    string `json:"id"`
	Title string `json:"title"`
}

// UnexplainedReport is a finding that the confirmed causes probably did not
// cause, at one of its places.
type UnexplainedReport struct {
	Finding int `json:"finding"` // its number
	evidence.Place
	Probability float64 `json:"probability"` // that none of the confirmed causes shows it
}

// GroupReport is the probability that at least one cause of a group is there.
type GroupReport struct {
	Group       string  `json:"group"`
	Title       string  `json:"title"`
	Probability float64 `json:"probability"`
}

// The kinds of step.
const (
	StepSafety  = "safety"
	StepOpening = "opening"
	StepCheck   = "check"
	StepReturn  = "return"
)

// StepReport is one step of the list.
type StepReport struct {
	Number int    `json:"number"`
	Kind   string `json:"kind"`
	ID     string `json:"id"`
	evidence.Place
	Title   string  `json:"title"`
	Pump    string  `json:"pump,omitempty"` // how the pump stands: running, live, stopped, any, isolated
	Minutes float64 `json:"minutes"`
	Signal  string  `json:"signal,omitempty"`
	// Needs are the ids of the safety and opening steps that must stand
	// earlier in the list: of the whole pump or at the same place.
	Needs []string `json:"needs"`
	// BeforeTurning: nothing turns the pump, at any cylinder, before it is done.
	BeforeTurning bool           `json:"before_turning,omitempty"`
	Tools         []string       `json:"tools"`
	Do            string         `json:"do"`
	Looks         []string       `json:"looks_for"` // the likeliest causes it exposes
	Results       []ResultReport `json:"results"`
	// FoundByHere is the chance that a cause which is there and shows one of
	// the findings has been exposed by the end of this step.
	FoundByHere float64 `json:"found_by_here"`
	// MinutesByHere is the minutes from the start of the list to the end of
	// this step.
	MinutesByHere float64 `json:"minutes_by_here"`
	// FromLocal: it, or something of it, comes from the local book.
	FromLocal bool `json:"from_local,omitempty"`
}

// ResultReport says what one outcome of a check means and what to do then.
type ResultReport struct {
	If       string   `json:"if"`
	Then     string   `json:"then"`
	PointsTo []string `json:"points_to"`
	Clears   []string `json:"clears"`
	// Shows is the sign that this result is, Kind of which kind.
	Shows string `json:"shows,omitempty"`
	Kind  string `json:"kind,omitempty"`
}

// QuestionReport is a sign that nobody answered yet and that can be
// answered with the pump as it stands.
type QuestionReport struct {
	Sign string `json:"sign"`
	evidence.Place
	Question string   `json:"question"`
	Tell     string   `json:"tell,omitempty"`
	Kinds    []string `json:"kinds"`
	// Bits is the information that the answer is expected to give about each
	// cause, added over the causes that may be behind the findings.
	Bits float64 `json:"bits"`
	// FromLocal: it, or something of it, comes from the local book.
	FromLocal bool `json:"from_local,omitempty"`
}
