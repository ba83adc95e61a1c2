package noisyor

import "math"

// scaled is a non-negative number part * 2^exp, kept so that long products of
// numbers up to about one do not underflow. The part is above 2^-200 unless the
// number is 0.
type scaled struct {
	part float64
	exp  int
}

// tinyPart is the least part.
const tinyPart = 0x1p-200

// one is the empty product.
func one() scaled { return scaled{part: 1} }

// mul multiplies z by x, which is not negative and at most about one.
func (z *scaled) mul(x float64) {
	if part := z.part * x; part > tinyPart {
		z.part = part
		return
	}
	z.mulFar(x)
}

// mulFar is mul where the product is below the least part.
func (z *scaled) mulFar(x float64) {
	part, exp := math.Frexp(z.part)
	other, more := math.Frexp(x)
	z.part, z.exp = part*other, z.exp+exp+more
}

// value returns z as a float64: 0 when it is too small.
func (z scaled) value() float64 {
	if z.exp == 0 {
		return z.part
	}
	return math.Ldexp(z.part, z.exp)
}
