package practice

import (
	"cmp"
	"math"
	"slices"

	"telltale/engine"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// Review is an exercise held against the tool's own way through the same
// world.
type Review struct {
	Best    *Session // the replay
	Minutes float64
	// Ratio is the minutes over those of the replay; ok is false where the two
	// cannot be compared: no minutes, or one of them did not end or guessed.
	Ratio    float64
	Compared bool
	Judged   []Judged
	Chains   []Chain // one for each hidden cause
	Missed   []Missed
}

// Judged is one choice beside the best one at that moment.
type Judged struct {
	Choice
	Next, Goal Action // the tool's next step, and the check that it leads to
	NoNext     bool   // the tool had nothing left, or could not weigh
	Guess      bool   // the tool had no check left, and its next is the likeliest cause
	Same       bool   // the trainee chose the tool's next step
	// Of a check, or of what leads to one: its chance to find a cause behind
	// the findings, and the minutes with everything that was missing.
	Chance, Minutes         float64
	BestChance, BestMinutes float64
	// Of a check that looks better than the tool's, with a higher chance or more
	// chance a minute: what the whole list comes to with it first.
	Reason *work.Instead
	// Of a look: what its answer was expected to tell, and the best question's.
	Bits, BestBits float64
	BestLook       Action // "" if there was no question
}

// Chain is how the chance of one hidden cause went with each thing that was
// seen.
type Chain struct {
	Cause evidence.At
	Start float64 // chance before anything was told
	Links []Link
}

// Link is what one thing that was seen did: 10 log10 of the odds behind it
// over the odds before it.
type Link struct {
	Finding  evidence.Finding
	Check    evidence.At // of a check that found nothing
	Decibans float64
	Chance   float64 // of the cause after it
}

// Missed is a sign that was there to be seen and that nobody looked for.
type Missed struct {
	Finding  evidence.Finding
	Cause    evidence.At
	Decibans float64 // by which it would have raised that cause at the end
}

// leastMissed is the weight from which an overlooked sign is told, in decibans:
// it doubles the odds.
const leastMissed = 3

// Look back over an exercise. Each choice is judged by what was known when it
// was made. What cannot be weighed is left out.
func (s *Session) Review() (*Review, error) {
	best, err := Replay(s.World)
	if err != nil && !cannotWeigh(err) {
		return nil, err
	}
	out := &Review{Best: best, Minutes: s.minutes}
	if s.proven() && best.proven() {
		out.Ratio, out.Compared = ratio(s.minutes, best.minutes)
	}
	for _, c := range s.Journal {
		j, err := s.judge(c)
		if err != nil {
			return nil, err
		}
		out.Judged = append(out.Judged, j)
	}
	for _, at := range s.World.Hidden {
		chain, err := s.chain(at)
		if err != nil {
			return nil, err
		}
		out.Chains = append(out.Chains, chain)
	}
	out.Missed, err = s.missed()
	return out, err
}

func good(e End) bool { return e == Solved || e == Left }

func ratio(minutes, best float64) (float64, bool) {
	switch {
	case best > 0:
		return minutes / best, true
	case minutes == 0:
		return 1, true
	}
	return 0, false
}

// judge puts the tool's own next step beside a choice.
func (s *Session) judge(c Choice) (Judged, error) {
	j := Judged{Choice: c}
	then := Session{World: s.World, book: s.book, state: c.before}
	next, goal, ok, err := then.Best()
	if err != nil && !cannotWeigh(err) {
		return j, err
	}
	if j.NoNext = !ok || err != nil; j.NoNext {
		return j, nil
	}
	j.Next, j.Goal, j.Same = next, goal, next == c.Action
	j.Guess = next.Do == Name && !has(then.exposed, next.at())
	if goal.Do != Check && c.Do != Look && c.Do != Check {
		return j, nil
	}
	o, err := engine.Weigh(s.book, &then.known)
	if err != nil || o.Leave {
		return j, nil // weighed a moment ago; a pump that is left has no chances
	}
	if goal.Do == Check {
		j.BestChance, j.BestMinutes = o.ChanceToFind(s.book.Checks.Get(goal.ID), goal.Place), then.minutesTo(goal)
	}
	if c.Do == Check {
		j.Chance, j.Minutes = o.ChanceToFind(s.book.Checks.Get(c.ID), c.Place), then.minutesTo(c.Action)
	}
	if c.Do == Look {
		return j, then.bits(&j)
	}
	return j, then.reason(&j)
}

// reason fills in why the tool does not begin with a check that looks better
// than its own.
func (s *Session) reason(j *Judged) (err error) {
	if j.Do == Check && j.Goal.Do == Check && j.Goal != j.Action && looksBetter(j) {
		j.Reason, err = engine.WithFirst(s.book, &s.known, j.ID, j.Place)
	}
	return err
}

// looksBetter says whether a check shows a higher figure than the tool's.
func looksBetter(j *Judged) bool {
	return j.Chance > j.BestChance || j.Chance*j.BestMinutes > j.BestChance*j.Minutes
}

// bits fills in what a look was expected to tell.
func (s *Session) bits(j *Judged) error {
	r, err := engine.Diagnose(s.book.WithoutFirmness(), &s.known)
	if cannotWeigh(err) {
		return nil
	}
	if err != nil {
		return err
	}
	for i, q := range r.Ask {
		if i == 0 {
			j.BestBits, j.BestLook = q.Bits, Action{Do: Look, ID: q.Sign, Place: q.Place}
		}
		if q.Sign == j.ID && q.Place == j.Place {
			j.Bits = q.Bits
		}
	}
	return nil
}

// chain weighs what was seen one thing after the other.
func (s *Session) chain(at evidence.At) (Chain, error) {
	out := Chain{Cause: at}
	known := *s.World.bare()
	odds, chance, err := s.oddsOf(&known, at)
	if err != nil {
		return out, err
	}
	out.Start = chance
	add := func(l Link) error {
		after, chance, err := s.oddsOf(&known, at)
		if cannotWeigh(err) {
			return nil
		}
		if err != nil {
			return err
		}
		l.Decibans, l.Chance = decibans(after, odds), chance
		odds = after
		out.Links = append(out.Links, l)
		return nil
	}
	see := func(f evidence.Finding) error {
		known.Findings = append(narrowed(known.Findings, f), f)
		return add(Link{Finding: f})
	}
	for _, f := range s.World.Told {
		if err := see(f); err != nil {
			return out, err
		}
	}
	for _, c := range s.Journal {
		for _, f := range c.Seen {
			if err := see(f); err != nil {
				return out, err
			}
		}
		if c.Do == Check && c.Refused == nil && len(c.Found) == 0 {
			known.Cleared = append(known.Cleared, c.at())
			if err := add(Link{Check: c.at()}); err != nil {
				return out, err
			}
		}
	}
	return out, nil
}

// oddsOf gives the odds and the chance of a cause at its place.
func (s *Session) oddsOf(k *evidence.Case, at evidence.At) (odds, chance float64, err error) {
	free := *k
	free.Confirmed, free.RuledOut = nil, nil
	o, err := engine.Weigh(calm(s.book), &free)
	if err != nil {
		return 0, 0, err
	}
	for i, in := range o.Causes {
		if in.Cause.ID == at.ID && in.Place == at.Place {
			return o.Odds[i], o.Posterior[i], nil
		}
	}
	return 0, 0, nil
}

// calm is the book without its stops, so that a pump that must be left is
// weighed too, for looking back.
func calm(b *rules.Book) *rules.Book {
	out := *b
	out.Stops = rules.Table[rules.Stop]{}
	return &out
}

func decibans(with, without float64) float64 {
	db := 10 * math.Log10(with/without)
	if math.IsNaN(db) || math.IsInf(db, 0) {
		return 0
	}
	return db
}

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
		if err != nil && !cannotWeigh(err) {
			return best, err
		}
	}
	return best, nil
}

// RecordOf is an exercise as it goes into the trainee's file, without the time
// and the answers about corrections and shims.
func (s *Session) RecordOf(r *Review) Record {
	out := Record{
		Schema: RecordSchema, Seed: s.World.Seed, Level: s.World.Level, Pump: string(s.World.Action), Book: s.book.Digest,
		Causes: []string{}, Named: []Named{}, End: s.End, Minutes: s.minutes,
		BestMinutes: r.Best.minutes, BestSolved: r.Best.proven(), Faults: len(s.Faults()),
	}
	v := s.Verdict()
	out.Passed, out.Unproved = v.Passed, len(v.Unproved)
	for _, at := range s.World.Hidden {
		out.Causes = append(out.Causes, at.ID)
	}
	for _, c := range s.Journal {
		if c.Do == Name {
			out.Named = append(out.Named, Named{Cause: c.ID, Right: c.Right})
		}
	}
	return out
}
