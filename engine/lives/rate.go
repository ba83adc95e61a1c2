package lives

// Count is a number of replacements and the hours in which they came. For a group
// of several parts the hours are part hours: three cylinders over 1000 pump hours
// are 3000.
type Count struct {
	Events int
	Hours  float64
}

// Rate is how often something came, with exact Poisson limits.
type Rate struct {
	Count
	Confidence float64 // of the limits, such as 0.95
	PerHour    float64 // Events / Hours
	Low, High  float64 // per hour, two-sided; Low is 0 if there was no event
	Most       float64 // per hour: one-sided upper limit at the same confidence
}

// RateOf gives the rate with the limits of Garwood (Biometrika 28, 1936), for hours
// fixed beforehand:
//
//	low  = chi2(a/2; 2n)/2/hours,  high = chi2(1-a/2; 2n+2)/2/hours,  a = 1-confidence
//
// and Most = chi2(1-a; 2n+2)/2/hours. They cover the true rate with at least the
// confidence given. Events may be 0. It is an error if events are negative or above
// 100000, if hours are not between 0.01 and 1e8, or if the confidence is not between
// 0.5 and 0.999999.
func RateOf(events int, hours, confidence float64) (Rate, error) {
	c := Count{Events: events, Hours: hours}
	if err := firstError(c.check(), checkConfidence(confidence)); err != nil {
		return Rate{}, err
	}
	alpha := 1 - confidence
	return Rate{
		Count: c, Confidence: confidence,
		PerHour: float64(events) / hours,
		Low:     poissonLow(events, alpha/2) / hours,
		High:    poissonHigh(events, alpha/2) / hours,
		Most:    poissonHigh(events, alpha) / hours,
	}, nil
}

// MeanHours turns the rate round: hours for each event (MTBF) and its limits, as in
// NIST/SEMATECH e-Handbook 8.4.5.1 for a test of fixed time. Without events only low
// is known; then bounded is false and mean and high are 0. The one-sided lower limit
// is 1/Most.
func (r Rate) MeanHours() (mean, low, high float64, bounded bool) {
	low = 1 / r.High
	if r.Events == 0 {
		return 0, low, 0, false
	}
	return 1 / r.PerHour, low, 1 / r.Low, true
}

// poissonLow is the mean at which so many events or more have the probability tail.
func poissonLow(events int, tail float64) float64 {
	if events == 0 {
		return 0
	}
	return solve(func(mean float64) float64 { return poissonAtLeast(events, mean) - tail })
}

// poissonHigh is the mean at which so many events or fewer have the probability tail.
func poissonHigh(events int, tail float64) float64 {
	return solve(func(mean float64) float64 { return tail - poissonAtMost(events, mean) })
}

// poissonAtLeast is P(X >= events).
func poissonAtLeast(events int, mean float64) float64 {
	if events == 0 {
		return 1
	}
	lower, _ := gammaShares(float64(events), mean)
	return lower
}

// poissonAtMost is P(X <= events).
func poissonAtMost(events int, mean float64) float64 {
	_, upper := gammaShares(float64(events)+1, mean)
	return upper
}
