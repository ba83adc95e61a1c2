package noisyor

import "math"

// scaled is a non-negative number part * 2^exp, kept so that long products
// neither overflow nor underflow. The part stays below 2^200 and, unless the
// number is 0, above 2^-200.
type scaled struct {
	part float64
	exp  int
}

const (
	hugePart = 0x1p+200
	tinyPart = 0x1p-200
)

// one is the empty product.
func one() scaled { return scaled{part: 1} }

// mul multiplies z by x, which is finite and not negative.
func (z *scaled) mul(x float64) {
	if x < tinyPart || x > hugePart {
		part, exp := math.Frexp(x)
		x, z.exp = part, z.exp+exp
	}
	z.part *= x
	if z.part < hugePart && z.part > tinyPart {
		return
	}
	part, exp := math.Frexp(z.part)
	z.part, z.exp = part, z.exp+exp
}

// value returns z as a float64: 0 when it is too small.
func (z scaled) value() float64 {
	if z.exp == 0 {
		return z.part
	}
	return math.Ldexp(z.part, z.exp)
}
