package measure

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// ErrDependent says that the unknowns of a fit cannot be told apart with these readings.
var ErrDependent = errors.New("the readings do not tell the unknowns apart")

// dependent is the condition number, of columns of length 1, from which they count as made
// of each other.
const dependent = 1e10

// smallest is the spread below which numbers count as nothing, far from underflow when
// squared.
const smallest = 1e-60

// Fit is a least-squares solution.
type Fit struct {
	Coef      []float64
	Response  [][]float64 // by coefficient and reading: how far a reading that is 1 more moves the coefficient
	Cov       [][]float64 // covariance of Coef, from the U of the readings
	Residuals []float64   // reading less fit
	Birge     float64     // see birge; 0 if there are no more readings than unknowns
}

// LeastSquares solves y = rows * coef from at least as many readings as unknowns, each row
// weighted by 1/U^2. A reading without uncertainty is an error; columns that depend on each
// other give ErrDependent.
//
// The solution is the response of the coefficients to each reading (by QR, the columns
// scaled to length 1 first) times the readings, and twice more times what rounding left
// over. Cov = response * U^2 * response'.
func LeastSquares(rows [][]float64, y []Value) (Fit, error) {
	if err := checkFit(rows, y); err != nil {
		return Fit{}, err
	}
	response, err := responseOf(rows, y)
	if err != nil {
		return Fit{}, err
	}
	f := Fit{Coef: make([]float64, len(response)), Response: response, Residuals: make([]float64, len(y))}
	for range 3 {
		for i, row := range rows {
			f.Residuals[i] = left(y[i].Mean, row, f.Coef)
		}
		for j, r := range response {
			f.Coef[j] += floats.Dot(r, f.Residuals)
		}
	}
	for i, row := range rows {
		f.Residuals[i] = left(y[i].Mean, row, f.Coef)
	}
	f.covariance(y)
	f.Birge = birge(f.Residuals, y, len(rows)-len(f.Coef))
	return f, nil
}

func checkFit(rows [][]float64, y []Value) error {
	if len(rows) == 0 || len(rows) != len(y) || len(rows[0]) == 0 {
		return errors.New("a fit needs one row for each reading")
	}
	if len(rows) < len(rows[0]) {
		return fmt.Errorf("%d readings for %d unknowns: %w", len(rows), len(rows[0]), ErrDependent)
	}
	for i, row := range rows {
		if err := y[i].Check(); err != nil {
			return err
		}
		if y[i].U < smallest {
			return errors.New("an uncertainty is too small to weigh with")
		}
		if len(row) != len(rows[0]) {
			return errors.New("the rows of a fit are not all of one length")
		}
		for _, x := range row {
			if err := checkNumber("factor", x); err != nil {
				return err
			}
		}
	}
	return nil
}

func responseOf(rows [][]float64, y []Value) ([][]float64, error) {
	n, p := len(rows), len(rows[0])
	weighted, unit := mat.NewDense(n, p, nil), mat.NewDense(n, n, nil)
	lengths := make([]float64, p)
	for j := range lengths {
		column := make([]float64, n)
		for i, row := range rows {
			column[i] = row[j] / y[i].U
			unit.Set(i, i, 1/y[i].U)
		}
		if lengths[j] = floats.Norm(column, 2); lengths[j] < smallest {
			return nil, ErrDependent
		}
		floats.Scale(1/lengths[j], column)
		weighted.SetCol(j, column)
	}
	var qr mat.QR
	qr.Factorize(weighted)
	if !(qr.Cond() < dependent) {
		return nil, ErrDependent
	}
	var solved mat.Dense
	if err := qr.SolveTo(&solved, false, unit); err != nil {
		return nil, err
	}
	out := make([][]float64, p)
	for j := range out {
		out[j] = mat.Row(nil, j, &solved)
		floats.Scale(1/lengths[j], out[j])
	}
	return out, nil
}

// left is y less the fit, without the rounding of the products. The last column goes first:
// what is left is then small before the others are taken off.
func left(y float64, row, coef []float64) float64 {
	for j := len(coef) - 1; j >= 0; j-- {
		y = math.FMA(-row[j], coef[j], y)
	}
	return y
}

func (f *Fit) covariance(y []Value) {
	f.Cov = make([][]float64, len(f.Response))
	for a, r := range f.Response {
		f.Cov[a] = make([]float64, len(f.Response))
		for b, s := range f.Response {
			for i, v := range y {
				f.Cov[a][b] += (r[i] * v.U) * (s[i] * v.U)
			}
		}
	}
}

// birge is the ratio of the scatter found to the scatter that the U explain, the root of
// the mean of (residual/U)^2 over the free readings (Birge 1932, The calculation of errors
// by the method of least squares, Phys. Rev. 40, 207; from memory). About 1 is as expected.
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
