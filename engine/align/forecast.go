package align

import (
	"math"

	"telltale/engine/measure"
)

// readUpper says where every spot of the upper guide stands as it is.
func (j *job) readUpper() (err error) {
	j.out.Upper, err = JudgeUpper(j.in.Upper, j.in.UpperLimits, j.in.Guard)
	return err
}

// JudgeUpper gives the spots with where each stands against the limits, keeping a guard
// band of so many uncertainties.
func JudgeUpper(spots []Spot, limits measure.Limits, guard float64) ([]Spot, error) {
	out := append([]Spot{}, spots...)
	for i := range out {
		s := &out[i]
		v, err := measure.Judge(s.Length, limits, guard)
		if err != nil {
			return nil, err
		}
		s.Stand, s.Inside, s.Under = string(v.Stand), v.Inside, v.Below
	}
	return out, nil
}

// forecast says what the correction will do, before anyone lifts, and stops it where it
// would do harm.
func (j *job) forecast() error {
	if j.out.Outcome == Withheld {
		return nil
	}
	lift := j.lift()
	touches := false
	for i := range j.out.Planes {
		p := &j.out.Planes[i]
		p.after(lift.along(p.At, j.in.Supports))
		for _, at := range p.Positions {
			touches = touches || at.After != nil && (at.After.Top.Mean <= 0 || at.After.Bottom.Mean <= 0)
		}
	}
	for i := range j.out.Upper {
		s := &j.out.Upper[i]
		after := s.Minus(lift.along(s.Along, j.in.Supports))
		v, err := measure.Judge(after, j.in.UpperLimits, j.in.Guard)
		if err != nil {
			return err
		}
		s.After, s.AfterStand, s.AfterInside, s.AfterUnder = &after, string(v.Stand), v.Inside, v.Below
	}
	raises := j.out.Outcome == EqualShims || j.out.Outcome == UnequalShims
	if raises {
		j.noteUnmeasured()
	}
	under, over := j.noteSpots()
	if raises && touches {
		j.ask(RodWouldTouch, nowhere)
	}
	if raises && (under || touches) {
		j.stop()
		return nil
	}
	j.out.AskEngineer = j.out.AskEngineer || under
	if over && !under {
		return j.forecastUpper()
	}
	return nil
}

// lift is what is really put under the two ends: the packs, or where there are none, the
// thickness wanted as if it were exact.
func (j *job) lift() Ends {
	if j.out.Wanted == nil {
		return Ends{Equal: true}
	}
	return Ends{Front: j.liftOf(UnderFront), Rear: j.liftOf(UnderRear), Equal: j.out.Wanted.Equal}
}

func (j *job) liftOf(end string) measure.Value {
	for _, p := range j.out.Packs {
		if p.Where == end || p.Where == UnderBoth {
			return p.Thickness
		}
	}
	t := j.out.Wanted.at(end).Mean
	if math.Abs(t) < j.worthwhile() {
		t = 0
	}
	return measure.Value{Mean: t}
}

// along is a lift at x. Equal lifts need neither x nor supports, but with them the doubt
// of each pack counts by its lever. A place not known, between unequal lifts, takes their
// mean and an even spread from one to the other.
func (e *Ends) along(x *float64, s *Supports) measure.Value {
	if x != nil && s != nil {
		share := (*x - s.Rear) / (s.Front - s.Rear)
		t := e.Front.Times(share).Plus(e.Rear.Times(1 - share))
		if e.Equal {
			t.Mean = e.Front.Mean // free of rounding
		}
		return t
	}
	if e.Equal {
		return e.Front
	}
	u := math.Hypot(math.Max(e.Front.U, e.Rear.U), (e.Front.Mean-e.Rear.Mean)/math.Sqrt(12))
	return measure.Value{Mean: (e.Front.Mean + e.Rear.Mean) / 2, U: u}
}

// after puts what is foreseen to a plane.
func (p *Plane) after(lift measure.Value) {
	if p.Height != nil {
		rests := p.Height.Mean.Plus(lift)
		p.Rests = &rests
	}
	for i := range p.Positions {
		if at := &p.Positions[i]; at.Height != nil {
			at.After = &Clearing{Top: at.Top.Minus(lift), Bottom: at.Bottom.Plus(lift), Height: at.Height.Plus(lift)}
		}
	}
}

