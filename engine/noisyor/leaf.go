package noisyor

// A source with one or two links and nothing under it is worked in at one walk over the
// state: the state with it on is not written down.

// passLeaf1 works a source with one link into the state src. dst may be src.
func passLeaf1(dst, src []float64, a pin, m pair) {
	stay, more, all := m.off+m.on*a.no, m.on*a.yes, m.off+m.on
	for base, left := 0, len(src)>>1; left > 0; left-- {
		x := src[base]
		dst[base], dst[base|a.bit] = stay*x, all*src[base|a.bit]+more*x
		base = ((base | a.bit) + 1) &^ a.bit
	}
}

// passLeaf2 is passLeaf1 for two links.
func passLeaf2(dst, src []float64, a, b pin, m pair) {
	onlyA, onlyB, both := m.on*a.yes*b.no, m.on*a.no*b.yes, m.on*a.yes*b.yes
	none, all := m.off+m.on*a.no*b.no, m.off+m.on
	stayA, stayB := m.off+m.on*b.no, m.off+m.on*a.no
	addA, addB := m.on*a.yes, m.on*b.yes
	mask := a.bit | b.bit
	for base, left := 0, len(src)>>2; left > 0; left-- {
		ia, ib, iab := base|a.bit, base|b.bit, base|mask
		x, xa, xb := src[base], src[ia], src[ib]
		dst[base], dst[ia], dst[ib] = none*x, stayA*xa+onlyA*x, stayB*xb+onlyB*x
		dst[iab] = all*src[iab] + addB*xa + addA*xb + both*x
		base = ((base | mask) + 1) &^ mask
	}
}

// pullLeaf1 takes the likelihood of what comes behind such a source to before it, and
// returns the products of the state before it with both parts.
func pullLeaf1(g, before []float64, a pin, m pair) pair {
	before = before[:len(g)]
	on, off := 0.0, 0.0
	for base, left := 0, len(g)>>1; left > 0; left-- {
		ia := base | a.bit
		x, xa := before[base], before[ia]
		h, ha := g[base], g[ia]
		w := a.no*h + a.yes*ha
		on += x*w + xa*ha
		off += x*h + xa*ha
		g[base], g[ia] = m.off*h+m.on*w, m.off*ha+m.on*ha
		base = (ia + 1) &^ a.bit
	}
	return pair{m.on * on, m.off * off}
}

// pullLeaf2 is pullLeaf1 for two links.
func pullLeaf2(g, before []float64, a, b pin, m pair) pair {
	before = before[:len(g)]
	onlyA, onlyB, both, none := a.yes*b.no, a.no*b.yes, a.yes*b.yes, a.no*b.no
	mask := a.bit | b.bit
	on, off := 0.0, 0.0
	for base, left := 0, len(g)>>2; left > 0; left-- {
		ia, ib, iab := base|a.bit, base|b.bit, base|mask
		x, xa, xb, xab := before[base], before[ia], before[ib], before[iab]
		h, ha, hb, hab := g[base], g[ia], g[ib], g[iab]
		w, wa, wb := none*h+onlyA*ha+(onlyB*hb+both*hab), b.no*ha+b.yes*hab, a.no*hb+a.yes*hab
		last := xab * hab
		on += x*w + xa*wa + (xb*wb + last)
		off += x*h + xa*ha + (xb*hb + last)
		g[base], g[ia], g[ib], g[iab] = m.off*h+m.on*w, m.off*ha+m.on*wa, m.off*hb+m.on*wb, m.off*hab+m.on*hab
		base = (iab + 1) &^ mask
	}
	return pair{m.on * on, m.off * off}
}
