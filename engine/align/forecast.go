package align

import (
	"math"

	"telltale/engine/measure"
)

// forecast says what the correction will do, before anyone lifts, and stops it where it
// would do harm.
func (j *job) forecast() error {
	if j.out.Outcome == Withheld {
		return nil
	}
	lift := j.lift()
	j.out.After = &After{}
	touches := false
	for i, p := range j.out.Planes {
		after := forecastPlane(j.in.Planes[i], p, lift.at(j.in.Planes[i].At))
		for _, place := range after.Positions {
			touches = touches || place != nil && (place.Top.Mean <= 0 || place.Bottom.Mean <= 0)
		}
		j.out.After.Planes = append(j.out.After.Planes, after)
	}
	spots, err := j.forecastSpots(lift)
	if err != nil {
		return err
	}
	j.out.After.Upper = spots
	raises := j.out.Outcome == EqualShims || j.out.Outcome == UnequalShims
	if raises {
		j.noteUnmeasured()
	}
	under, over := j.noteSpots(spots)
	if raises && touches {
		j.ask(RodWouldTouch, nowhere)
	}
	if raises && (under || touches) {
		j.stop(spots)
		return nil
	}
	j.out.AskEngineer = j.out.AskEngineer || under
	if over && !under {
		return j.forecastUpper(spots)
	}
	return nil
}

// lifts is what is really put under the two ends.
type lifts struct {
	front, rear measure.Value
	equal       bool
	supports    *Supports
}

// lift takes the packs; where there are none, the thickness wanted as if it were exact.
func (j *job) lift() lifts {
	l := lifts{equal: true, supports: j.in.Supports}
	if j.out.Wanted == nil {
		return l
	}
	l.equal = j.out.Wanted.Equal
	l.front, l.rear = j.liftOf(true), j.liftOf(false)
	return l
}

func (j *job) liftOf(front bool) measure.Value {
	if j.out.Packs != nil {
		if p := *j.out.Packs.end(front); p != nil {
			return p.Thickness
		}
	}
	t := j.out.Wanted.end(front).Mean
	if math.Abs(t) < j.worthwhile() {
		t = 0
	}
	return measure.Value{Mean: t}
}

// at is the lift at x. Equal lifts need neither x nor supports, but with them the doubt
// of each pack counts by its lever. A place not known, between unequal lifts, takes their
// mean and an even spread from one to the other.
func (l lifts) at(x *float64) measure.Value {
	if x != nil && l.supports != nil {
		share := (*x - l.supports.Rear) / (l.supports.Front - l.supports.Rear)
		t := l.front.Times(share).Plus(l.rear.Times(1 - share))
		if l.equal {
			t.Mean = l.front.Mean // free of rounding
		}
		return t
	}
	if l.equal {
		return l.front
	}
	t := measure.Value{Mean: (l.front.Mean + l.rear.Mean) / 2, U: math.Max(l.front.U, l.rear.U)}
	t.U = math.Hypot(t.U, (l.front.Mean-l.rear.Mean)/math.Sqrt(12))
	return t
}

func forecastPlane(p Plane, r PlaneResult, lift measure.Value) AfterPlane {
	var out AfterPlane
	if r.Height != nil {
		mean := r.Height.Mean.Plus(lift)
		out.Mean = &mean
	}
	for i, place := range r.Positions {
		if place == nil || place.Height == nil {
			continue
		}
		reading := p.Readings[i]
		out.Positions[i] = &AfterPlace{
			Height: place.Height.Plus(lift),
			Top:    reading.Top.Minus(lift),
			Bottom: reading.Bottom.Plus(lift),
			Left:   reading.Left,
			Right:  reading.Right,
		}
	}
	return out
}

func (j *job) forecastSpots(lift lifts) ([]AfterSpot, error) {
	var out []AfterSpot
	for _, s := range j.in.Upper {
		after, err := j.judge(s.Name, s.Clearance.Minus(lift.at(s.Along)))
		if err != nil {
			return nil, err
		}
		out = append(out, after)
	}
	return out, nil
}

func (j *job) judge(name string, clearance measure.Value) (AfterSpot, error) {
	verdict, err := measure.Judge(clearance, j.in.UpperLimits, j.in.Guard)
	return AfterSpot{Name: name, Clearance: clearance, Verdict: verdict}, err
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
func (j *job) noteSpots(spots []AfterSpot) (under, over bool) {
	for _, s := range spots {
		switch s.Verdict.Stand {
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
func (j *job) stop(spots []AfterSpot) {
	j.out.Outcome, j.out.Packs, j.out.AskEngineer = StopAndAsk, nil, true
	least := j.in.UpperLimits.Least
	if least == nil {
		return
	}
	for _, s := range spots {
		by := measure.Value{Mean: *least - s.Clearance.Mean, U: s.Clearance.U}
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
func (j *job) forecastUpper(spots []AfterSpot) error {
	if j.in.UpperLimits.Least == nil {
		j.note(LimitsNotKnown, nowhere)
		return nil
	}
	u := &Upper{}
	u.Least, u.Most = j.upperRange(spots, 0)
	j.out.Upper = u
	if u.Least > u.Most {
		j.ask(UpperSpread, nowhere)
		return nil
	}
	aim := (u.Least + u.Most) / 2
	if lo, hi := j.upperRange(spots, j.in.Guard); lo <= hi {
		u.Guarded, aim = true, (lo+hi)/2
	}
	u.Wanted = &aim
	return j.packUpper(spots)
}

func (j *job) upperRange(spots []AfterSpot, guard float64) (lo, hi float64) {
	lo, hi = math.Inf(-1), math.Inf(1)
	for _, s := range spots {
		band := guard * s.Clearance.U
		lo = math.Max(lo, s.Clearance.Mean+band-*j.in.UpperLimits.Most)
		hi = math.Min(hi, s.Clearance.Mean-band-*j.in.UpperLimits.Least)
	}
	return lo, hi
}

// packUpper takes, from what the lower guide left in stock, the pack nearest to the
// middle of the range, two alike for the two ends.
func (j *job) packUpper(spots []AfterSpot) error {
	u := j.out.Upper
	stock, index := j.stockLeft()
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
	for i, piece := range pack.Pieces {
		pack.Pieces[i] = index[piece]
	}
	u.Pack, u.Guarded = &pack, true
	for _, s := range spots {
		after, err := j.judge(s.Name, s.Clearance.Minus(pack.Thickness))
		if err != nil {
			return err
		}
		u.Guarded = u.Guarded && after.Verdict.Stand == measure.Inside
		u.After = append(u.After, after)
	}
	return nil
}

// stockLeft is the stock less what the lower guide takes, and where each stood in Stock.
func (j *job) stockLeft() (stock []Shim, index []int) {
	used := make([]int, len(j.in.Stock))
	if p := j.out.Packs; p != nil {
		for _, pack := range []*Pack{p.Front, p.Rear} {
			if pack == nil {
				continue
			}
			for _, piece := range pack.Pieces {
				used[piece]++
			}
		}
	}
	for i, s := range j.in.Stock {
		if s.Count > 0 {
			s.Count -= used[i]
			if s.Count == 0 {
				continue // 0 would mean as many as wanted
			}
		}
		stock, index = append(stock, s), append(index, i)
	}
	return stock, index
}
