package practice

import (
	"math"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
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
	Chains   []Chain // of each trouble: what failed, then what brought it on
	Missed   []Missed
}

// Judged is one choice beside the best one at that moment.
type Judged struct {
	Choice
	Next, Goal Action // the tool's next step, and the check that it leads to
	NoNext     bool   // the tool had nothing left
	Unweighed  bool   // the tool could not weigh what was known
	Guess      bool   // the tool had no check left, and its next is the likeliest cause
	Same       bool   // the trainee chose the tool's next step
	// Of a check, or of what leads to one: its chance to find a cause behind
	// the findings, and the minutes with everything that was missing.
	Chance, Minutes         float64
	BestChance, BestMinutes float64
	// Of a check that looks better than the tool's, with a higher chance or more
	// chance a minute: what the whole list comes to with it first.
	Reason *work.Instead
	// Of a name, and of what was said to have brought one on: the chance of it then.
	Believed float64
	// Of a look: what its answer was expected to tell, and the best question's.
	Bits, BestBits float64
	BestLook       Action // "" if there was no question
}

// Chain is how the chance of one hidden cause went with each thing that was
// seen.
type Chain struct {
	Cause evidence.At
	// By is what brought it on; no id if nothing did.
	By    evidence.At
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
	Share    float64 // that By brought it on, given that it is there; 0 without By
}

// mostBack bounds what looking back over an exercise takes, in moves: two seconds or so.
const mostBack = chances.MostWork * 4 / 3

// Look back over an exercise. Each choice is judged by what was known when it
// was made. What cannot be weighed, and what is past mostBack, is left out.
func (s *Session) Review() (*Review, error) {
	return s.reviewWithin(&chances.Budget{Most: mostBack})
}

func (s *Session) reviewWithin(budget *chances.Budget) (*Review, error) {
	s.World.back, s.World.last = budget, nil
	defer func() { s.World.back, s.World.last = nil, nil }()
	best, err := Replay(s.World)
	if mistake(err) != nil {
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
	if out.Chains, err = s.chains(); err != nil {
		return nil, err
	}
	out.Missed, err = s.missed()
	return out, err
}

// Lead is the failure by which a trouble is told: one that was named, with its root
// where there is one, else the first; of what stands alone itself.
func (s *Session) Lead(t Trouble) evidence.At {
	if len(t.Failed) == 0 {
		return t.Root
	}
	best, most := t.Failed[0], 0
	for _, at := range t.Failed {
		rank := 0
		if has(s.known.Confirmed, at) {
			rank = 1
		}
		if s.saysRight(at, t.Root) {
			rank = 2
		}
		if rank > most {
			best, most = at, rank
		}
	}
	return best
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
	if mistake(err) != nil {
		return j, err
	}
	if err != nil {
		j.Unweighed = true
		return j, nil
	}
	if j.NoNext = !ok; j.NoNext {
		return j, nil
	}
	j.Next, j.Goal, j.Same = next, goal, next == c.Action
	j.Guess = next.Do == Name && !has(then.exposed, next.at())
	if next.Do == Root {
		left, err := then.openRoots(next.Of)
		if err != nil {
			return j, err
		}
		j.Guess = len(left) > 0 && !has(then.known.Confirmed, next.at())
	}
	if c.Do == Name || c.Do == Root {
		if j.Believed, err = then.believed(c.Action); err != nil {
			return j, err
		}
	}
	if goal.Do != Check && c.Do != Look && c.Do != Check {
		return j, nil
	}
	m, err := then.weigh(&then.known)
	if err != nil || then.mustLeave() {
		return j, mistake(err) // a pump that is left has no chances
	}
	if goal.Do == Check {
		j.BestChance, j.BestMinutes = m.ChanceToFind(s.book.Checks.Get(goal.ID), goal.Place), then.minutesTo(goal)
	}
	if c.Do == Check {
		j.Chance, j.Minutes = m.ChanceToFind(s.book.Checks.Get(c.ID), c.Place), then.minutesTo(c.Action)
	}
	if c.Do == Look {
		return j, m.bits(&j)
	}
	if c.Do == Check && goal.Do == Check && goal != c.Action && looksBetter(&j) {
		j.Reason = work.WithFirst(m.Weighed, c.ID, c.Place)
	}
	return j, nil
}

// believed is how likely it is that what is named is there, or brought on what it is
// said to have brought on.
func (s *Session) believed(a Action) (float64, error) {
	m, err := s.weigh(&s.known)
	switch {
	case err != nil:
		return 0, mistake(err)
	case a.Do == Root:
		return m.share(a.Of, a.at()), nil
	}
	_, chance := m.odds(a.at())
	return chance, nil
}

// looksBetter says whether a check shows a higher figure than the tool's.
func looksBetter(j *Judged) bool {
	return j.Chance > j.BestChance || j.Chance*j.BestMinutes > j.BestChance*j.Minutes
}

// bits fills in what a look was expected to tell.
func (m *moment) bits(j *Judged) error {
	asked, err := m.Questions()
	if err != nil {
		return mistake(err)
	}
	for i, q := range asked {
		if i == 0 {
			j.BestBits, j.BestLook = q.Bits, Action{Do: Look, ID: q.Sign, Place: q.Place}
		}
		if q.Sign == j.ID && q.Place == j.Place {
			j.Bits = q.Bits
		}
	}
	return nil
}

// chains weighs what was seen one thing after the other.
func (s *Session) chains() ([]Chain, error) {
	var out []Chain
	for _, t := range s.World.Troubles() {
		if len(t.Failed) > 0 {
			out = append(out, Chain{Cause: s.Lead(t), By: t.Root})
		}
		out = append(out, Chain{Cause: t.Root})
	}
	known := *s.World.bare()
	odds := make([]float64, len(out))
	add := func(l Link) error {
		m, err := s.weigh(&known)
		if err != nil {
			return mistake(err)
		}
		for i := range out {
			after, chance := m.odds(out[i].Cause)
			if l.Finding.Sign == "" && l.Check.ID == "" {
				out[i].Start, odds[i] = chance, after
				continue
			}
			l.Decibans, l.Chance, odds[i] = decibans(after, odds[i]), chance, after
			if l.Share = 0; out[i].By.ID != "" {
				l.Share = m.share(out[i].Cause, out[i].By)
			}
			out[i].Links = append(out[i].Links, l)
		}
		return nil
	}
	see := func(f evidence.Finding) error {
		known.Findings = append(narrowed(known.Findings, f), f)
		return add(Link{Finding: f})
	}
	if err := add(Link{}); err != nil {
		return nil, err
	}
	for _, f := range s.World.Told {
		if err := see(f); err != nil {
			return nil, err
		}
	}
	for _, c := range s.Journal {
		for _, f := range c.Seen {
			if err := see(f); err != nil {
				return nil, err
			}
		}
		if c.Do == Check && c.Refused == nil && len(c.Found) == 0 {
			known.Cleared = append(known.Cleared, c.at())
			if err := add(Link{Check: c.at()}); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// oddsOf gives the odds and the chance of a cause at its place.
func (s *Session) oddsOf(k *evidence.Case, at evidence.At) (odds, chance float64, err error) {
	free := *k
	free.Confirmed, free.RuledOut = nil, nil
	m, err := s.weigh(&free)
	if err != nil {
		return 0, 0, err
	}
	odds, chance = m.odds(at)
	return odds, chance, nil
}

func decibans(with, without float64) float64 {
	db := 10 * math.Log10(with/without)
	if math.IsNaN(db) || math.IsInf(db, 0) {
		return 0
	}
	return db
}
