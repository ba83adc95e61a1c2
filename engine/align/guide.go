package align

import (
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"telltale/engine/measure"
)

// equations are the rows of a least-squares fit to heights.
type equations struct {
	rows  [][]float64
	y     []measure.Value
	plane []int // of each row; -1 for the level
}

func (e *equations) add(plane int, y measure.Value, row ...float64) {
	e.rows, e.y, e.plane = append(e.rows, row), append(e.y, y), append(e.plane, plane)
}

// solve fits, widens the covariance by the Birge ratio where it is more than K and more than
// rounding can do (as trend), and adds what the heights of a plane share.
func (e *equations) solve(k float64) (fit measure.Fit, poor bool, err error) {
	if fit, err = measure.LeastSquares(e.rows, e.y); err != nil {
		return fit, false, err
	}
	poor = beyond(fit.Birge, max(k, e.rounding(len(fit.Coef))))
	if poor {
		for _, row := range fit.Cov {
			floats.Scale(fit.Birge*fit.Birge, row)
		}
	}
	for plane := range slices.Max(e.plane) + 1 {
		e.addShared(&fit, plane)
	}
	return fit, poor, nil
}

// rounding is the Birge ratio that rounding of the readings alone can reach: a height is
// then off by sqrt(6) of its U at most, and a fit leaves no more than it was given.
func (e *equations) rounding(unknowns int) float64 {
	free := max(1, len(e.rows)-unknowns)
	return math.Sqrt(6 * float64(len(e.rows)) / float64(free))
}

// addShared adds to the covariance the error shared by the heights of one plane. The result
// answers to it as to each of them together.
func (e *equations) addShared(fit *measure.Fit, plane int) {
	var heights []measure.Value
	for i, of := range e.plane {
		if of == plane {
			heights = append(heights, e.y[i])
		}
	}
	if len(heights) < 2 {
		return
	}
	answer := e.answer(fit, plane)
	for a, row := range fit.Cov {
		floats.AddScaled(row, shared(heights)*answer[a], answer)
	}
}

// answer is how far heights of a plane that are 1 more together move each coefficient.
func (e *equations) answer(fit *measure.Fit, plane int) []float64 {
	out := make([]float64, len(fit.Coef))
	for i, of := range e.plane {
		if of != plane {
			continue
		}
		for a := range out {
			out[a] += fit.Response[a][i]
		}
	}
	return out
}

// each calls f for every height whose plane has a known distance, taken to the micrometre:
// planes nearer together than that are one.
func (j *job) each(f func(plane int, x, s float64, z measure.Value)) {
	for i, p := range j.out.Planes {
		if p.At == nil {
			continue
		}
		for _, at := range p.Positions {
			if at.Height != nil {
				f(i, math.Round(*p.At*1e6)/1e6, j.in.station(at.Name), *at.Height)
			}
		}
	}
}

// tellApart fits z = a + b x + eps (x - s) to all heights and the level (b alone), where
// they suffice.
func (j *job) tellApart() error {
	var e equations
	if j.in.Stroke > 0 {
		j.each(func(plane int, x, s float64, z measure.Value) { e.add(plane, z, 1, x, x-s) })
	}
	heights := len(e.rows)
	if heights > 0 && j.in.Level != nil {
		e.add(-1, *j.in.Level, 0, 1, 0)
	}
	err := measure.ErrDependent
	var fit measure.Fit
	var poor bool
	if heights > 0 {
		fit, poor, err = e.solve(j.in.K)
	}
	if errors.Is(err, measure.ErrDependent) {
		if j.planesWithHeight() > 1 || j.in.Level != nil && j.planesWithHeight() > 0 {
			j.note(NotToldApart, nowhere)
		}
		return nil
	}
	if err != nil {
		return err
	}
	if poor {
		j.ask(FitPoor, nowhere)
	}
	if read := combined(fit, 1, 0, 0).U; !j.known(e, &fit, read) {
		return nil
	}
	j.out.Guide = j.guide(fit)
	if j.out.Guide.Skewed {
		j.ask(RodSkew, nowhere)
	}
	return nil
}

