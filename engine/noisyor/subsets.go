package noisyor

// The operations on vectors over subsets. Bit p of an index says whether the
// positive at position p is explained.

// bitLink is a positiveLink at a position of the state.
type bitLink struct {
	position int
	yes, no  float64
}

// spread applies A of one link: half of what lacks the bit gains it.
func spread(v []float64, l bitLink) {
	half := 1 << l.position
	for base := 0; base < len(v); base += 2 * half {
		lo := v[base : base+half]
		hi := v[base+half : base+2*half][:len(lo)]
		for i, x := range lo {
			hi[i] += l.yes * x
			lo[i] = l.no * x
		}
	}
}

// gather applies the adjoint of spread.
func gather(g []float64, l bitLink) {
	half := 1 << l.position
	for base := 0; base < len(g); base += 2 * half {
		lo := g[base : base+half]
		hi := g[base+half : base+2*half][:len(lo)]
		for i, x := range hi {
			lo[i] = l.no*lo[i] + l.yes*x
		}
	}
}

// mix sets v = off v + on w.
func mix(v, w []float64, off, on float64) {
	w = w[:len(v)]
	for i, x := range v {
		v[i] = off*x + on*w[i]
	}
}

func dot(a, b []float64) float64 {
	b = b[:len(a)]
	sum := 0.0
	for i, x := range a {
		sum += x * b[i]
	}
	return sum
}

// enter adds a bit on top: nothing has it yet.
func enter(v []float64) []float64 {
	n := len(v)
	v = v[:2*n]
	clear(v[n:])
	return v
}

// leave takes the bit at a position out: what has it may get anything more
// from the background, what lacks it must get it there.
func leave(v []float64, position int, y Yield) []float64 {
	half := 1 << position
	out := 0
	for base := 0; base < len(v); base += 2 * half {
		for i := base; i < base+half; i++ {
			v[out] = (y.Yes+y.No)*v[i+half] + y.Yes*v[i]
			out++
		}
	}
	return v[:out]
}

// unleave applies the adjoint of leave, in place, from the top down.
func unleave(g []float64, position int, y Yield) []float64 {
	half := 1 << position
	in := len(g) - 1
	g = g[:2*len(g)]
	for base := len(g) - 2*half; base >= 0; base -= 2 * half {
		for i := base + half - 1; i >= base; i-- {
			x := g[in]
			in--
			g[i+half] = (y.Yes + y.No) * x
			g[i] = y.Yes * x
		}
	}
	return g
}

// contract gives how the total depends on a positive's background: the
// total is Yes*all + No*had, where all counts all and had only what has the
// bit already. g is the adjoint after the bit has gone.
func contract(v, g []float64, position int) (all, had float64) {
	half := 1 << position
	in := 0
	for base := 0; base < len(v); base += 2 * half {
		for i := base; i < base+half; i++ {
			all += g[in] * (v[i] + v[i+half])
			had += g[in] * v[i+half]
			in++
		}
	}
	return all, had
}
