package measure

import (
	"errors"
	"fmt"
	"math"
)

// ErrDependent says that the unknowns of a fit cannot be told apart with these readings.
var ErrDependent = errors.New("the readings do not tell the unknowns apart")

// dependent is how small a column may become, against its own length, before it counts
// as made of the others.
const dependent = 1e-10

// smallest is the spread below which numbers count as nothing, far from underflow when
// squared.
const smallest = 1e-60

// Fit is a least-squares solution.
type Fit struct {
	Coef      []float64
	Cov       [][]float64 // covariance of Coef, from the U of the readings
	Residuals []float64   // reading less fit
	Birge     float64     // sqrt(sum of (residual/U)^2 / (n-p)); 0 if n = p or without U
}

// LeastSquares solves y = rows * coef for one to four coefficients from at least as many
// readings, each row weighted by 1/U^2. The U must all be above 0, or all 0 (equal
// weights, covariance 0). Columns that depend on each other give ErrDependent.
//
// It reduces the weighted rows by Householder reflections (Golub and Van Loan, Matrix
// Computations, 5.2 and 5.3; from memory), columns scaled to length 1 first, so that
// nothing is squared on the way. Cov = (R'R)^-1.
func LeastSquares(rows [][]float64, y []Value) (Fit, error) {
	w, exact, err := weights(y)
	if err != nil {
		return Fit{}, err
	}
	p, err := shape(rows, y)
	if err != nil {
		return Fit{}, err
	}
	columns := make([][]float64, p) // weighted
	for j := range columns {
		columns[j] = make([]float64, len(rows))
		for i, row := range rows {
			columns[j][i] = row[j] * math.Sqrt(w[i])
		}
	}
	right := make([]float64, len(rows))
	for i, v := range y {
		right[i] = v.Mean * math.Sqrt(w[i])
	}
	scale, err := normalise(columns)
	if err != nil {
		return Fit{}, err
	}
	diagonal, err := reduce(columns, right)
	if err != nil {
		return Fit{}, err
	}
	coef := backSubstitute(columns, diagonal, right)
	f := Fit{Coef: coef, Cov: covariance(columns, diagonal, scale, exact)}
	for j := range coef {
		coef[j] /= scale[j]
	}
	for i, row := range rows {
		f.Residuals = append(f.Residuals, y[i].Mean-dot(row, coef))
	}
	if !exact {
		f.Birge = birge(f.Residuals, y, len(rows)-p)
	}
	return f, nil
}

func shape(rows [][]float64, y []Value) (columns int, err error) {
	if len(rows) == 0 || len(rows) != len(y) {
		return 0, errors.New("a fit needs one row for each reading")
	}
	p := len(rows[0])
	if p < 1 || p > 4 {
		return 0, fmt.Errorf("a fit of %d unknowns: one to four can be fitted", p)
	}
	if len(rows) < p {
		return 0, fmt.Errorf("%d readings for %d unknowns: %w", len(rows), p, ErrDependent)
	}
	for _, row := range rows {
		if len(row) != p {
			return 0, errors.New("the rows of a fit are not all of one length")
		}
		for _, x := range row {
			if err := checkNumber("factor", x); err != nil {
				return 0, err
			}
		}
	}
	return p, nil
}

// normalise brings every column to length 1 and returns the lengths.
func normalise(columns [][]float64) ([]float64, error) {
	lengths := make([]float64, len(columns))
	for j, c := range columns {
		lengths[j] = length(c)
		if lengths[j] < smallest {
			return nil, ErrDependent
		}
		for i := range c {
			c[i] /= lengths[j]
		}
	}
	return lengths, nil
}

// reduce turns the columns into R: what stands above the diagonal stays in place, the
// diagonal is returned. right is reflected along.
func reduce(columns [][]float64, right []float64) (diagonal []float64, err error) {
	diagonal = make([]float64, len(columns))
	for j, c := range columns {
		size := length(c[j:])
		if size < dependent {
			return nil, ErrDependent
		}
		if c[j] > 0 {
			size = -size
		}
		mirror := append([]float64(nil), c[j:]...)
		mirror[0] -= size
		for _, other := range columns[j+1:] {
			reflect(other[j:], mirror)
		}
		reflect(right[j:], mirror)
		diagonal[j] = size
	}
	return diagonal, nil
}

// reflect mirrors v in the plane square to mirror.
func reflect(v, mirror []float64) {
	factor := 2 * dot(mirror, v) / dot(mirror, mirror)
	for i := range v {
		v[i] -= factor * mirror[i]
	}
}

func backSubstitute(columns [][]float64, diagonal, right []float64) []float64 {
	x := make([]float64, len(columns))
	for j := len(x) - 1; j >= 0; j-- {
		left := right[j]
		for k := j + 1; k < len(x); k++ {
			left -= columns[k][j] * x[k]
		}
		x[j] = left / diagonal[j]
	}
	return x
}

func covariance(columns [][]float64, diagonal, scale []float64, exact bool) [][]float64 {
	p := len(columns)
	inverse := make([][]float64, p) // columns of R^-1
	for j := range inverse {
		unit := make([]float64, p)
		unit[j] = 1
		inverse[j] = backSubstitute(columns, diagonal, unit)
	}
	cov := make([][]float64, p)
	for i := range cov {
		cov[i] = make([]float64, p)
		for j := range cov[i] {
			if exact {
				continue
			}
			for _, c := range inverse {
				cov[i][j] += c[i] * c[j]
			}
			cov[i][j] /= scale[i] * scale[j]
		}
	}
	return cov
}

func length(v []float64) float64 {
	total := 0.0
	for _, x := range v {
		total = math.Hypot(total, x)
	}
	return total
}
