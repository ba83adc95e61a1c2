package measure

import (
	"errors"
	"math"
)

// Line is a straight line y = At + Slope (x - Centre) fitted to readings. Centre is the
// (weighted) mean of x, where At and Slope are uncorrelated.
type Line struct {
	Centre    float64
	At        Value // y at Centre
	Slope     Value
	Residuals []float64 // reading less line, in the order given
	SD        float64   // sqrt(sum of residual^2 / (n-2)); 0 for two readings
	Birge     float64   // sqrt(sum of (residual/U)^2 / (n-2)); 0 for two readings or without known U
	atTail    float64   // what At.Mean lacks to twice the digits
	slopeTail float64
}

// FitLine fits a line by least squares to readings of equal but unknown uncertainty, which
// is taken from their scatter about the line (GUM H.3). It needs three readings or more.
func FitLine(x, y []float64) (Line, error) {
	if len(x) < 3 {
		return Line{}, errors.New("the scatter about a line needs at least three readings")
	}
	w := make([]float64, len(x))
	for i := range w {
		w[i] = 1
	}
	line, err := fitLine(x, y, w)
	if err != nil {
		return Line{}, err
	}
	line.At.U *= line.SD
	line.Slope.U *= line.SD
	return line, nil
}

// FitLineKnown fits a line to readings whose uncertainties are known, each weighted by
// 1/U^2. It needs two readings or more. The uncertainties must all be above 0, or all 0
// (equal weights, and a result without uncertainty).
func FitLineKnown(x []float64, y []Value) (Line, error) {
	w, exact, err := weights(y)
	if err != nil {
		return Line{}, err
	}
	line, err := fitLine(x, means(y), w)
	if err != nil {
		return Line{}, err
	}
	if exact {
		line.At.U, line.Slope.U = 0, 0
		return line, nil
	}
	line.Birge = birge(line.Residuals, y, len(y)-2)
	return line, nil
}

// Predict is the line at x, with U^2 = u(At)^2 + (x-Centre)^2 u(Slope)^2.
func (l Line) Predict(x float64) Value {
	hi, lo := l.at(x)
	return Value{hi + lo, math.Hypot(l.At.U, (x-l.Centre)*l.Slope.U)}
}

// Covariance is that of the line's value at x with its slope.
func (l Line) Covariance(x float64) float64 { return (x - l.Centre) * l.Slope.U * l.Slope.U }

// Correlation is the correlation coefficient of the line's value at x with its slope; 0
// for a line without uncertainty.
func (l Line) Correlation(x float64) float64 {
	if l.Slope.U == 0 {
		return 0
	}
	return (x - l.Centre) * l.Slope.U / l.Predict(x).U
}

// at is the line at x as a sum of two numbers, the second small: products and sums carry
// their rounding errors along (Dekker 1971, A floating-point technique for extending the
// available precision), because an intercept far from the readings is a small difference
// of large numbers.
func (l Line) at(x float64) (hi, lo float64) {
	dx, dxTail := twoSum(x, -l.Centre)
	rise := l.Slope.Mean * dx
	riseTail := math.FMA(l.Slope.Mean, dx, -rise) + l.Slope.Mean*dxTail + l.slopeTail*dx
	hi, lo = twoSum(l.At.Mean, rise)
	return hi, lo + riseTail + l.atTail
}

// twoSum is a + b and the rounding error of that sum (Knuth, The Art of Computer
// Programming, vol. 2, 4.2.2).
func twoSum(a, b float64) (sum, tail float64) {
	sum = a + b
	part := sum - a
	return sum, (a - (sum - part)) + (b - part)
}

// fitLine solves about the weighted means, then solves once more for what the first
// solution left over. The U it sets are those for readings of U = 1/sqrt(w).
func fitLine(x, y, w []float64) (Line, error) {
	if len(x) != len(y) {
		return Line{}, errors.New("a line needs as many x as y")
	}
	if len(x) < 2 {
		return Line{}, errors.New("a line needs at least two readings")
	}
	for i := range x {
		if err := errors.Join(checkNumber("x", x[i]), checkNumber("y", y[i])); err != nil {
			return Line{}, err
		}
	}
	total := sum(w)
	l := Line{Centre: dot(w, x) / total, Residuals: append([]float64(nil), y...)}
	dx := make([]float64, len(x))
	for i := range x {
		dx[i] = x[i] - l.Centre
	}
	lean := dot(w, dx) / total // what the rounding of Centre left
	sxx := 0.0
	for i := range dx {
		sxx += w[i] * (dx[i] - lean) * (dx[i] - lean)
	}
	if spread := math.Sqrt(sxx / total); spread < smallest || spread < 1e-12*math.Abs(l.Centre) {
		return Line{}, ErrDependent
	}
	for range 3 {
		slope := 0.0
		for i, r := range l.Residuals {
			slope += w[i] * (dx[i] - lean) / sxx * r
		}
		at := dot(w, l.Residuals)/total - slope*lean
		l.add(at, slope)
		for i := range x {
			hi, lo := l.at(x[i])
			l.Residuals[i] = (y[i] - hi) - lo
		}
	}
	if n := len(x); n > 2 {
		l.SD = math.Sqrt(dot(l.Residuals, l.Residuals) / float64(n-2))
	}
	l.At.U, l.Slope.U = 1/math.Sqrt(total), 1/math.Sqrt(sxx)
	return l, nil
}

func (l *Line) add(at, slope float64) {
	l.At.Mean, l.atTail = twoSum(l.At.Mean, l.atTail+at)
	l.Slope.Mean, l.slopeTail = twoSum(l.Slope.Mean, l.slopeTail+slope)
}

func sum(xs []float64) float64 {
	total := 0.0
	for _, x := range xs {
		total += x
	}
	return total
}

func dot(a, b []float64) float64 {
	total := 0.0
	for i := range a {
		total += a[i] * b[i]
	}
	return total
}

func means(values []Value) []float64 {
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = v.Mean
	}
	return out
}

// weights are 1/U^2, or all 1 if no value has an uncertainty.
func weights(values []Value) (w []float64, exact bool, err error) {
	w = make([]float64, len(values))
	zeros := 0
	for i, v := range values {
		if err := v.Check(); err != nil {
			return nil, false, err
		}
		if v.U > 0 && v.U < smallest {
			return nil, false, errors.New("an uncertainty is too small to weigh with")
		}
		w[i] = 1
		if v.U > 0 {
			w[i] = 1 / (v.U * v.U)
		} else {
			zeros++
		}
	}
	if zeros != 0 && zeros != len(values) {
		return nil, false, errors.New("some readings have an uncertainty and some have none")
	}
	return w, zeros > 0, nil
}

// birge is the ratio of the scatter found to the scatter that the U explain (Birge 1932,
// The calculation of errors by the method of least squares, Phys. Rev. 40, 207; from
// memory). About 1 is as expected.
func birge(residuals []float64, y []Value, free int) float64 {
	if free < 1 {
		return 0
	}
	total := 0.0
	for i, r := range residuals {
		total += (r / y[i].U) * (r / y[i].U)
	}
	return math.Sqrt(total / float64(free))
}
