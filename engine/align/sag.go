package align

import (
	"errors"
	"math"
)

// gravity is the standard acceleration of free fall in m/s^2 (3rd CGPM, 1901).
const gravity = 9.80665

// SagOfOverhang is by how much, in metres, the free end of a round rod of this length and
// diameter (metres) hangs below its fixed end by its own weight: w L^4/(8 E I), with w the
// weight per metre and I = pi d^4/64 (cantilever under even load, Timoshenko, Strength of
// Materials; from memory). modulus is Young's modulus in Pa, density in kg/m^3. It matters
// where it comes near what the gauge resolves; the shims make up for it unasked.
func SagOfOverhang(length, diameter, modulus, density float64) (float64, error) {
	for _, x := range []float64{length, diameter, modulus, density} {
		if !(x > 0 && x < 1e15) {
			return 0, errors.New("length, diameter, modulus and density must be above 0")
		}
	}
	// w/I = density g (pi d^2/4)/(pi d^4/64) = 16 density g/d^2
	sag := 2 * density * gravity * math.Pow(length, 4) / (modulus * diameter * diameter)
	if !(sag < length) {
		return 0, errors.New("no rod of these dimensions stands out by itself")
	}
	return sag, nil
}
