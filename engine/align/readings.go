package align

import (
	"math"
	"slices"

	"telltale/engine/measure"
)

// readPlanes works out height, side and sums at each place, tests the readings against
// each other and fits each plane's trends.
func (j *job) readPlanes() error {
	for i, p := range j.in.Planes {
		p = Plane{At: p.At, AtU: p.AtU, Positions: append([]Position{}, p.Positions...)}
		for n := range p.Positions {
			j.readPlace(&p.Positions[n], i)
		}
		j.checkSums(p.Positions, i)
		var err error
		if p.Height, err = j.trend(p.Positions, height); err != nil {
			return err
		}
		if p.Side, err = j.trend(p.Positions, side); err != nil {
			return err
		}
		j.noteTrends(&p, i)
		j.out.Planes = append(j.out.Planes, p)
	}
	return nil
}

// What is taken from a place.
func height(p *Position) *measure.Value  { return p.Height }
func side(p *Position) *measure.Value    { return p.Side }
func sumUp(p *Position) *measure.Value   { return p.Sum }
func sumSide(p *Position) *measure.Value { return p.sumSide }

func (j *job) readPlace(p *Position, plane int) {
	p.Height, p.Sum = halfAndSum(p.Bottom, p.Top)
	p.Side, p.sumSide = halfAndSum(p.Left, p.Right)
	if (p.Top == nil) != (p.Bottom == nil) {
		j.note(OnlyOneSide, place{plane, p.Name})
	}
	// A clearance that may be nothing: the opening may be holding the rod, and then the
	// height is that of the opening.
	if slices.ContainsFunc(p.sides(), func(v *measure.Value) bool { return !beyond(v.Mean, v.HalfWidth()) }) {
		j.withhold(RodTouches, place{plane, p.Name})
	}
}

// halfAndSum is half of plus less minus, and their sum. A common error of the gauge
// cancels in the first and counts twice in the second.
func halfAndSum(plus, minus *measure.Value) (half, sum *measure.Value) {
	if plus == nil || minus == nil {
		return nil, nil
	}
	h, s := plus.Minus(*minus).Times(0.5), plus.Plus(*minus)
	return &h, &s
}

// beyond says whether x exceeds the bound by more than rounding of the sums.
func beyond(x, bound float64) bool { return x > bound*(1+1e-9)+finest }

// sumBound is by how much two sums of n readings in all may differ before something else
// than the resolution of the readings is at work. Two readings of one gap, each rounded
// to a step, can differ by a whole step; so the bound is never less than the half widths
// of all n readings together, whatever K is. Readings in one sum have about equal U, so a
// sum's half widths add to sqrt(2) times the half width of its U, or less.
func (j *job) sumBound(a, b measure.Value) float64 {
	return math.Max(j.in.K*math.Hypot(a.U, b.U), math.Sqrt2*(a.HalfWidth()+b.HalfWidth()))
}

// real says whether a difference made of these heights is beyond K of its uncertainties
// and beyond what rounding of all the readings can do together (see sumBound; a height is
// half of a difference of two readings).
func (j *job) real(difference measure.Value, heights ...measure.Value) bool {
	rounding := 0.0
	for _, h := range heights {
		rounding += math.Sqrt2 * h.HalfWidth()
	}
	return beyond(math.Abs(difference.Mean), math.Max(j.in.K*difference.U, rounding))
}

func (j *job) differ(a, b measure.Value) bool {
	return beyond(math.Abs(a.Mean-b.Mean), j.sumBound(a, b))
}

// checkSums tests what does not depend on where the rod lies: Top + Bottom is opening
// less rod at every position, and so is Left + Right.
func (j *job) checkSums(positions []Position, plane int) {
	for _, p := range j.suspects(positions, sumUp) {
		p.Suspect = true
		j.withhold(SumsDisagree, place{plane, p.Name})
	}
	for _, p := range j.suspects(positions, sumSide) {
		p.Suspect = true
		j.note(SideSumsDisagree, place{plane, p.Name})
	}
	alone := count(positions, sumUp) == 1
	for i := range positions {
		p := &positions[i]
		if p.Sum == nil {
			continue
		}
		if p.sumSide != nil && j.differ(*p.Sum, *p.sumSide) {
			j.note(SumsDiffer, place{plane, p.Name})
			// With one position this is all that can show a blunder.
			p.Suspect = p.Suspect || alone
			j.withheld = j.withheld || alone
		}
		if j.in.Opening != nil && j.in.Rod != nil && j.differ(*p.Sum, j.in.Opening.Minus(*j.in.Rod)) {
			j.note(NotNominal, place{plane, p.Name})
		}
	}
}