func (j *job) noteUnmeasured() {
	if len(j.in.Upper) == 0 {
		j.note(UpperNotMeasured, nowhere)
	}
	if j.in.UpperLimits.Least == nil {
		j.note(LimitsNotKnown, nowhere)
	}
}

// noteSpots says which spots are past a limit by their best estimate, and which are so
// near that the guard band is not kept.
func (j *job) noteSpots() (under, over bool) {
	for _, s := range j.out.Upper {
		switch measure.Stand(s.AfterStand) {
		case measure.Under, measure.DoubtUnder:
			j.noteSpot(UpperUnder, s.Name)
			under = true
		case measure.Over, measure.DoubtOver:
			j.noteSpot(UpperOver, s.Name)
			over = true
		case measure.DoubtInside:
			j.noteSpot(UpperInDoubt, s.Name)
		}
	}
	return under, over
}

// stop turns the outcome: nothing is to be put in.
func (j *job) stop() {
	j.out.Outcome, j.out.Packs, j.out.AskEngineer = StopAndAsk, []Pack{}, true
	least := j.in.UpperLimits.Least
	if least == nil {
		return
	}
	for _, s := range j.out.Upper {
		by := measure.Value{Mean: *least - s.After.Mean, U: s.After.U}
		if by.Mean > 0 && (j.out.Short == nil || by.Mean > j.out.Short.By.Mean) {
			j.out.Short = &Short{Spot: s.Name, By: by}
		}
	}
}

// forecastUpper finds shims for above the upper guide. A shim t there takes t from every
// clearance c, so least <= c - t <= most at every spot asks for
//
//	largest c - most <= t <= smallest c - least
//
// and the guard band narrows that from both ends. Without a least there is no saying how
// far to go, so nothing is offered.
func (j *job) forecastUpper() error {
	if j.in.UpperLimits.Least == nil {
		j.note(LimitsNotKnown, nowhere)
		return nil
	}
	u := &UpperFix{}
	u.Least, u.Most = j.upperRange(0)
	j.out.UpperFix = u
	if u.Least > u.Most {
		j.ask(UpperSpread, nowhere)
		return nil
	}
	aim := (u.Least + u.Most) / 2
	if lo, hi := j.upperRange(j.in.Guard); lo <= hi {
		aim = (lo + hi) / 2
	}
	u.Wanted = &aim
	return j.packUpper()
}

func (j *job) upperRange(guard float64) (lo, hi float64) {
	lo, hi = math.Inf(-1), math.Inf(1)
	for _, s := range j.out.Upper {
		band := guard * s.After.U
		lo = math.Max(lo, s.After.Mean+band-*j.in.UpperLimits.Most)
		hi = math.Min(hi, s.After.Mean-band-*j.in.UpperLimits.Least)
	}
	return lo, hi
}

// packUpper takes, from what the lower guide left in stock, the pack nearest to the
// middle of the range, two alike for the two ends.
func (j *job) packUpper() error {
	u := j.out.UpperFix
	stock := j.stockLeft()
	if len(stock) == 0 {
		j.note(UpperNoPack, nowhere)
		return nil
	}
	packs, err := Packs(stock, []Want{{*u.Wanted, 2}}, j.in.MaxPieces)
	if err != nil {
		return err
	}
	pack := packs[0]
	if beyond(u.Least, pack.Thickness.Mean) || beyond(pack.Thickness.Mean, u.Most) {
		j.note(UpperNoPack, nowhere)
		return nil
	}
	pack.Where, u.Pack = AboveBoth, &pack
	for i := range j.out.Upper {
		both := j.out.Upper[i].After.Minus(pack.Thickness)
		j.out.Upper[i].AfterBoth = &both
	}
	return nil
}

// stockLeft is the stock less what the lower guide takes.
func (j *job) stockLeft() []Shim {
	used := make([]int, len(j.in.Stock))
	for _, p := range j.out.Packs {
		for _, i := range p.shims {
			used[i]++
			if p.Where == UnderBoth {
				used[i]++
			}
		}
	}
	var stock []Shim
	for i, s := range j.in.Stock {
		if s.Count > 0 {
			s.Count -= used[i]
			if s.Count == 0 {
				continue // 0 would mean as many as wanted
			}
		}
		stock = append(stock, s)
	}
	return stock
}
