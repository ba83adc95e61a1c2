package align_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"telltale/engine/align"
	"telltale/engine/measure"
)

const inch = 0.0254 // metres, exact (NIST SP 811)

func ptr[T any](x T) *T { return &x }

// inches is a reading in inches of a gauge with this step.
func inches(reading, step float64) *measure.Value {
	v := measure.FromStep(reading*inch, step*inch)
	return &v
}

var stations = []string{align.Back, align.Middle, align.Front}

// plane has top and bottom clearances in inches at back, middle and front.
func plane(at *float64, step float64, top, bottom [3]float64) align.Plane {
	p := align.Plane{At: at}
	for i, name := range stations {
		p.Positions = append(p.Positions, align.Position{Name: name, Top: inches(top[i], step), Bottom: inches(bottom[i], step)})
	}
	return p
}

// ready is a rod that may be corrected, with the planes given; stroke 12 in.
func ready(planes ...align.Plane) align.Input {
	return align.Input{Planes: planes, Stroke: 12 * inch, Parted: align.Yes, Seated: align.Yes}
}

// supports at 9 in either side of the crosshead centre.
var supports = &align.Supports{Front: 9 * inch, Rear: -9 * inch}

// shimStock is pre-cut shim stock in inches, as sold; thicknesses are common practice, no source.
func shimStock() []align.Shim {
	var out []align.Shim
	for _, t := range []float64{.001, .002, .003, .004, .005, .010, .015, .020, .025, .050} {
		out = append(out, align.Shim{Name: fmt.Sprintf("%g", t*1000), Nominal: t * inch})
	}
	return out
}

func centre(t *testing.T, in align.Input) align.Centring {
	t.Helper()
	out, err := align.Centre(in)
	require.NoError(t, err)
	return out
}

func says(t *testing.T, in align.Input, r align.Reason) bool {
	t.Helper()
	out := centre(t, in)
	return out.Says(r)
}

// only keeps these positions of a plane.
func only(p *align.Plane, keep ...string) {
	p.Positions = slices.DeleteFunc(p.Positions, func(p align.Position) bool { return !slices.Contains(keep, p.Name) })
}

// pack is the one for an end of the lower guide; nil if none goes there.
func pack(c align.Centring, where string) *align.Pack {
	for i, p := range c.Packs {
		if p.Where == where || p.Where == align.UnderBoth {
			return &c.Packs[i]
		}
	}
	return nil
}

// pump is a guide and a rod drawn as rigid bodies, apart from the engine's formulas: the
// crosshead centre rides on the guide line, the rod leaves it at the guide's angle and eps
// more. Heights in metres, angles in radians.
type pump struct {
	height, tilt, eps float64
	half              float64 // half of opening less rod
}

func (p pump) rod(s, x float64) float64 {
	return p.height + p.tilt*s + (x-s)*math.Tan(math.Atan(p.tilt)+p.eps)
}

// shimmed is the pump with its guide lifted at two supports.
func (p pump) shimmed(front, rear float64, at align.Supports) pump {
	on := func(x, lift float64) float64 { return p.height + p.tilt*x + lift }
	hi, lo := on(at.Front, front), on(at.Rear, rear)
	p.tilt = (hi - lo) / (at.Front - at.Rear)
	p.height = lo - p.tilt*at.Rear
	return p
}

// read measures the pump's clearances at x with the gauge given.
func (p pump) read(x, stroke float64, gauge func(clearance float64) *measure.Value) align.Plane {
	out := align.Plane{At: &x}
	for i, s := range []float64{-stroke / 2, 0, stroke / 2} {
		z := p.rod(s, x)
		out.Positions = append(out.Positions, align.Position{Name: stations[i], Top: gauge(p.half - z), Bottom: gauge(p.half + z)})
	}
	return out
}

// fine is a gauge so good that it hides nothing.
func fine(clearance float64) *measure.Value { return &measure.Value{Mean: clearance, U: 1e-9} }
