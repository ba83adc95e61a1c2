package noisyor

import (
	"errors"
	"fmt"
	"math"
)

// tolerance is how far a probability or a sum of two may exceed one through rounding.
const tolerance = 1e-12

// Yield is how one source (a present cause, or the background) answers one observation.
// The remaining mass 1-Yes-No is the mass with which the source yields something that
// contradicts the observation.
type Yield struct {
	Yes float64 // mass with which it yields what was observed
	No  float64 // mass with which it yields nothing
}

// Link says how one cause, when it is present, answers one observation.
type Link struct {
	Cause int // index into Problem.Prior
	Yield
}

// Observation lists the sources of one observation. A cause has at most one link in it;
// a cause without a link yields nothing here, for certain.
type Observation struct {
	Background Yield
	Links      []Link
	// Doubt is for a present observation that is not certain: how well what was read
	// agrees with nothing being there, against how well it agrees with what was observed
	// (a likelihood ratio, from 0 to MaxDoubt). 0: certain. 1: it says nothing, but that
	// no source contradicts.
	Doubt float64
}

// MaxDoubt is the most Doubt that an observation may have; with more, say that it is
// absent.
const MaxDoubt = 1e9

// Problem is one set of evidence over independent causes.
type Problem struct {
	// Prior is the probability of each cause before anything was observed.
	// 0 (ruled out) and 1 (confirmed) are allowed.
	Prior []float64
	// Present lists what was observed: at least one source yields Yes, none contradicts;
	// or, weighed by Doubt, every source yields nothing.
	Present []Observation
	// Absent lists what was looked for and not found: every source yields nothing,
	// so only the No masses count.
	Absent []Observation
}

// Answer is what the evidence says about every cause.
type Answer struct {
	// Evidence is the probability of everything observed; with a Doubt, up to a factor
	// that is the same for all causes. It is 0 without an error only when the true value
	// is too small for a float64.
	Evidence float64
	// Posterior is the probability of each cause given everything observed.
	Posterior []float64
	// Odds is Posterior against its complement, found without subtraction.
	// 0 and +Inf are allowed.
	Odds []float64
}

// ErrImpossible means that the evidence has probability 0 under the problem.
var ErrImpossible = errors.New("noisyor: what was observed has probability 0")

// TooWideError is the refusal of a problem whose observations are too entangled
// to be worked out exactly.
type TooWideError struct {
	Width int // observations that must be held open at once
	Max   int // most that the solver accepts
}

// Error tells both widths.
func (e *TooWideError) Error() string {
	return fmt.Sprintf("noisyor: %d findings must be held open at once, the limit is %d", e.Width, e.Max)
}

// InputError is a problem that breaks the rules for its numbers or indexes.
type InputError struct {
	Where  string // for example "present finding 3, cause 7"
	Reason string
}

// Error tells the place and the reason.
func (e *InputError) Error() string {
	return "noisyor: " + e.Where + ": " + e.Reason
}

// validate checks every number and index of p. seen is scratch of len(p.Prior).
func (p *Problem) validate(seen []int) error {
	for c, v := range p.Prior {
		if !(v >= 0 && v <= 1+tolerance) {
			return &InputError{fmt.Sprintf("cause %d", c), fmt.Sprintf("prior %v is not a probability", v)}
		}
	}
	clear(seen)
	for i := range p.Present {
		if where, fault := p.Present[i].fault(seen, i+1); fault != "" {
			return &InputError{fmt.Sprintf("present finding %d, %s", i, where), fault}
		}
	}
	for i := range p.Absent {
		if where, fault := p.Absent[i].fault(seen, len(p.Present)+i+1); fault != "" {
			return &InputError{fmt.Sprintf("absent finding %d, %s", i, where), fault}
		}
	}
	return nil
}

// fault says what is wrong with an observation and where, or nothing. stamp marks the
// causes already seen in it.
func (o *Observation) fault(seen []int, stamp int) (where, fault string) {
	if fault := o.Background.fault(); fault != "" {
		return "background", fault
	}
	if !(o.Doubt >= 0 && o.Doubt <= MaxDoubt) {
		return "doubt", fmt.Sprintf("%v is not between 0 and %g", o.Doubt, float64(MaxDoubt))
	}
	for _, l := range o.Links {
		fault := l.fault()
		switch {
		case l.Cause < 0 || l.Cause >= len(seen):
			fault = "no such cause"
		case fault == "" && seen[l.Cause] == stamp:
			fault = "linked twice"
		}
		if fault != "" {
			return fmt.Sprintf("cause %d", l.Cause), fault
		}
		seen[l.Cause] = stamp
	}
	return "", ""
}

// fault says why y is not a pair of masses, or nothing.
func (y Yield) fault() string {
	switch {
	case math.IsNaN(y.Yes) || math.IsNaN(y.No):
		return "a mass is not a number"
	case y.Yes < 0 || y.No < 0:
		return fmt.Sprintf("negative mass (yes %v, no %v)", y.Yes, y.No)
	case y.Yes+y.No > 1+tolerance:
		return fmt.Sprintf("masses add up to more than one (yes %v, no %v)", y.Yes, y.No)
	}
	return ""
}
