package lives

import "math"

// region is all that the lives allow a Weibull distribution to be: the shapes and
// scales at which the likelihood is not below a least one.
type region []allowed

// allowed is a shape and, from least to most, scales that the lives allow with it.
type allowed struct {
	shape  float64
	scales [scaleSteps]float64
}

// How many shapes and scales stand for the region. The shapes go by the sine, so that
// they lie close where the region ends.
const (
	regionShapes = 129
	scaleSteps   = 9
)

// region is that of a likelihood, between the limits of the shape at the least one. Of
// a shape at its best scale the log likelihood falls by failed*(q-1-ln q) where
// (best scale/scale)^shape is q.
func (f *likelihood) region(shapes Estimate, least float64) region {
	low, high := math.Log(max(shapes.Low, leastShape)), math.Log(mostShape)
	if shapes.High != nil {
		high = math.Log(*shapes.High)
	}
	out := make(region, regionShapes)
	for i := range out {
		turn := math.Pi * (float64(i)/(regionShapes-1) - 0.5)
		shape := math.Exp((low+high)/2 + (high-low)/2*math.Sin(turn))
		spare := max(0, f.ofShape(shape)-least) / f.failed
		falls := func(q float64) float64 { return q - 1 - math.Log(q) - spare }
		most := -math.Log(between(falls, 1, 1e-300, 1e-7)) // of ln(scale/best scale)*shape
		least := -math.Log(between(falls, 1, 1e300, 1e-7))
		best := math.Log(f.scale(shape))
		out[i].shape = shape
		for k := range out[i].scales {
			out[i].scales[k] = math.Exp(best + (least+(most-least)*float64(k)/(scaleSteps-1))/shape)
		}
	}
	return out
}

// estimate is a figure of the best shape and scale, with the least and the greatest that
// it is anywhere in the region: the limits of its profile likelihood. A limit that is a
// billion times off is none.
func (w *Weibull) estimate(of func(shape float64) func(scale float64) float64) Estimate {
	value := of(w.Shape.Value)(w.Scale)
	low, high := value, value
	for _, a := range w.region {
		figure := of(a.shape)
		for _, scale := range a.scales {
			x := figure(scale)
			low, high = min(low, x), max(high, x)
		}
	}
	out := Estimate{Value: value, Low: low}
	if math.Abs(low) < math.Abs(value)*1e-9 {
		out.Low = 0
	}
	if high <= math.Abs(value)*1e9 {
		out.High = &high
	}
	return out
}