// suspects are the positions that disagree with most others; nil if none do.
func (j *job) suspects(positions []Position, sum func(*Position) *measure.Value) []*Position {
	against := make([]int, len(positions))
	for a := range positions {
		for b := range positions {
			x, y := sum(&positions[a]), sum(&positions[b])
			if a != b && x != nil && y != nil && j.differ(*x, *y) {
				against[a]++
			}
		}
	}
	var out []*Position
	for i, n := range against {
		if n > 0 && n == slices.Max(against) {
			out = append(out, &positions[i])
		}
	}
	return out
}

// count is at how many positions it was taken.
func count(positions []Position, what func(*Position) *measure.Value) int {
	n := 0
	for i := range positions {
		if what(&positions[i]) != nil {
			n++
		}
	}
	return n
}

// trend fits a line along the stroke. Where the bow is real, the straight line does not
// hold and the resolution of the gauge is not all the doubt there is: U is then widened by
// the Birge ratio, as is usual for inconsistent data (Birge 1932; scale factor of the
// Particle Data Group; both from memory). For a parabola that is 0.24 of the bow, and
// covers the 0.17 of it by which the mean of three places misses the mean over the stroke.
// A bow within its doubt widens nothing.
func (j *job) trend(positions []Position, what func(*Position) *measure.Value) (*Trend, error) {
	var e equations
	for i := range positions {
		if v := what(&positions[i]); v != nil {
			e.add(0, *v, 1, j.in.station(positions[i].Name))
		}
	}
	got := e.y
	switch len(got) {
	case 0:
		return nil, nil
	case 1:
		return &Trend{Mean: got[0]}, nil
	}
	fit, err := measure.LeastSquares(e.rows, got)
	if err != nil {
		return nil, err
	}
	t, widen := &Trend{}, 1.0
	if len(got) == 3 {
		bow := got[0].Plus(got[2]).Minus(got[1].Times(2))
		t.Bow, t.Bows = &bow, j.real(bow, got[0], got[1], got[1], got[2])
		if t.Bows {
			widen = math.Max(1, fit.Birge)
		}
	}
	t.Mean = measure.Value{Mean: fit.Coef[0], U: widen * math.Sqrt(fit.Cov[0][0]+shared(got))}
	slope := measure.Value{Mean: fit.Coef[1], U: widen * math.Sqrt(fit.Cov[1][1])}
	change := slope.Times(j.in.station(Front) - j.in.station(Back))
	t.Change, t.Changes = &change, j.real(slope.Times(e.rows[len(got)-1][1]-e.rows[0][1]), got[0], got[len(got)-1])
	if j.in.Stroke > 0 {
		t.PerMetre = &slope
	}
	return t, nil
}

// shared is the variance of an error that all heights of one plane have in common. Where
// the rod hardly moves along the stroke, the gauge rounds every reading the same way and
// their mean is no better than one of them. With n readings of weight 1/U^2 the mean would
// have the variance 1/W if their errors were independent; (n-1)/W on top makes that n/W,
// the variance of one. What differs between positions is left as it is.
func shared(heights []measure.Value) float64 {
	weight := 0.0
	for _, v := range heights {
		weight += 1 / (v.U * v.U)
	}
	return float64(len(heights)-1) / weight
}

func (j *job) noteTrends(p *Plane, plane int) {
	at := place{plane, ""}
	if h := p.Height; h != nil {
		if h.Change == nil {
			j.note(OnePosition, at)
		}
		if h.Changes {
			j.ask(ChangeAlongStroke, at)
		}
		if h.Bows {
			j.ask(BowAlongStroke, at)
		}
	}
	if p.Side != nil && p.Side.Mean.Differs(j.in.K) && math.Abs(p.Side.Mean.Mean) >= j.in.Leave {
		j.note(SideOff, at)
	}
}