// known adds to the covariance what the doubt of the planes' distances makes of the
// heights: (b + eps) times it, shared by the heights of a plane. It says whether the
// height of the guide is then known to less than half of the rod's room in its opening;
// if not, it notes how far apart the planes would have to stand. Read is the U of that
// height by the readings alone: it goes down as the distance goes up, and the rest, for
// planes that differ by as much, as its square.
func (j *job) known(e equations, fit *measure.Fit, read float64) bool {
	least, most := math.Inf(1), math.Inf(-1)
	room := 0.0
	for plane, p := range j.out.Planes {
		if !slices.Contains(e.plane, plane) {
			continue
		}
		answer := e.answer(fit, plane)
		for a, row := range fit.Cov {
			floats.AddScaled(row, math.Pow((fit.Coef[1]+fit.Coef[2])*p.AtU, 2)*answer[a], answer)
		}
		least, most = min(least, *p.At), max(most, *p.At)
		for _, at := range p.Positions {
			if at.Sum != nil {
				room = max(room, at.Sum.Mean/2)
			}
		}
	}
	u := combined(*fit, 1, 0, 0).U
	if j.in.K*u <= room {
		return true
	}
	j.note(GuideNotKnown, nowhere)
	if apart := most - least; apart > 0 && room > 0 {
		ours, theirs := math.Pow(j.in.K*read/room, 2), math.Pow(j.in.K/room, 2)*max(0, u*u-read*read)
		// With r the square of needed/apart: 1 = ours/r + theirs/r^2.
		r := (ours + math.Sqrt(ours*ours+4*theirs)) / 2
		j.out.TooNear = &TooNear{Apart: apart, Needed: apart * math.Sqrt(r), Known: room}
	}
	return false
}

func (j *job) planesWithHeight() int {
	n := 0
	for _, p := range j.out.Planes {
		if p.Height != nil {
			n++
		}
	}
	return n
}

func (j *job) guide(fit measure.Fit) *Guide {
	g := &Guide{Height: combined(fit, 1, 0, 0), Slope: combined(fit, 0, 1, 0), Skew: combined(fit, 0, 0, 1)}
	g.Slopes, g.Skewed = g.Slope.Differs(j.in.K), g.Skew.Differs(j.in.K)
	if s := j.in.Supports; s != nil {
		g.GuideTrue = &Ends{Front: combined(fit, -1, -s.Front, 0), Rear: combined(fit, -1, -s.Rear, 0)}
		g.RodCentred = &Ends{Front: combined(fit, -1, -s.Front, -s.Front), Rear: combined(fit, -1, -s.Rear, -s.Rear)}
	}
	return g
}

// combined is row * coefficients, with its uncertainty by their covariance (GUM equation
// 16).
func combined(fit measure.Fit, row ...float64) measure.Value {
	variance := 0.0
	for i, x := range row {
		variance += x * floats.Dot(fit.Cov[i], row)
	}
	return measure.Value{Mean: floats.Dot(row, fit.Coef), U: math.Sqrt(math.Max(0, variance))}
}

// heightOf is the first unknown of the equations.
func (j *job) heightOf(e equations) (measure.Value, error) {
	fit, poor, err := e.solve(j.in.K)
	if err != nil {
		return measure.Value{}, err
	}
	if poor {
		j.ask(FitPoor, nowhere)
	}
	return measure.Value{Mean: fit.Coef[0], U: math.Sqrt(fit.Cov[0][0])}, nil
}

// guideHeight is the height of a guide without tilt: z = a + eps (x - s).
func (j *job) guideHeight() (measure.Value, error) {
	var e equations
	j.each(func(plane int, x, s float64, z measure.Value) { e.add(plane, z, 1, x-s) })
	return j.heightOf(e)
}

// meanHeight is the height of the rod at mid stroke, the weighted mean over the planes.
func (j *job) meanHeight() (measure.Value, error) {
	var e equations
	for i, p := range j.out.Planes {
		if p.Height != nil {
			e.add(i, p.Height.Mean, 1)
		}
	}
	return j.heightOf(e)
}
