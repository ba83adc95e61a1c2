package noisyor

// The kernels below walk over the state in blocks that differ only in the bits of
// two or three pins. The first index of the next block follows from the last one by
// adding one in the bits that are not pinned: ((base | mask) + 1) &^ mask.
//
// A source with masses yes and no (which add up to one) maps the pair (not explained,
// explained) to (no*x, yes*x + y). The kernels first add yes*x to y for every pin and
// then weigh by the product of the no masses of the pins not explained, which saves
// half of the multiplications. Their transposes do the same in the opposite order.

// spread2 writes the state src after the pins a and b into dst, which may be src.
func spread2(dst, src []float64, a, b pin) {
	mask := a.bit | b.bit
	both := a.no * b.no
	for base, left := 0, len(src)>>2; left > 0; left-- {
		ia, ib, iab := base|a.bit, base|b.bit, base|mask
		x, xa, xb, xab := src[base], src[ia], src[ib], src[iab]
		xa += a.yes * x
		xab += a.yes * xb
		xb += b.yes * x
		xab += b.yes * xa
		dst[base], dst[ia], dst[ib], dst[iab] = both*x, b.no*xa, a.no*xb, xab
		base = ((base | mask) + 1) &^ mask
	}
}

// gather2 is the transpose of spread2.
func gather2(dst, src []float64, a, b pin) {
	mask := a.bit | b.bit
	both := a.no * b.no
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

// mix2 writes off*old + on*(src after the pins a and b) into dst.
func mix2(dst, old, src []float64, off, on float64, a, b pin) {
	mask := a.bit | b.bit
	w, wa, wb := on*a.no*b.no, on*b.no, on*a.no
	for base, left := 0, len(src)>>2; left > 0; left-- {
		ia, ib, iab := base|a.bit, base|b.bit, base|mask
		x, xa, xb, xab := src[base], src[ia], src[ib], src[iab]
		xa += a.yes * x
		xab += a.yes * xb
		xb += b.yes * x
		xab += b.yes * xa
		dst[base] = off*old[base] + w*x
		dst[ia] = off*old[ia] + wa*xa
		dst[ib] = off*old[ib] + wb*xb
		dst[iab] = off*old[iab] + on*xab
		base = ((base | mask) + 1) &^ mask
	}
}

// mix3 is mix2 with three pins.
func mix3(dst, old, src []float64, off, on float64, a, b, c pin) {
	mask := a.bit | b.bit | c.bit
	wab, wac, wbc := on*c.no, on*b.no, on*a.no
	wa, wb, wc, w := on*b.no*c.no, on*a.no*c.no, on*a.no*b.no, on*a.no*b.no*c.no
	for base, left := 0, len(src)>>3; left > 0; left-- {
		ia, ib, iab := base|a.bit, base|b.bit, base|a.bit|b.bit
		ic, iac, ibc, iabc := base|c.bit, ia|c.bit, ib|c.bit, base|mask
		x, xa, xb, xab := src[base], src[ia], src[ib], src[iab]
		xc, xac, xbc, xabc := src[ic], src[iac], src[ibc], src[iabc]
		xa += a.yes * x
		xab += a.yes * xb
		xac += a.yes * xc
		xabc += a.yes * xbc
		xb += b.yes * x
		xab += b.yes * xa
		xbc += b.yes * xc
		xabc += b.yes * xac
		xc += c.yes * x
		xac += c.yes * xa
		xbc += c.yes * xb
		xabc += c.yes * xab
		dst[base] = off*old[base] + w*x
		dst[ia] = off*old[ia] + wa*xa
		dst[ib] = off*old[ib] + wb*xb
		dst[iab] = off*old[iab] + wab*xab
		dst[ic] = off*old[ic] + wc*xc
		dst[iac] = off*old[iac] + wac*xac
		dst[ibc] = off*old[ibc] + wbc*xbc
		dst[iabc] = off*old[iabc] + on*xabc
		base = ((base | mask) + 1) &^ mask
	}
}

// join2 replaces g by off*g + h, where h is on*(src before the pins a and b), and
// returns the products of the state before with h and with g as it was.
func join2(g, src, before []float64, off, on float64, a, b pin) (present, absent float64) {
	mask := a.bit | b.bit
	w, wa, wb := on*a.no*b.no, on*b.no, on*a.no
	for base, left := 0, len(src)>>2; left > 0; left-- {
		ia, ib, iab := base|a.bit, base|b.bit, base|mask
		h, ha, hb, hab := w*src[base], wa*src[ia], wb*src[ib], on*src[iab]
		h += a.yes * ha
		hb += a.yes * hab
		h += b.yes * hb
		ha += b.yes * hab
		v, va, vb, vab := before[base], before[ia], before[ib], before[iab]
		present += (v*h + va*ha) + (vb*hb + vab*hab)
		f, fa, fb, fab := off*g[base], off*g[ia], off*g[ib], off*g[iab]
		absent += (v*f + va*fa) + (vb*fb + vab*fab)
		g[base], g[ia], g[ib], g[iab] = f+h, fa+ha, fb+hb, fab+hab
		base = ((base | mask) + 1) &^ mask
	}
	return present, absent
}

// join3 is join2 with three pins.
func join3(g, src, before []float64, off, on float64, a, b, c pin) (present, absent float64) {
	mask := a.bit | b.bit | c.bit
	wab, wac, wbc := on*c.no, on*b.no, on*a.no
	wa, wb, wc, w := on*b.no*c.no, on*a.no*c.no, on*a.no*b.no, on*a.no*b.no*c.no
	for base, left := 0, len(src)>>3; left > 0; left-- {
		ia, ib, iab := base|a.bit, base|b.bit, base|a.bit|b.bit
		ic, iac, ibc, iabc := base|c.bit, ia|c.bit, ib|c.bit, base|mask
		h, ha, hb, hab := w*src[base], wa*src[ia], wb*src[ib], wab*src[iab]
		hc, hac, hbc, habc := wc*src[ic], wac*src[iac], wbc*src[ibc], on*src[iabc]
		h += a.yes * ha
		hb += a.yes * hab
		hc += a.yes * hac
		hbc += a.yes * habc
		h += b.yes * hb
		ha += b.yes * hab
		hc += b.yes * hbc
		hac += b.yes * habc
		h += c.yes * hc
		ha += c.yes * hac
		hb += c.yes * hbc
		hab += c.yes * habc
		v, va, vb, vab := before[base], before[ia], before[ib], before[iab]
		vc, vac, vbc, vabc := before[ic], before[iac], before[ibc], before[iabc]
		present += ((v*h + va*ha) + (vb*hb + vab*hab)) + ((vc*hc + vac*hac) + (vbc*hbc + vabc*habc))
		f, fa, fb, fab := off*g[base], off*g[ia], off*g[ib], off*g[iab]
		fc, fac, fbc, fabc := off*g[ic], off*g[iac], off*g[ibc], off*g[iabc]
		absent += ((v*f + va*fa) + (vb*fb + vab*fab)) + ((vc*fc + vac*fac) + (vbc*fbc + vabc*fabc))
		g[base], g[ia], g[ib], g[iab] = f+h, fa+ha, fb+hb, fab+hab
		g[ic], g[iac], g[ibc], g[iabc] = fc+hc, fac+hac, fbc+hbc, fabc+habc
		base = ((base | mask) + 1) &^ mask
	}
	return present, absent
}

// settle writes src into dst without the given bit: what was not explained is
// explained by the background with mass yes.
func settle(dst, src []float64, bit int, yes, scale float64) {
	for base, k := 0, 0; k < len(dst); k++ {
		dst[k] = scale * (yes*src[base] + src[base|bit])
		base = ((base | bit) + 1) &^ bit
	}
}

// unsettle is the transpose of settle. It also returns the products of the state
// before it with g, over what was not explained and over what was.
func unsettle(dst, g, before []float64, bit int, yes, scale float64) (open, done float64) {
	for base, k := 0, 0; k < len(g); k++ {
		x := scale * g[k]
		open += x * before[base]
		done += x * before[base|bit]
		dst[base], dst[base|bit] = yes*x, x
		base = ((base | bit) + 1) &^ bit
	}
	return open, done
}
