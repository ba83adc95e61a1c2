package noisyor

import (
	"errors"
	"fmt"
	"math"
)

// tolerance is how far a probability or a sum of two may exceed one through rounding.
const tolerance = 1e-12

// Source is one way in which a cause is there: by itself, or brought on by another source.
// Sources without one above them are independent. A cause is there when one of its
// sources at least is on.
type Source struct {
	Cause  int     // which cause is there when it is on
	Under  int     // index of the source that brings it on, smaller than its own; -1: it is there by itself
	Chance float64 // that it is on, given that the source it lies under is (or, with Under -1, at all); 0 and 1 are allowed
}

// Yield is how one source that is on, or the background, answers one observation. The
// remaining mass 1-Yes-No is the mass with which it yields something that contradicts
// the observation.
type Yield struct {
	Yes float64 // mass with which it yields what was observed
	No  float64 // mass with which it yields nothing
}

// Link says how one source, when it is on, answers one observation.
type Link struct {
	Source int // index into Problem.Sources
	Yield
}

// Observation lists how the sources answer one observation. A source has at most one
// link in it; one without a link yields nothing here, for certain.
//
// A cause that was proved is a present observation with a link Yes 1 of each of its
// sources and the background No 1; one that was ruled out is the same, absent.
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

// Problem is one set of evidence over causes, some of which bring others on.
type Problem struct {
	Causes  int // how many there are
	Sources []Source
	// Present lists what was observed: at least one source yields Yes, none contradicts;
	// or, weighed by Doubt, every source yields nothing.
	Present []Observation
	// Absent lists what was looked for and not found: every source yields nothing,
	// so only the No masses count.
	Absent []Observation
	// About are the causes of which the posterior is wanted; nil: all. The others get
	// posterior and odds 0.
	About []int
}

// Answer is what the evidence says about every cause.
type Answer struct {
	// Evidence is the probability of everything observed; with a Doubt, up to a factor
	// that is the same for all causes. It is 0 without an error only when the true value
	// is too small for a float64.
	Evidence float64
	// Posterior is the probability of each cause, in whatever way it came, given
	// everything observed.
	Posterior []float64
	// Odds is Posterior against its complement, found without subtraction.
	// 0 and +Inf are allowed.
	Odds []float64
	// Sources is the probability of each source given everything observed.
	Sources []float64
}

// ErrImpossible means that the evidence has probability 0 under the problem.
var ErrImpossible = errors.New("noisyor: what was observed has probability 0")

// TooWideError is the refusal of a problem whose observations are too entangled
// to be worked out exactly.
type TooWideError struct {
	Width int // observations that must be held open at once
	Max   int // most that the solver accepts
	// Work is what was wanted of a Budget, and MaxWork what there was, where that is
	// what is too much.
	Work, MaxWork int
}

// Error tells both widths, or the work.
func (e *TooWideError) Error() string {
	if e.MaxWork > 0 {
		return fmt.Sprintf("noisyor: it takes more than %d million moves", e.MaxWork/1_000_000)
	}
	return fmt.Sprintf("noisyor: %d findings must be held open at once, the limit is %d", e.Width, e.Max)
}

// InputError is a problem that breaks the rules for its numbers or indexes.
type InputError struct {
	Where  string // for example "present finding 3, source 7"
	Reason string
}

// Error tells the place and the reason.
func (e *InputError) Error() string {
	return "noisyor: " + e.Where + ": " + e.Reason
}

// validate checks every number and index of p. seen is scratch of len(p.Sources).
func (p *Problem) validate(seen []int) error {
	if p.Causes < 0 {
		return &InputError{"causes", fmt.Sprintf("%d is not a number of causes", p.Causes)}
	}
	if err := p.fault(p.About); err != nil {
		return err
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

// fault says what is wrong with the sources of p, or with what is asked about.
func (p *Problem) fault(about []int) error {
	for s := range p.Sources {
		if fault := p.Sources[s].fault(s, p.Causes); fault != "" {
			return &InputError{fmt.Sprintf("source %d", s), fault}
		}
	}
	return p.known(about)
}

// known checks that every cause that is asked about is one of p.
func (p *Problem) known(about []int) error {
	for _, c := range about {
		if c < 0 || c >= p.Causes {
			return &InputError{fmt.Sprintf("asked about cause %d", c), "no such cause"}
		}
	}
	return nil
}

// fault says what is wrong with the source of this number, or nothing.
func (s *Source) fault(number, causes int) string {
	switch {
	case s.Cause < 0 || s.Cause >= causes:
		return fmt.Sprintf("no such cause %d", s.Cause)
	case s.Under < -1 || s.Under >= number:
		return fmt.Sprintf("cannot lie under %d", s.Under)
	case !(s.Chance >= 0 && s.Chance <= 1+tolerance):
		return fmt.Sprintf("chance %v is not a probability", s.Chance)
	}
	return ""
}

// fault says what is wrong with an observation and where, or nothing. stamp marks the
// sources already seen in it.
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
		case l.Source < 0 || l.Source >= len(seen):
			fault = "no such source"
		case fault == "" && seen[l.Source] == stamp:
			fault = "linked twice"
		}
		if fault != "" {
			return fmt.Sprintf("source %d", l.Source), fault
		}
		seen[l.Source] = stamp
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
