package lives

import "fmt"

func checkConfidence(confidence float64) error {
	return checkRange("confidence", confidence, 0.5, 0.999999)
}

// checkRange refuses NaN too, which is in no range.
func checkRange(what string, value, low, high float64) error {
	if value >= low && value <= high {
		return nil
	}
	return fmt.Errorf("%s %g: must be from %g to %g", what, value, low, high)
}
