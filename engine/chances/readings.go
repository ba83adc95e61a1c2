package chances

import (
	"fmt"
	"slices"

	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// Readings become findings here. A sign of the rulebook holds with the
// probability that the measured value is past its threshold; the chance that
// the reading is plainly wrong is laid over it. The crew's own word on the
// same sign at the same place stands, and the reading is not counted
// beside it.

// sureChance is where a reading against the crew's word is more than doubt.
const sureChance = 0.95

// inDoubt says whether a reading leaves its sign open.
func inDoubt(chance float64) bool { return chance > 0.1 && chance < 0.9 }

// Measured is what the readings of a case came to and what they say.
type Measured struct {
	*figures.Figures
	// Thresholds are what was looked for in the readings.
	Thresholds []MeasuredFinding `json:"thresholds"`
}

// MeasuredFinding is one sign that was looked for in the readings.
type MeasuredFinding struct {
	Threshold string `json:"threshold"`
	Of        string `json:"of"` // the measured value, or the part whose changes were recorded
	evidence.Place
	Title  string  `json:"title"`
	Sign   string  `json:"sign"`
	Kind   string  `json:"kind,omitempty"`
	Chance float64 `json:"chance"` // that the value is past its threshold
	// Past is what the value was held against, as the person reads it.
	Past string `json:"past"`
	// Counted: it is weighed as a finding; else Why says why not.
	Counted bool   `json:"counted"`
	Why     string `json:"why_not,omitempty"`
}

// measure gives what the readings came to, and the case with its readings
// turned into findings and the ratings that it is past. With an error it gives
// the ratings alone. What was taken beside moving parts is not in it.
func measure(book *rules.Book, k *evidence.Case) (*Measured, *evidence.Case, error) {
	k = weighable(book, k)
	worked, err := figures.Work(book, k)
	if err != nil {
		worked = &figures.Figures{Ratings: figures.Ratings(book, k, nil)}
		return &Measured{Figures: worked}, withKeptOut(book, withPast(k, worked.Ratings)), err
	}
	k = withKeptOut(book, withPast(k, worked.Ratings))
	s := reader{book: book, k: k, worked: worked}
	s.problems.In(k.Text)
	s.measured()
	s.ratings()
	s.records()
	if err := s.problems.Err(); err != nil {
		return &Measured{Figures: worked}, k, err
	}
	s.stillOpen()
	s.settle()
	measured, with := s.split()
	return measured, with, nil
}

// Accepts says whether a case can still be worked out after a change: its error
// is that of Lay for the new case, with the places of the old file. A case that
// could not be worked out before may be changed in any way.
func Accepts(book *rules.Book, before, after *evidence.Case) error {
	if before == nil || after == nil {
		return nil
	}
	if _, _, err := measure(book, before); err != nil {
		return nil
	}
	_, _, err := measure(book, after)
	if err == nil {
		return nil
	}
	for _, old := range []func(*evidence.Case){
		func(k *evidence.Case) { k.Measured = before.Measured },
		func(k *evidence.Case) { k.Findings = before.Findings },
	} {
		trial := *after
		old(&trial)
		if _, _, at := measure(book, &trial); at != nil {
			return at
		}
	}
	return err
}

type reader struct {
	book     *rules.Book
	k        *evidence.Case
	worked   *figures.Figures
	claims   []claim
	problems source.Problems
}

// claim is one sign that the readings speak of, as it is told and as it is
// weighed.
type claim struct {
	told    MeasuredFinding
	finding evidence.Finding
}

func (s *reader) measured() {
	for _, threshold := range s.book.Thresholds.List {
		if !threshold.When.HoldsForPump(&s.k.Pump) || s.dropped(threshold.Above) || s.dropped(threshold.Below) {
			continue
		}
		above, aboveOK := s.threshold(threshold.Above)
		below, belowOK := s.threshold(threshold.Below)
		for _, v := range s.worked.Values {
			if v.ID != threshold.Of || !s.exists(threshold.Sign) {
				continue
			}
			if !aboveOK || !belowOK {
				s.worked.Missing = append(s.worked.Missing, fmt.Sprintf(noFigure, Titled(threshold.Title, v.Place)))
				continue
			}
			chance := v.Chance(above, below)
			if lowest, open := threshold.Below.Lowest(s.book, s.k); open {
				chance = v.ChanceUnder(lowest, *below)
			}
			s.claim(MeasuredFinding{
				Threshold: threshold.ID, Of: string(threshold.Of), Title: threshold.Title, Sign: threshold.Sign, Kind: threshold.Kind,
				Chance: chance, Past: s.thresholdText(threshold),
			}, v.Place, v.Pos)
		}
	}
}

// dropped says whether a threshold is a limit of the book that does not count
// beside the manual's figures.
func (s *reader) dropped(t *rules.Bound) bool {
	return t != nil && s.worked.Drops(t.Limit)
}

// threshold gives the figure of a threshold; ok is false when there is none
// although the sign asks for it.
func (s *reader) threshold(t *rules.Bound) (*float64, bool) {
	if t == nil {
		return nil, true
	}
	at, ok := t.In(s.book, s.k)
	return &at, ok
}

func (s *reader) exists(sign string) bool {
	return s.book.Signs.Get(sign).When.HoldsForPump(&s.k.Pump)
}

// thresholdText says what a sign is held against: "above 18 %, below 42 %;
// the rulebook's figure to weigh by, no limit".
func (s *reader) thresholdText(threshold *rules.Threshold) string {
	var figures, bases []string
	for _, side := range []struct {
		word string
		t    *rules.Bound
	}{{aboveWord, threshold.Above}, {belowWord, threshold.Below}} {
		if side.t == nil {
			continue
		}
		figure, basis := side.t.Text(s.book, s.k, threshold.Basis)
		figures = append(figures, side.word+figure)
		if !slices.Contains(bases, basis) {
			bases = append(bases, basis)
		}
	}
	return sides(figures, bases)
}

// records turns the records of changed parts into findings.
func (s *reader) records() {
	for _, part := range s.worked.Parts {
		life := s.book.Parts.Get(part.Part)
		if life.Sign == "" || !life.When.HoldsForPump(&s.k.Pump) || !s.exists(life.Sign) {
			continue
		}
		for i, r := range part.PerPlace {
			if r.Short == nil {
				continue
			}
			against := againstSisters
			if part.Expected != nil {
				against = againstExpected
			}
			s.claim(MeasuredFinding{
				Threshold: life.ID, Of: life.ID, Title: life.Title + lastsShort, Sign: life.Sign, Kind: life.Kind, Chance: *r.Short,
				Past: fmt.Sprintf(lifeBelow, against, life.Times),
			}, s.k.Pump.Places(life.Level)[i], s.recordPos(part.Part))
		}
	}
}

func (s *reader) recordPos(part string) source.Pos {
	i := slices.IndexFunc(s.k.Measured.PartRecords, func(r evidence.PartRecord) bool { return r.Part == part })
	if i < 0 {
		return source.Pos{}
	}
	return s.k.Measured.PartRecords[i].Pos
}

// stillOpen asks what stands open, where readings were taken that need it
// open and the case does not say that it is: what is forgotten is not closed.
func (s *reader) stillOpen() {
	var asked []evidence.At
	for _, c := range s.claims {
		for _, id := range s.book.Signs.Get(c.told.Sign).Openings {
			opening := s.book.Openings.Get(id)
			place := opening.Level.Of(c.told.Place)
			if Among(asked, id, place) || !opening.When.HoldsForPump(&s.k.Pump) || s.book.IsOpen(id, place, s.k.Pump.Open) {
				continue
			}
			asked = append(asked, evidence.At{ID: id, Place: place})
			s.worked.Missing = append(s.worked.Missing, fmt.Sprintf(stillOpen, Titled(opening.Title, place), "- "+id+": "+place.String()))
		}
	}
}

// claim notes one sign at one place, unless the crew has said it already.
func (s *reader) claim(f MeasuredFinding, place evidence.Place, pos source.Pos) {
	f.Place = place
	f.Counted = true
	for i := range s.k.Findings {
		said := &s.k.Findings[i]
		if said.Sign != f.Sign || !slices.Contains(said.Over, place) {
			continue
		}
		if said.Answer == evidence.Absent || len(said.Over) == 1 {
			f.leaveOut(crewSaysIt)
		}
		s.against(said, &f, place, pos)
	}
	answer := evidence.Absent
	if f.Chance >= 0.5 {
		answer = evidence.Present
	}
	s.claims = append(s.claims, claim{f, evidence.Finding{
		Sign: f.Sign, Answer: answer, Kind: f.Kind, At: place, Over: []evidence.Place{place}, Pos: pos,
		Measured: true, Chance: s.read(f.Chance),
	}})
}

// against refuses a reading that plainly says the opposite of the crew.
func (s *reader) against(said *evidence.Finding, f *MeasuredFinding, place evidence.Place, pos source.Pos) {
	sameKind := said.Kind == f.Kind || said.Kind == "" || f.Kind == ""
	switch {
	case said.Answer == evidence.Absent && f.Chance >= sureChance:
		s.problems.Add(said.Pos, source.Excludes, readingShows, Titled(said.Sign, place), pos.Line, f.Past, 100*f.Chance)
	case said.Answer == evidence.Present && len(said.Over) == 1 && said.Kind != "" && sameKind && f.Chance <= 1-sureChance:
		s.problems.Add(said.Pos, source.Excludes, readingAgainst, Titled(said.Sign, place), said.Kind, pos.Line, f.Past, 100*(1-f.Chance))
	}
}

// read lays the chance of a plainly wrong reading, which is as likely to fall
// on either side, over a probability.
func (s *reader) read(chance float64) float64 {
	m := s.book.Readings.Misread
	return m/2 + (1-m)*chance
}

// settle lets each sign at each place be weighed once. Where a kind is
// plain, it is weighed and not the sign without a kind; where only the
// sign is plain, it is weighed and not its doubtful kinds; and where any of
// it is there, nothing is weighed against its other kinds: low already says
// not high.
func (s *reader) settle() {
	for i := range s.claims {
		var group []*claim
		for j := range s.claims {
			if a, b := &s.claims[i].finding, &s.claims[j].finding; a.Sign == b.Sign && a.At == b.At {
				group = append(group, &s.claims[j])
			}
		}
		settleGroup(group)
	}
}

func settleGroup(group []*claim) {
	there, plainKind, without := false, false, false
	for _, c := range group {
		if c.finding.Answer != evidence.Present {
			continue
		}
		there = true
		without = without || c.told.Kind == ""
		plainKind = plainKind || c.told.Kind != "" && !inDoubt(c.told.Chance)
	}
	for _, c := range group {
		switch absent := c.finding.Answer == evidence.Absent; {
		case there && absent:
			c.told.leaveOut(otherKind)
		case plainKind && c.told.Kind == "":
			c.told.leaveOut(kindIsKnown)
		case without && !plainKind && c.told.Kind != "" && !absent:
			c.told.leaveOut(kindInDoubt)
		}
	}
}

func (f *MeasuredFinding) leaveOut(why string) {
	if f.Counted {
		f.Counted, f.Why = false, why
	}
}

// split gives the claims as they are told, and the case with those added that
// are counted.
func (s *reader) split() (*Measured, *evidence.Case) {
	told, out := &Measured{Figures: s.worked, Thresholds: []MeasuredFinding{}}, *s.k
	out.Findings = slices.Clone(s.k.Findings)
	for _, c := range s.claims {
		told.Thresholds = append(told.Thresholds, c.told)
		if c.told.Counted {
			out.Findings = append(out.Findings, c.finding)
		}
	}
	return told, &out
}
