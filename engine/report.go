package engine

import (
	"telltale/engine/chances"
	"telltale/engine/figures"
	"telltale/engine/work"
)

// ReportSchema is the version of the Report's structure; it is raised when a
// field is added or goes, or changes its meaning.
const ReportSchema = 6

// Report is the answer to a case: the one structure that every view reads.
// Probabilities are between 0 and 1, times in minutes, weights in decibans.
type Report struct {
	Schema   int            `json:"schema"`
	Rulebook RulebookReport `json:"rulebook"`
	Pump     PumpReport     `json:"pump"`
	// Stop is what comes before everything else. With LeavePump the pump
	// waits: causes, steps and questions are held back.
	Stop      []chances.Stop `json:"stop"`
	LeavePump bool           `json:"leave_pump"`
	// OpenNothing: a stop condition holds every opening back, and with it
	// every check with hands in and the closing up.
	OpenNothing bool `json:"open_nothing"`
	// OutOfService: a stop condition keeps the pump from running again. The steps
	// end with the locks on.
	OutOfService bool `json:"out_of_service"`
	// Ratings are the pump's figures beside the limits that the case or the
	// book gives, in the order of the book.
	Ratings []figures.Rating `json:"ratings"`
	// Beside is what was taken beside moving parts and is therefore not used.
	Beside []chances.Beside `json:"taken_beside_moving_parts"`
	// Haste says how long it can wait; nil only where the case could not be
	// weighed and no stop condition holds.
	Haste *chances.Haste `json:"haste"`
	// Measured is what the readings came to, nil if nothing was measured.
	Measured *chances.Measured `json:"measured,omitempty"`
	// Locks are the locks of the isolation by the case, and StaysOpen what it
	// leaves open; both as they were written down.
	Locks     []work.Lock     `json:"locks"`
	StaysOpen []work.LeftOpen `json:"stays_open"`
	// Found are the findings as they were understood.
	Found []chances.Finding `json:"findings"`
	// Troubles tells what is probably wrong, each trouble as what failed and what
	// brought it on; the likeliest first.
	Troubles []chances.Trouble `json:"troubles"`
	// Causes has every cause that can be on this pump, likeliest first;
	// confirmed ones stand in Confirmed instead.
	Causes    []chances.Cause     `json:"causes"`
	Confirmed []chances.Confirmed `json:"confirmed"`
	// Unexplained are the findings that the confirmed causes leave open.
	Unexplained []chances.Unexplained `json:"unexplained"`
	Groups      []chances.Group       `json:"groups"`
	// Firmness tells how far the first cause depends on the judged figures.
	Firmness *chances.Firmness `json:"firmness,omitempty"`
	// NoneOfThese is the probability that no cause of the rulebook is there.
	NoneOfThese float64     `json:"none_of_these"`
	Steps       []work.Step `json:"steps"`
	// ExpectedMinutes is the mean time until a check exposes a cause, over
	// the causes by their probability, given that the list exposes it.
	// Closing up is not in it.
	ExpectedMinutes float64 `json:"expected_minutes"`
	// Order says how good the order is; nil if no check is in it.
	Order *work.Order `json:"order,omitempty"`
	// NotInSteps is the chance that the trouble is not found by the list.
	NotInSteps float64 `json:"not_found_by_steps"`
	// Failure and Root are how much the list finds of what failed, and of what
	// brought it on.
	Failure work.Share `json:"steps_find_failure"`
	Root    work.Share `json:"steps_find_root"`
	// NotLooked are likely roots of what is proved or likely that no check of the
	// list looks at surely enough.
	NotLooked []work.NotLooked `json:"not_looked_at"`
	// RunAgain is what only the running pump shows, if the steps find nothing.
	RunAgain *work.RunAgain     `json:"run_again,omitempty"`
	Ask      []chances.Question `json:"ask"`
	// GoStraight is the look that can prove the likeliest cause at once, where
	// that is likely enough; nil if none is.
	GoStraight *work.GoStraight `json:"go_straight,omitempty"`
	// Contradictions are words of the case that speak against each other.
	Contradictions []chances.Contradiction `json:"contradictions"`
	// Closed: all that was proved is corrected and was right when it was looked
	// at again, nothing that was seen is left unexplained, and no likely root is
	// left that was not looked at, unless the crew says yes to that; and nothing stands
	// open or locked, or owes its way back to service.
	Closed bool     `json:"closed"`
	Notes  []string `json:"notes"`

	settled bool // Closed, but for what is left standing
}

// Teardown is a plan to open a pump once: everything of the Report, with its
// steps planned for the causes that are looked for, and what has to be at hand
// before the first bolt is loosened.
type Teardown struct {
	*Report
	*work.Teardown
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
	// Calls is how many closed calls of the rig its figures rest on.
	Calls int `json:"closed_calls,omitempty"`
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
