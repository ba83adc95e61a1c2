package engine

import (
	"fmt"
	"slices"
	"strings"

	"telltale/engine/figures"
	"telltale/engine/noisyor"
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

// Measure works out the readings of a case alone, without weighing causes: the
// Report holds the pump, the stop conditions and what was measured. The errors
// are those of Diagnose that readings can give.
func Measure(book *rules.Book, k *evidence.Case) (*Report, error) {
	measured, withFindings, err := measure(book, k)
	if err != nil {
		return readingsExclude(book, measured, withFindings, k), err
	}
	m := newModel(book, withFindings).saying(k)
	r := m.header(measured.Ratings)
	r.Measured = measured
	stops := m.addStops(r)
	r.Haste = m.hasteOfStops(stops)
	if r.LeavePump {
		return r, nil
	}
	var s noisyor.Solver
	w, err := m.posterior(&s)
	if err != nil {
		return r, nil // the readings speak for themselves; the rest cannot be weighed
	}
	r.Haste, err = m.haste(&s, w, stops, nil)
	return r, err
}

// readingsExclude is the report where readings and the crew's word exclude
// each other: the stops that hold by the crew's word and by the ratings.
func readingsExclude(book *rules.Book, measured *MeasuredReport, k, said *evidence.Case) *Report {
	m := newModel(book, k).saying(said)
	r := m.header(measured.Ratings)
	r.Haste = m.hasteOfStops(m.addStops(r))
	return r
}

// measure gives what the readings came to, and the case with its readings
// turned into findings and the ratings that it is past. With an error it gives
// the ratings alone. What was taken beside moving parts is not in it.
func measure(book *rules.Book, k *evidence.Case) (*MeasuredReport, *evidence.Case, error) {
	k = weighable(book, k)
	worked, err := figures.Work(book, k)
	if err != nil {
		worked = &figures.Figures{Ratings: figures.Ratings(book, k, nil)}
		return &MeasuredReport{Figures: worked}, withPast(k, worked.Ratings), err
	}
	k = withPast(k, worked.Ratings)
	s := signReader{book: book, k: k, worked: worked, found: []MeasuredFinding{}}
	s.problems.In(k.Text)
	s.measured()
	s.ratings()
	s.records()
	if err := s.problems.Err(); err != nil {
		return &MeasuredReport{Figures: worked}, k, err
	}
	s.stillOpen()
	s.settle()
	fillAdvice(&model{book: book, k: k}, worked)
	return &MeasuredReport{Figures: worked, Thresholds: s.found}, s.apply(), nil
}

// fillAdvice puts the manual's figures into the words of the advice.
func fillAdvice(m *model, worked *figures.Figures) {
	if t := worked.Tank; t != nil && t.Advice != nil {
		t.Advice.Title, t.Advice.Do = m.fill(t.Advice.Title), m.fillAll(t.Advice.Do)
	}
	m.fillNotes(worked.Cautions)
	for i := range worked.Centring {
		c := &worked.Centring[i]
		c.Title, c.Do = m.fill(c.Title), m.fillAll(c.Do)
		m.fillNotes(c.Notes)
		for _, p := range c.Procedures {
			m.fillSteps(p.Steps)
		}
	}
}

func (m *model) fillSteps(steps []figures.Step) {
	for i := range steps {
		s := &steps[i]
		s.Title, s.Do, s.Caution = m.fill(s.Title), m.fill(s.Do), m.fill(s.Caution)
	}
}

func (m *model) fillNotes(notes []figures.Note) {
	for i := range notes {
		notes[i].Title, notes[i].Do = m.fill(notes[i].Title), m.fillAll(notes[i].Do)
	}
}

type signReader struct {
	book     *rules.Book
	k        *evidence.Case
	worked   *figures.Figures
	found    []MeasuredFinding
	claims   []evidence.Finding // aligned with found
	problems source.Problems
}

func (s *signReader) measured() {
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
				s.worked.Missing = append(s.worked.Missing, fmt.Sprintf("%s%s: no figure to judge by; give this pump's own under manual:", threshold.Title, placesText([]evidence.Place{v.Place})))
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
func (s *signReader) dropped(t *rules.Bound) bool {
	return t != nil && s.worked.Drops(t.Limit)
}

// threshold gives the figure of a threshold; ok is false when there is none
// although the sign asks for it.
func (s *signReader) threshold(t *rules.Bound) (*float64, bool) {
	if t == nil {
		return nil, true
	}
	at, ok := t.In(s.book, s.k)
	return &at, ok
}

func (s *signReader) exists(sign string) bool {
	return s.book.Signs.Get(sign).When.HoldsForPump(&s.k.Pump)
}

// thresholdText says what a sign is held against: "above 18 %, below 42 %;
// the rulebook's figure to weigh by, no limit".
func (s *signReader) thresholdText(threshold *rules.Threshold) string {
	var figures, bases []string
	for _, side := range []struct {
		word string
		t    *rules.Bound
	}{{"above", threshold.Above}, {"below", threshold.Below}} {
		if side.t == nil {
			continue
		}
		figure, basis := side.t.Text(s.book, s.k, threshold.Basis)
		figures = append(figures, side.word+" "+figure)
		if !slices.Contains(bases, basis) {
			bases = append(bases, basis)
		}
	}
	return strings.Join(figures, ", ") + "; " + strings.Join(bases, "; ")
}

// records turns the records of changed parts into findings.
func (s *signReader) records() {
	for _, part := range s.worked.Parts {
		life := s.book.Parts.Get(part.Part)
		if life.Sign == "" || !life.When.HoldsForPump(&s.k.Pump) || !s.exists(life.Sign) {
			continue
		}
		for i, r := range part.PerPlace {
			if r.Short == nil {
				continue
			}
			against := "the sisters' mean life"
			if part.Expected != nil {
				against = "the expected life"
			}
			s.claim(MeasuredFinding{
				Threshold: life.ID, Of: life.ID, Title: life.Title + " lasts too short", Sign: life.Sign, Kind: life.Kind, Chance: *r.Short,
				Past: fmt.Sprintf("mean life below %s over %g", against, life.Times),
			}, s.k.Pump.Places(life.Level)[i], s.recordPos(part.Part))
		}
	}
}

func (s *signReader) recordPos(part string) source.Pos {
	for _, rec := range s.k.Measured.PartRecords {
		if rec.Part == part {
			return rec.Pos
		}
	}
	return source.Pos{}
}

// stillOpen asks what stands open, where readings were taken that need it
// open and the case does not say that it is: what is forgotten is not closed.
func (s *signReader) stillOpen() {
	asked := map[string]bool{}
	for _, c := range s.claims {
		for _, id := range s.book.Signs.Get(c.Sign).Openings {
			opening := s.book.Openings.Get(id)
			place := placeAt(opening.Level, c.At)
			key := id + "\x00" + place.String()
			if asked[key] || !opening.When.HoldsForPump(&s.k.Pump) || s.book.IsOpen(id, place, s.k.Pump.Open) {
				continue
			}
			asked[key] = true
			s.worked.Missing = append(s.worked.Missing, fmt.Sprintf("%s: readings were taken that need this done, but open: does not say so. If it still stands so, write %q under open:, or it will not be closed in the list", titledAt(opening.Title, place), "- "+id+": "+place.String()))
		}
	}
}

func titledAt(title string, place evidence.Place) string {
	return title + placesText([]evidence.Place{place})
}

// claim notes one sign at one place, unless the crew has said it already.
func (s *signReader) claim(f MeasuredFinding, place evidence.Place, pos source.Pos) {
	f.Place = place
	f.Counted = true
	for i := range s.k.Findings {
		said := &s.k.Findings[i]
		if said.Sign != f.Sign || !covers(said.Over, place) {
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
	s.found = append(s.found, f)
	s.claims = append(s.claims, evidence.Finding{
		Sign: f.Sign, Answer: answer, Kind: f.Kind, At: place, Over: []evidence.Place{place}, Pos: pos,
		Measured: true, Chance: s.read(f.Chance),
	})
}

// against refuses a reading that plainly says the opposite of the crew.
func (s *signReader) against(said *evidence.Finding, f *MeasuredFinding, place evidence.Place, pos source.Pos) {
	sameKind := said.Kind == f.Kind || said.Kind == "" || f.Kind == ""
	switch {
	case said.Answer == evidence.Absent && f.Chance >= sureChance:
		s.problems.Add(said.Pos, source.Excludes, "%s%s is absent here, but the readings at line %d show it (%s, %.0f %%); keep one", said.Sign, placesText([]evidence.Place{place}), pos.Line, f.Past, 100*f.Chance)
	case said.Answer == evidence.Present && len(said.Over) == 1 && said.Kind != "" && sameKind && f.Chance <= 1-sureChance:
		s.problems.Add(said.Pos, source.Excludes, "%s%s is %s here, but the readings at line %d speak against it (not %s, %.0f %%); keep one", said.Sign, placesText([]evidence.Place{place}), said.Kind, pos.Line, f.Past, 100*(1-f.Chance))
	}
}

func covers(over []evidence.Place, place evidence.Place) bool {
	for _, p := range over {
		if p == place {
			return true
		}
	}
	return false
}

// read lays the chance of a plainly wrong reading, which is as likely to fall
// on either side, over a probability.
func (s *signReader) read(chance float64) float64 {
	m := s.book.Readings.Misread
	return m/2 + (1-m)*chance
}

// Why a sign is not weighed.
const (
	crewSaysIt  = "the crew's own word on it is weighed"
	otherKind   = "another kind is there"
	kindIsKnown = "a reading tells its kind"
	kindInDoubt = "its kind is in doubt, so it is weighed without one"
)

// settle lets each sign at each place be weighed once. Where a kind is
// plain, it is weighed and not the sign without a kind; where only the
// sign is plain, it is weighed and not its doubtful kinds; and where any of
// it is there, nothing is weighed against its other kinds: low already says
// not high.
func (s *signReader) settle() {
	groups := map[string][]int{}
	var keys []string
	for i, c := range s.claims {
		key := c.Sign + "\x00" + c.At.String()
		if groups[key] == nil {
			keys = append(keys, key)
		}
		groups[key] = append(groups[key], i)
	}
	for _, key := range keys {
		s.settleGroup(groups[key])
	}
}

func (s *signReader) settleGroup(group []int) {
	there, plainKind, without := false, false, false
	for _, i := range group {
		c := &s.claims[i]
		if c.Answer != evidence.Present {
			continue
		}
		there = true
		without = without || c.Kind == ""
		plainKind = plainKind || c.Kind != "" && !inDoubt(s.found[i].Chance)
	}
	for _, i := range group {
		c, f := &s.claims[i], &s.found[i]
		switch {
		case there && c.Answer == evidence.Absent:
			f.leaveOut(otherKind)
		case plainKind && c.Kind == "":
			f.leaveOut(kindIsKnown)
		case without && !plainKind && c.Kind != "" && c.Answer == evidence.Present:
			f.leaveOut(kindInDoubt)
		}
	}
}

func (f *MeasuredFinding) leaveOut(why string) {
	if f.Counted {
		f.Counted, f.Why = false, why
	}
}

// apply gives the case with the counted claims added.
func (s *signReader) apply() *evidence.Case {
	out := *s.k
	out.Findings = append([]evidence.Finding{}, s.k.Findings...)
	for i, c := range s.claims {
		if s.found[i].Counted {
			out.Findings = append(out.Findings, c)
		}
	}
	return &out
}

// observeMeasured turns a finding from readings into an observation of its one
// kind: a source that shows another kind says nothing about it. A chance of
// one half or more is virtual evidence. Below that each source that would
// show the kind goes unseen with the odds of the chance, which is the same
// for one source and keeps the sum of several exact to compute.
func (m *model) observeMeasured(u *unit, f evidence.Finding) {
	o := oneKind(m.observe(u.sign, f.Kind, f.Over))
	if f.Answer == evidence.Present {
		o.Doubt = (1 - f.Chance) / f.Chance
		u.present = append(u.present, o)
		return
	}
	unseen := f.Chance / (1 - f.Chance)
	o.Background = thinned(o.Background, unseen)
	for i := range o.Links {
		o.Links[i].Yield = thinned(o.Links[i].Yield, unseen)
	}
	u.absent = append(u.absent, o)
}

// oneKind moves what would contradict to what says nothing.
func oneKind(o noisyor.Observation) noisyor.Observation {
	o.Background.No = 1 - o.Background.Yes
	for i := range o.Links {
		o.Links[i].No = 1 - o.Links[i].Yes
	}
	return o
}

func thinned(y noisyor.Yield, unseen float64) noisyor.Yield {
	return noisyor.Yield{Yes: y.Yes * (1 - unseen), No: y.No + unseen*y.Yes}
}
