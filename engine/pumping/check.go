package pumping

import "fmt"

// The range of a usable number. The formulas multiply and divide fewer than
// ten of them, so their answers stay far from overflow.
const (
	smallest = 1e-12
	greatest = 1e12
)

// positive is the error of a number that must be above zero.
func positive(name string, x float64) error {
	if x >= smallest && x <= greatest { // false for NaN
		return nil
	}
	return fmt.Errorf("%s must be above zero and of a possible size, not %v", name, x)
}

// notNegative is the error of a number that may be zero.
func notNegative(name string, x float64) error {
	if x >= 0 && x <= greatest {
		return nil
	}
	return fmt.Errorf("%s must be zero or more and of a possible size, not %v", name, x)
}

// number is the error of a number that may have either sign.
func number(name string, x float64) error {
	if x >= -greatest && x <= greatest {
		return nil
	}
	return fmt.Errorf("%s must be a number of a possible size, not %v", name, x)
}

// first is the first error that is not nil.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
