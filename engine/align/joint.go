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
	answer := make([]float64, len(fit.Coef))
	for i, of := range e.plane {
		if of != plane {
			continue
		}
		heights = append(heights, e.y[i])
		for a := range answer {
			answer[a] += fit.Response[a][i]
		}
	}
	if len(heights) < 2 {
		return
	}
	for a, row := range fit.Cov {
		floats.AddScaled(row, shared(heights)*answer[a], answer)
	}
}

// each calls f for every height whose plane has a known distance, taken to the micrometre:
// planes nearer together than that are one.
func (j *job) each(f func(plane int, x, s float64, z measure.Value)) {
	stations := j.in.stations()
	for i, p := range j.out.Planes {
		if j.in.Planes[i].At == nil {
			continue
		}
		for at, z := range p.pick(height) {
			if z != nil {
				f(i, math.Round(*j.in.Planes[i].At*1e6)/1e6, stations[at], *z)
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
	j.out.Joint = j.joint(fit)
	if j.out.Joint.Skew {
		j.ask(RodSkew, nowhere)
	}
	return nil
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

func (j *job) joint(fit measure.Fit) *Joint {
	g := &Joint{Birge: fit.Birge}
	for r := range g.Cov {
		copy(g.Cov[r][:], fit.Cov[r])
	}
	value := func(i int) measure.Value {
		return measure.Value{Mean: fit.Coef[i], U: math.Sqrt(fit.Cov[i][i])}
	}
	g.A, g.B, g.Eps = value(0), value(1), value(2)
	g.Tilts, g.Skew = g.B.Differs(j.in.K), g.Eps.Differs(j.in.K)
	if s := j.in.Supports; s != nil {
		g.GuideTrue = g.shims(*s, func(x float64) [3]float64 { return [3]float64{-1, -x, 0} })
		g.RodCentred = g.shims(*s, func(x float64) [3]float64 { return [3]float64{-1, -x, -x} })
	}
	return g
}

// shims are the lifts row(x) * (A, B, Eps) at the supports, with their covariance (GUM
// equation 16 and, for two results, H.2.3).
func (g *Joint) shims(s Supports, row func(x float64) [3]float64) *Shims {
	front, rear := row(s.Front), row(s.Rear)
	coef := [3]float64{g.A.Mean, g.B.Mean, g.Eps.Mean}
	cov := func(p, q [3]float64) float64 {
		total := 0.0
		for a := range p {
			for b := range q {
				total += p[a] * g.Cov[a][b] * q[b]
			}
		}
		return total
	}
	value := func(p [3]float64) measure.Value {
		mean := p[0]*coef[0] + p[1]*coef[1] + p[2]*coef[2]
		return measure.Value{Mean: mean, U: math.Sqrt(math.Max(0, cov(p, p)))}
	}
	return &Shims{Front: value(front), Rear: value(rear), Cov: cov(front, rear)}
}

// guideHeight is the height of a guide without tilt: z = a + eps (x - s).
func (j *job) guideHeight() (measure.Value, error) {
	var e equations
	j.each(func(plane int, x, s float64, z measure.Value) { e.add(plane, z, 1, x-s) })
	fit, poor, err := e.solve(j.in.K)
	if err != nil {
		return measure.Value{}, err
	}
	if poor {
		j.ask(FitPoor, nowhere)
	}
	return measure.Value{Mean: fit.Coef[0], U: math.Sqrt(fit.Cov[0][0])}, nil
}

// meanHeight is the height of the rod at mid stroke, the weighted mean over the planes.
func (j *job) meanHeight() (measure.Value, error) {
	var e equations
	for i, p := range j.out.Planes {
		if p.Height != nil {
			e.add(i, p.Height.Mean, 1)
		}
	}
	fit, poor, err := e.solve(j.in.K)
	if err != nil {
		return measure.Value{}, err
	}
	if poor {
		j.ask(FitPoor, nowhere)
	}
	return measure.Value{Mean: fit.Coef[0], U: math.Sqrt(fit.Cov[0][0])}, nil
}
