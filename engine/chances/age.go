package chances

import (
	"math"
	"slices"

	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/rules"
)

// age moves, where the record of changes says how parts end, the chance that a
// failure is there by itself by the hours on its part: its odds are multiplied by
// the hazard of the Weibull fit at those hours over one failure in a mean life,
//
//	h(t) * mean = b/c * (t/c)^(b-1) * c * G(1 + 1/b)
//
// with b the shape and c the scale (NIST/SEMATECH e-Handbook of Statistical
// Methods, 8.1.6.2, from memory). The shape is its limit nearest to one, at which
// hours say least, with the median of the fit: what a few lives do not show moves
// little. Where the limits leave one in, parts end at any age and nothing is
// moved; neither is it where the fitting of the part that is in is not known. So
// many lives as n cannot show a chance below about 1 in n + 2 (the rule of
// succession, Laplace, from memory), so the odds move by that much at most.
func (m *Model) age() {
	if m.Measured == nil || m.Measured.Figures == nil {
		return
	}
	for i, in := range m.Causes {
		if in.Cause.Role != rules.Failure || m.confirmed[i] || m.ruledOut(i) {
			continue
		}
		if part := m.recordFor(in.Cause); part != nil {
			m.Causes[i].Prior = oddsTimes(in.Prior, ageTimes(part, in.Place))
			m.laid = nil
		}
	}
}

// recordFor is the record of the part that fails by a cause, which is one that it
// takes most often; nil if none is kept.
func (m *Model) recordFor(c *rules.Cause) *figures.Part {
	for _, need := range c.Parts {
		for i := range m.Measured.Parts {
			if part := &m.Measured.Parts[i]; part.Part == need.Part && need.Chance == c.Parts[0].Chance {
				return part
			}
		}
	}
	return nil
}

// ageTimes is what the hours on the part at a place say; of several places that
// it touches the most.
func ageTimes(part *figures.Part, place evidence.Place) float64 {
	most := 0.0
	for _, at := range part.PerPlace {
		if !at.Place.Touches(place) {
			continue
		}
		times := 1.0
		if end := endingAt(part, at.Place); end != nil && at.Fitted && at.Running > 0 {
			times = hazardTimes(end, at.Running)
		}
		most = max(most, times)
	}
	if most == 0 {
		return 1
	}
	return most
}

// endingAt is how parts end at a place, nil if that is not known.
func endingAt(part *figures.Part, place evidence.Place) *figures.PartEnd {
	for i := range part.Ends {
		end := &part.Ends[i]
		if len(end.Places) == 0 || slices.Contains(end.Places, place) != end.Others {
			if end.Shape == nil || end.Median == nil {
				return nil
			}
			return end
		}
	}
	return nil
}

func hazardTimes(end *figures.PartEnd, hours float64) float64 {
	shape := end.Shape.Low
	if shape <= 1 {
		if end.Shape.High == nil || *end.Shape.High >= 1 {
			return 1
		}
		shape = *end.Shape.High
	}
	scale, bound := end.Median.Value/math.Pow(math.Ln2, 1/shape), float64(end.Failed+2)
	return min(bound, max(1/bound, shape*math.Pow(hours/scale, shape-1)*math.Gamma(1+1/shape)))
}
