package lives

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// ShareLimits are the limits between which a share lies with the given
// probability, the same left out on either side, if what is known of it is a
// beta distribution of shapes a and b: a share of prior mean m that weighs as
// much as w cases has a = m w and b = (1-m) w, and k of n cases add k to a and
// n-k to b (the beta-binomial). It is an error if a shape is not between 1e-6
// and 1e9 or the confidence not between 0.5 and 0.999999.
func ShareLimits(a, b, confidence float64) (low, high float64, err error) {
	if !(a >= 1e-6 && a <= 1e9) || !(b >= 1e-6 && b <= 1e9) {
		return 0, 0, fmt.Errorf("shapes %g and %g of a share", a, b)
	}
	if err := checkConfidence(confidence); err != nil {
		return 0, 0, err
	}
	tail := (1 - confidence) / 2
	low, high = mathext.InvRegIncBeta(a, b, tail), mathext.InvRegIncBeta(a, b, 1-tail)
	if math.IsNaN(low) || math.IsNaN(high) {
		return 0, 0, fmt.Errorf("the limits of a share with shapes %g and %g cannot be worked out", a, b)
	}
	return low, high, nil
}
