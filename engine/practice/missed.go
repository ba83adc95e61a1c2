package practice

import (
	"cmp"
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// Missed is a sign that was there to be seen and that nobody looked for.
type Missed struct {
	Finding  evidence.Finding
	Cause    evidence.At
	Decibans float64 // by which it would have raised that cause at the end
}

// leastMissed is the weight from which an overlooked sign is told, in decibans:
// it doubles the odds.
const leastMissed = 3

// missed lists the signs that were there, could be seen with the pump as it
// stood in the end or before it was stopped, and were never looked for.
func (s *Session) missed() ([]Missed, error) {
	var out []Missed
	for _, sign := range s.book.Signs.List {
		for _, p := range s.known.Pump.Places(sign.Level) {
			shown := s.World.Sign(sign.ID, p)
			if len(shown.By) == 0 || s.known.Known(sign.ID, p) || !s.couldSee(sign, p) {
				continue
			}
			m, err := s.weighMissed(s.World.finding(sign.ID, p), shown.By)
			if err != nil {
				return nil, err
			}
			if m.Decibans >= leastMissed {
				out = append(out, m)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Missed) int { return cmp.Compare(b.Decibans, a.Decibans) })
	return out, nil
}

func (s *Session) couldSee(sign *rules.Sign, p evidence.Place) bool {
	if sign.Reckoned || !sign.Fits(&s.known) {
		return false
	}
	if outside(sign) {
		return sign.Pump != rules.NeedsRunning || s.World.Pump.State == evidence.Running
	}
	return s.cannotLook(Action{Do: Look, ID: sign.ID, Place: p}) == ""
}

func (s *Session) weighMissed(f evidence.Finding, by []int) (Missed, error) {
	best := Missed{Finding: f}
	for _, i := range by {
		before, _, err := s.oddsOf(&s.known, s.World.Hidden[i])
		if err == nil {
			trial := s.known
			trial.Findings = append(narrowed(s.known.Findings, f), f)
			var after float64
			if after, _, err = s.oddsOf(&trial, s.World.Hidden[i]); err == nil {
				if db := decibans(after, before); db > best.Decibans {
					best.Cause, best.Decibans = s.World.Hidden[i], db
				}
			}
		}
		if mistake(err) != nil {
			return best, err
		}
	}
	return best, nil
}
