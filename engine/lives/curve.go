package lives

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Step is where the share that lasts longer falls.
type Step struct {
	Hours  float64 `json:"hours"`
	AtRisk int     `json:"at_risk"` // lives of at least so many hours
	Failed int     `json:"failed"`  // of those, at these hours
	// Share lasts longer than the hours, with its limits; before the first step it is 1.
	Share float64 `json:"share"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// Curve is the share that lasts longer than any hours (Kaplan and Meier 1958), one step
// for each age at which parts failed; whatever else ended a life comes after the failures of
// the same hours. It is known up to the longest life. The limits at each step by itself
// are those of ln(-ln share) with the variance of Greenwood (Kalbfleisch and Prentice
// 1980; both from memory). That has none once all have failed: then the low limit is 0,
// the high one that of the step before (1 on the first). The error is for a confidence
// not between 0.5 and 0.999999.
func Curve(all []Life, confidence float64) ([]Step, error) {
	if err := checkConfidence(confidence); err != nil {
		return nil, err
	}
	wide := distuv.UnitNormal.Quantile((1 + confidence) / 2)
	out := []Step{}
	share, variance, high := 1.0, 0.0, 1.0
	for a := range ages(all) {
		if a.failed == 0 {
			continue
		}
		n, d := float64(a.atRisk), float64(a.failed)
		share *= 1 - d/n
		variance += d / (n * (n - d))
		s := Step{Hours: all[a.lives[0]].Hours, AtRisk: a.atRisk, Failed: a.failed, Share: share, High: high}
		if share > 0 {
			times := math.Exp(wide * math.Sqrt(variance) / -math.Log(share))
			s.Low, s.High = math.Pow(share, times), math.Pow(share, 1/times)
		}
		high = s.High
		out = append(out, s)
	}
	return out, nil
}
