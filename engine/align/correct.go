package align

import (
	"math"
	"slices"

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
		aside := slices.ContainsFunc(p.Positions, func(p Position) bool { return p.Height != nil && p.Name != Middle })
		if j.out.Guide == nil && aside && count(p.Positions, height) == 1 {
			j.withhold(MiddleNotTaken, place{i, ""})
		}
	}
	return j.withheld
}

// wanted is the lift that the readings support. Only a tilt that is real, seen by a second
// plane or a level, gives unequal shims: they make the guide true. Where the rod is out of
// square with a guide without tilt, equal shims bring the guide to height, and the rod is
// left for repair. Otherwise equal shims centre the rod on average.
func (j *job) wanted() (*Ends, error) {
	g := j.out.Guide
	if g != nil && g.Slopes {
		if g.GuideTrue != nil {
			return g.GuideTrue, nil
		}
		j.ask(TiltNoSupports, nowhere)
	}
	find := j.meanHeight
	if g != nil && g.Skewed && !g.Slopes {
		find = j.guideHeight
	}
	h, err := find()
	if err != nil {
		return nil, err
	}
	t := h.Times(-1)
	return &Ends{Front: t, Rear: t, Equal: true}, nil
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
	wants, where := j.wants()
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
	j.out.Packs = packs
	for i := range packs {
		packs[i].Where = where[i]
		if beyond(math.Abs(packs[i].Off), j.worthwhile()) {
			j.note(PackOff, nowhere)
		}
	}
	return nil
}

// wants are the packs to look for and where each goes.
func (j *job) wants() (wants []Want, where []string) {
	w := j.out.Wanted
	if w.Equal {
		if w.Front.Mean > 0 {
			return []Want{{w.Front.Mean, 2}}, []string{UnderBoth}
		}
		return nil, nil
	}
	for _, end := range []string{UnderFront, UnderRear} {
		if t := w.at(end).Mean; t > 0 && t >= j.worthwhile() {
			wants, where = append(wants, Want{t, 1}), append(where, end)
		}
	}
	return wants, where
}

// at is the thickness at an end.
func (e *Ends) at(where string) measure.Value {
	if where == UnderFront {
		return e.Front
	}
	return e.Rear
}
