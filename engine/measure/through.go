package measure

import (
	"math"
	"slices"
)

// Through is what a function makes of independent values. Its uncertainty is worked
// out by moving each of them by its U either way, half of the difference being its
// share, and adding the shares by squares (GUM 5.1.3, note 2). The function must be
// smooth over that far.
func Through(f func(x []float64) float64, of ...Value) Value {
	at := make([]float64, len(of))
	for i, v := range of {
		at[i] = v.Mean
	}
	out := Value{Mean: f(slices.Clone(at))}
	for i, v := range of {
		moved := func(by float64) float64 {
			x := slices.Clone(at)
			x[i] += by
			return f(x)
		}
		out.U = math.Hypot(out.U, (moved(v.U)-moved(-v.U))/2)
	}
	return out
}
