package noisyor

import "math"

// scaled is a non-negative number part * 2^exp, so that long products of numbers up to
// about one do not underflow.
type scaled struct {
	part float64
	exp  int
}

// one is the empty product.
func one() scaled { return scaled{part: 1} }

// mul multiplies z by x, which is not negative.
func (z *scaled) mul(x float64) {
	if product := z.part * x; inReach(product) {
		z.part = product
		return
	}
	part, exp := math.Frexp(x)
	z.join(scaled{part, exp})
}

// inReach says whether a part needs no power of two taken out of it yet.
func inReach(part float64) bool { return part > 0x1p-200 && part < 0x1p200 }

// join multiplies z by y.
func (z *scaled) join(y scaled) {
	if product := z.part * y.part; inReach(product) {
		z.part, z.exp = product, z.exp+y.exp
		return
	}
	part, exp := math.Frexp(z.part)
	z.part, z.exp = part, z.exp+exp
	part, exp = math.Frexp(z.part * y.part)
	z.part, z.exp = part, z.exp+y.exp+exp
}

// add adds x, which is not negative, to z.
func (z *scaled) add(x float64) {
	switch {
	case x == 0:
	case z.part == 0:
		*z = scaled{part: x}
	case z.exp == 0:
		z.part += x
	default: // z is far below its part
		*z = scaled{part: x + z.value()}
	}
}

// over is z / y, where z is a part of y; 0 if both are.
func (z scaled) over(y scaled) float64 {
	switch {
	case z.part == 0:
		return 0
	case z.exp == y.exp:
		return z.part / y.part
	}
	return math.Ldexp(z.part/y.part, z.exp-y.exp)
}

// value returns z as a float64: 0 when it is too small.
func (z scaled) value() float64 { return math.Ldexp(z.part, z.exp) }
