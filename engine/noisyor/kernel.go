package noisyor

import "math"

// A source that is on maps the pair (not explained, explained) of each observation
// that it is linked to from (x, y) to (no*x, yes*x + y). The kernels do that for two
// observations at a time, a and b, which halves the walks over the state. They walk in
// blocks of four; the first index of the next block follows from the last one by adding
// one in the bits that are neither a's nor b's.

// spread works the links of a source into the state src. dst may be src.
func spread(dst, src []float64, pins []pin) {
	if len(pins) == 0 {
		copy(dst, src)
		return
	}
	if len(pins)%2 == 1 {
		spread1(dst, src, pins[0])
		src, pins = dst, pins[1:]
	}
	for ; len(pins) > 0; src, pins = dst, pins[2:] {
		spread2(dst, src, pins[0], pins[1])
	}
}

func spread1(dst, src []float64, a pin) {
	for base, left := 0, len(src)>>1; left > 0; left-- {
		x := src[base]
		dst[base], dst[base|a.bit] = a.no*x, src[base|a.bit]+a.yes*x
		base = ((base | a.bit) + 1) &^ a.bit
	}
}

func spread2(dst, src []float64, a, b pin) {
	mask, both := a.bit|b.bit, a.no*b.no
	for base, left := 0, len(src)>>2; left > 0; left-- {
		ia, ib, iab := base|a.bit, base|b.bit, base|mask
		x, xa, xb, xab := src[base], src[ia], src[ib], src[iab]
		xa += a.yes * x
		xab += a.yes * xb
		xab += b.yes * xa
		xb += b.yes * x
		dst[base], dst[ia], dst[ib], dst[iab] = both*x, b.no*xa, a.no*xb, xab
		base = ((base | mask) + 1) &^ mask
	}
}

// gather is the transpose of spread.
func gather(dst, src []float64, pins []pin) {
	if len(pins) == 0 {
		copy(dst, src)
		return
	}
	if len(pins)%2 == 1 {
		gather1(dst, src, pins[0])
		src, pins = dst, pins[1:]
	}
	for ; len(pins) > 0; src, pins = dst, pins[2:] {
		gather2(dst, src, pins[0], pins[1])
	}
}

func gather1(dst, src []float64, a pin) {
	for base, left := 0, len(src)>>1; left > 0; left-- {
		y := src[base|a.bit]
		dst[base], dst[base|a.bit] = a.no*src[base]+a.yes*y, y
		base = ((base | a.bit) + 1) &^ a.bit
	}
}

func gather2(dst, src []float64, a, b pin) {
	mask, both := a.bit|b.bit, a.no*b.no
	for base, left := 0, len(src)>>2; left > 0; left-- {
		ia, ib, iab := base|a.bit, base|b.bit, base|mask
		x, xa, xb, xab := both*src[base], b.no*src[ia], a.no*src[ib], src[iab]
		x += a.yes * xa
		xb += a.yes * xab
		x += b.yes * xb
		xa += b.yes * xab
		dst[base], dst[ia], dst[ib], dst[iab] = x, xa, xb, xab
		base = ((base | mask) + 1) &^ mask
	}
}

// mix writes into dst the state of a source that may be on, from those with it on and off.
func mix(dst, with, without []float64, m pair) {
	with, without = with[:len(dst)], without[:len(dst)]
	for k, x := range with {
		dst[k] = m.off*without[k] + m.on*x
	}
}

// join is the transpose of mix: it replaces g by off*g + on*with, where with is g
// before a source that is on. It returns the products of the state before the source
// with both parts.
func join(g, with, before []float64, m pair) pair {
	with, before = with[:len(g)], before[:len(g)]
	var p, q pair // two sums at a time, so that one need not wait for the other
	for k := 0; k+1 < len(g); k += 2 {
		x, y := m.on*with[k], m.on*with[k+1]
		u, v := m.off*g[k], m.off*g[k+1]
		p.on += before[k] * x
		q.on += before[k+1] * y
		p.off += before[k] * u
		q.off += before[k+1] * v
		g[k], g[k+1] = u+x, v+y
	}
	return pair{p.on + q.on, p.off + q.off}
}

// settle writes src into dst without the given bit: what was not explained is explained
// by the background with mass yes.
func settle(dst, src []float64, bit int, yes float64) {
	for base := 0; base < len(dst); base += bit {
		open, done, out := src[2*base:][:bit], src[2*base+bit:][:bit], dst[base:][:bit]
		for k, x := range open {
			out[k] = yes*x + done[k]
		}
	}
}

// mostLikely bounds the likelihood of what comes behind a state, so that it stays a
// number where no such state can be reached.
const mostLikely = 0x1p+900

// unsettle is the transpose of settle, with the scale taken out behind it.
func unsettle(dst, g []float64, bit int, yes, scale float64) {
	for base := 0; base < len(g); base += bit {
		open, done, in := dst[2*base:][:bit], dst[2*base+bit:][:bit], g[base:][:bit]
		for k, x := range in {
			x = min(scale*x, mostLikely)
			open[k], done[k] = yes*x, x
		}
	}
}

// rescale brings a state near one. It finds the same scale whenever it is run.
func (t *step) rescale(state []float64) {
	top := 0.0
	for _, x := range state {
		top = max(top, x)
	}
	_, t.exp = math.Frexp(top)
	t.exp = max(t.exp, -1000)
	if scale := t.scale(); scale != 1 {
		for k := range state {
			state[k] *= scale
		}
	}
}

// scale is the power of two by which the state is multiplied behind t.
func (t *step) scale() float64 { return math.Ldexp(1, -t.exp) }
