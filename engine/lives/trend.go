package lives

import (
	"fmt"
	"math"
	"slices"
)

// Ending says what closed the record.
type Ending int

const (
	ByClock   Ending = iota // the record was closed at an hour that no event chose
	ByFailure               // the record was closed because of its last event
)

// Verdict is what the times of the events show.
type Verdict int

const (
	NoTrend   Verdict = iota // a steady rate is not contradicted
	Worsening                // events come ever faster
	Improving                // events come ever more slowly
	TooFew                   // fewer than FewestForTrend events: nothing was decided
)

// FewestForTrend is how many events a verdict needs, besides the one that closed the
// record. Any fewer and a single odd time decides; it is also the number from which the
// normal approximation of Laplace's test is good at 5 % (from memory, Cox and Lewis 1966).
const FewestForTrend = 4

// Trend is what the times of the events show. Both tests are always given; they can
// differ, and the verdict must not be picked from the two after looking. It is that of the
// chi-square test, which is exact for any number of events.
type Trend struct {
	Events     int // in the record
	Used       int // Events, less the one that closed the record
	Hours      float64
	Ending     Ending
	Confidence float64
	Verdict    Verdict // by P of the chi-square test against 1-Confidence
	P          float64 // two-sided, of the chi-square test (MIL-HDBK-189)
	ChiSquare  float64 // 2*sum of ln(hours/t): small if worsening, large if improving
	Freedom    int     // degrees of freedom of ChiSquare: 2*Used
	Laplace    float64 // U: above 0 if worsening, below if improving
	LaplaceP   float64 // two-sided, by the normal distribution
	// Fit is the power law through the times; nil if there are fewer than FewestForTrend
	// used events, or if all of them came at the very end.
	Fit *PowerLaw
}

// TrendOf tests the times of the events of one system, in hours since the record's start,
// in any order, against a steady rate over the record's hours. The caller chooses the
// system: one part position, or all of a pump together.
//
//	Laplace:    U = (mean t - hours/2) / (hours*sqrt(1/(12 m)))        is about normal
//	chi-square: 2*sum of ln(hours/t) has chi-square of 2 m degrees     exactly
//
// over the m used events. A record closed by its last event uses that time as its hours
// and the events before it. Sources: Cox and Lewis 1966; Crow 1974, in MIL-HDBK-189 (1981)
// appendix C; NIST/SEMATECH e-Handbook 8.2.3.4. It is an error if a time is not above 0 and
// at most hours, or if the record was closed by a failure and its last time is not hours;
// others as in RateOf.
func TrendOf(times []float64, hours float64, ending Ending, confidence float64) (Trend, error) {
	err := firstError(Count{Events: len(times), Hours: hours}.check(), checkConfidence(confidence), checkTimes(times, hours))
	if err != nil {
		return Trend{}, err
	}
	used, err := usedTimes(times, hours, ending)
	if err != nil {
		return Trend{}, err
	}
	t := Trend{
		Events: len(times), Used: len(used), Freedom: 2 * len(used), Hours: hours,
		Ending: ending, Confidence: confidence, Verdict: TooFew, P: 1, LaplaceP: 1,
	}
	if t.Used == 0 {
		return t, nil
	}
	logs := sumLogs(used, hours)
	early, late := gammaShares(float64(t.Used), logs)
	t.ChiSquare, t.P = 2*logs, math.Min(1, 2*math.Min(early, late))
	t.Laplace = laplace(used, hours)
	t.LaplaceP = math.Erfc(math.Abs(t.Laplace) / math.Sqrt2)
	if t.Used < FewestForTrend {
		return t, nil
	}
	switch {
	case t.P > 1-confidence:
		t.Verdict = NoTrend
	case early < late:
		t.Verdict = Worsening
	default:
		t.Verdict = Improving
	}
	if logs > 0 {
		t.Fit = fit(t.Events, logs, hours, ending, confidence)
	}
	return t, nil
}

func checkTimes(times []float64, hours float64) error {
	for _, t := range times {
		if !(t > 0 && t <= hours) {
			return fmt.Errorf("a replacement at hour %g is outside the record of %g hours", t, hours)
		}
	}
	return nil
}

// usedTimes are the times whose place in the record is free.
func usedTimes(times []float64, hours float64, ending Ending) ([]float64, error) {
	switch ending {
	case ByClock:
		return times, nil
	case ByFailure:
	default:
		return nil, fmt.Errorf("%d is not a way for a record to end", ending)
	}
	if len(times) == 0 || slices.Max(times) != hours {
		return nil, fmt.Errorf("the record is said to end with a replacement, but none is at hour %g", hours)
	}
	sorted := slices.Sorted(slices.Values(times))
	return sorted[:len(sorted)-1], nil
}

// sumLogs is the sum of ln(hours/t).
func sumLogs(times []float64, hours float64) float64 {
	sum := 0.0
	for _, t := range times {
		sum += math.Max(0, math.Log(hours)-math.Log(t))
	}
	return sum
}

func laplace(times []float64, hours float64) float64 {
	sum := 0.0 // of the distances from the middle, in halves of the record
	for _, t := range times {
		sum += 2*t/hours - 1
	}
	return sum * math.Sqrt(3/float64(len(times)))
}
