package align

import (
	"math"

	"telltale/engine/measure"
)

// correct decides what to do about the lower guide.
func (j *job) correct() error {
	if j.mustWithhold() {
		j.out.Outcome = Withheld
		return nil
	}
	wanted, err := j.wanted()
	if err != nil {
		return err
	}
	if wanted.Equal && !wanted.Front.Differs(j.in.K) {
		j.none(WithinDoubt)
		return nil
	}
	most := math.Max(math.Abs(wanted.Front.Mean), math.Abs(wanted.Rear.Mean))
	if most < j.in.Leave {
		j.none(SmallEnough)
		return nil
	}
	if most < j.worthwhile() && j.in.Leave == 0 {
		j.none(BelowThinnest)
		return nil
	}
	j.out.Wanted = wanted
	j.out.Outcome = EqualShims
	switch {
	case !wanted.Equal:
		j.out.Outcome, j.out.AskEngineer = UnequalShims, true
	case wanted.Front.Mean < 0:
		j.out.Outcome = TakeOut
	}
	if math.Min(wanted.Front.Mean, wanted.Rear.Mean) <= -j.worthwhile() {
		j.note(ShimsToTakeOut, nowhere)
	}
	if j.in.CentreGuide {
		j.note(CentreGuideFirst, nowhere)
	}
	return j.choosePacks()
}

func (j *job) none(why Reason) {
	j.out.Outcome = NoneNeeded
	j.note(why, nowhere)
}

func (j *job) mustWithhold() bool {
	switch j.in.Parted {
	case Unknown:
		j.withhold(PartedUnknown, nowhere)
	case No:
		j.withhold(NotParted, nowhere)
	}
	switch j.in.Seated {
	case Unknown:
		j.withhold(SeatedUnknown, nowhere)
	case No:
		j.withhold(NotSeated, nowhere)
	}
	if j.planesWithHeight() == 0 {
		j.withhold(NoHeight, nowhere)
	}
	for i, p := range j.out.Planes {
		// Alone, a reading away from mid stroke also holds the change up to there.
		if heights := p.pick(height); j.out.Joint == nil && count(heights) == 1 && heights[Middle] == nil {
			j.withhold(MiddleNotTaken, place{i, -1})
		}
	}
	return j.withheld
}

// wanted is the lift that the readings support. Only a tilt that is real, seen by a second
// plane or a level, gives unequal shims: they make the guide true. Where the rod is out of
// square with a guide without tilt, equal shims bring the guide to height, and the rod is
// left for repair. Otherwise equal shims centre the rod on average.
func (j *job) wanted() (*Shims, error) {
	g := j.out.Joint
	if g != nil && g.Tilts {
		if g.GuideTrue != nil {
			return g.GuideTrue, nil
		}
		j.ask(TiltNoSupports, nowhere)
	}
	find := j.meanHeight
	if g != nil && g.Skew && !g.Tilts {
		find = j.guideHeight
	}
	h, err := find()
	if err != nil {
		return nil, err
	}
	t := h.Times(-1)
	return &Shims{Front: t, Rear: t, Cov: t.U * t.U, Equal: true}, nil
}

// worthwhile is the least lift for which the thinnest shim does good: half of it. Below
// that the rod is nearer to its place without the shim. Without stock it is 0.
func (j *job) worthwhile() float64 {
	thinnest := 0.0
	for _, s := range j.in.Stock {
		if t := s.thickness().Mean; thinnest == 0 || t < thinnest {
			thinnest = t
		}
	}
	return thinnest / 2
}

// choosePacks picks the lower guide's packs; an end that is lowered or left gets none.
func (j *job) choosePacks() error {
	if len(j.in.Stock) == 0 {
		j.note(NoPack, nowhere)
		return nil
	}
	wants, ends := j.wants()
	if len(wants) == 0 {
		return nil
	}
	if w := j.out.Wanted; math.Max(w.Front.Mean, w.Rear.Mean) < j.worthwhile() {
		j.note(PackOff, nowhere) // no shim is nearer than the thinnest one
		return nil
	}
	packs, err := Packs(j.in.Stock, wants, j.in.MaxPieces)
	if err != nil {
		return err
	}
	j.out.Packs = &Packed{}
	off := false
	for i := range packs {
		off = off || beyond(math.Abs(packs[i].Error), j.worthwhile())
		for _, end := range ends[i] {
			*j.out.Packs.end(end) = &packs[i]
		}
	}
	if off {
		j.note(PackOff, nowhere)
	}
	return nil
}

func (p *Packed) end(front bool) **Pack {
	if front {
		return &p.Front
	}
	return &p.Rear
}

// wants are the packs to look for and, for each, the ends it goes to (true is the front).
func (j *job) wants() (wants []Want, ends [][]bool) {
	w := j.out.Wanted
	if w.Equal {
		if w.Front.Mean > 0 {
			return []Want{{w.Front.Mean, 2}}, [][]bool{{true, false}}
		}
		return nil, nil
	}
	for _, front := range []bool{true, false} {
		if t := w.end(front).Mean; t > 0 && t >= j.worthwhile() {
			wants, ends = append(wants, Want{t, 1}), append(ends, []bool{front})
		}
	}
	return wants, ends
}

func (s *Shims) end(front bool) measure.Value {
	if front {
		return s.Front
	}
	return s.Rear
}
