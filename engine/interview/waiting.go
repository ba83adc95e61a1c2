package interview

import (
	"slices"

	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// Waiting gives the signs and the proved causes that make the pump wait, each
// by itself, after a Leave: when it is over, these are what is taken back.
func Waiting(book *rules.Book, k *evidence.Case) (signs []string, causes []evidence.At) {
	return behindStop(book, k, func(s *rules.Stop) bool { return s.LeavePump })
}

// Holding gives the signs and the proved causes that hold every opening back,
// each by itself, after a Held.
func Holding(book *rules.Book, k *evidence.Case) (signs []string, causes []evidence.At) {
	return behindStop(book, k, func(s *rules.Stop) bool { return s.OpenNothing })
}

// behindStop gives what makes a stop of some kind hold, each by itself.
func behindStop(book *rules.Book, k *evidence.Case, kind func(*rules.Stop) bool) (signs []string, causes []evidence.At) {
	holds := func(k *evidence.Case) bool {
		return slices.ContainsFunc(book.Stops.List, func(s *rules.Stop) bool { return kind(s) && s.When.Holds(k, book) })
	}
	bare := *k
	bare.Findings, bare.Confirmed, bare.Others = nil, nil, nil
	for _, f := range k.Findings {
		trial := bare
		trial.Findings = []evidence.Finding{f}
		if !slices.Contains(signs, f.Sign) && holds(&trial) {
			signs = append(signs, f.Sign)
		}
	}
	for _, at := range k.Confirmed {
		trial := bare
		trial.Confirmed = []evidence.At{at}
		if holds(&trial) {
			causes = append(causes, at)
		}
	}
	return signs, causes
}

// HeldKey is the key of waiting until something may be opened.
const HeldKey = "held"

// held is the move while nothing may be opened: what is left of making the pump
// safe, then the wait itself, or, when the crew wants to go on meanwhile, the
// steps that need nothing opened.
func held(book *rules.Book, s *Sitting, m Move) Move {
	if step, ok := nextSafety(book, m.Report, s); ok {
		m.Kind, m.Step = Do, step
		return m
	}
	m.Kind = Held
	if step, ok := nextStep(m.Report, s, work.StepCheck); ok {
		m.Step = step
		if s.Declined[HeldKey] {
			m.Kind = Do
		}
	}
	return m
}
