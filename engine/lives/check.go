package lives

import "fmt"

const (
	maxEvents = 100_000
	minHours  = 0.01
	maxHours  = 1e8
)

func (c Count) check() error {
	if c.Events < 0 || c.Events > maxEvents {
		return fmt.Errorf("%d replacements: the number must be from 0 to %d", c.Events, maxEvents)
	}
	return checkRange("hours", c.Hours, minHours, maxHours)
}

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

func firstError(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
