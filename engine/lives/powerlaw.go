package lives

import "math"

// PowerLaw is a rate that grows or falls as a power of the hours: the expected number
// of events up to hour t is n*(t/hours)^Shape (Crow 1974; a Shape above 1 is worsening).
type PowerLaw struct {
	Shape    float64 // maximum likelihood: n / sum of ln(hours/t)
	Unbiased float64 // shape without its bias: (n-1)/sum, or (n-2)/sum if closed by a failure
	// EndPerHour is the rate at the record's end, n*Unbiased/hours, as in NIST/SEMATECH
	// e-Handbook 8.4.5.2. Low and High are its exact limits at the trend's confidence.
	EndPerHour, Low, High float64
}

// EndMeanHours is the hours for each event at the record's end (MTBF), with its limits.
func (p PowerLaw) EndMeanHours() (mean, low, high float64) {
	return 1 / p.EndPerHour, 1 / p.High, 1 / p.Low
}

// fit is the power law through n events (2 or more, or 3 if closed by a failure) whose logs
// ln(hours/t) sum to logs.
func fit(n int, logs, hours float64, ending Ending, confidence float64) *PowerLaw {
	count, bias, endLimits := float64(n), 1.0, limitsByClock
	if ending == ByFailure {
		bias, endLimits = 2.0, limitsByFailure
	}
	low, high := endLimits(n, (1-confidence)/2)
	unbiased := (count - bias) / logs
	return &PowerLaw{
		Shape: count / logs, Unbiased: unbiased, EndPerHour: count * unbiased / hours,
		Low: low / logs / hours, High: high / logs / hours,
	}
}

// limitsByClock are the exact limits of z = (rate at the end)*hours*logs. The number of
// events and the sum of their logs are sufficient, and given the logs the number has the
// probabilities z^k/(k!(k-1)!), k = 1, 2, ..., over their sum: the shape drops out (the
// conditional limits of Crow 1982).
func limitsByClock(n int, tail float64) (low, high float64) {
	low = solve(func(z float64) float64 { below, _ := besselShares(n, z); return 1 - below - tail })
	high = solve(func(z float64) float64 { _, above := besselShares(n, z); return tail - (1 - above) })
	return low, high
}

// besselShares are the probabilities of fewer than n and of more than n under the weights
// z^k/(k!(k-1)!). They are summed outwards from the largest weight, taken as 1.
func besselShares(n int, z float64) (fewer, more float64) {
	mode := int(math.Max(1, math.Sqrt(z)))
	total := 0.0
	add := func(k int, weight float64) {
		total += weight
		if k < n {
			fewer += weight
		}
		if k > n {
			more += weight
		}
	}
	for k, w := mode, 1.0; w > negligible; k++ {
		add(k, w)
		w *= z / (float64(k+1) * float64(k))
	}
	for k, w := mode, 1.0; k > 1 && w > negligible; k-- {
		w *= float64(k) * float64(k-1) / z
		add(k-1, w)
	}
	return fewer / total, more / total
}

// negligible is the weight, beside 1, at which a sum is done.
const negligible = 1e-20

// limitsByFailure are the exact limits of z as above for a record closed by its last event:
// z is then the product of two independent gamma variables of shapes n and n-1.
func limitsByFailure(n int, tail float64) (low, high float64) {
	low = solve(func(z float64) float64 { below, _ := productShares(n, z); return below - tail })
	high = solve(func(z float64) float64 { _, above := productShares(n, z); return tail - above })
	return low, high
}

// productShares are the probabilities that gamma(n)*gamma(n-1) is below and above z, by the
// trapezoidal rule over the logarithm of the first. The integrand is smooth and dies out at
// both ends, so the rule is as good as exact.
func productShares(n int, z float64) (below, above float64) {
	const steps = 120
	a := float64(n)
	logGamma, _ := math.Lgamma(a)
	// The density of the logarithm v falls from its mode ln(a) at least as exp(-a*d*d/2)
	// upwards, and as exp(-a*(d-1)) at least, and near the mode as exp(-a*d*d/3), downwards.
	up, down := math.Sqrt(90/a), math.Max(math.Sqrt(135/a), 1+45/a)
	step := (up + down) / steps
	for i := range steps + 1 {
		v := math.Log(a) - down + float64(i)*step
		weight := step * math.Exp(a*v-math.Exp(v)-logGamma)
		lower, upper := gammaShares(a-1, z*math.Exp(-v))
		below += weight * lower
		above += weight * upper
	}
	return below, above
}
