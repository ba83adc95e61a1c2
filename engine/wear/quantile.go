package wear

import "math"

// end is one end of where a crossing is sought, with the chance there.
type end struct{ at, chance float64 }

// crossing is where a chance that rises from low to high passes q. It is sought on the
// scale of normal scores, where it is nearly a straight line, by false position, the end
// that stays being weighed half (Illinois; Dowell and Jarratt 1971, from memory), with a
// bisection where that is slow. Low is given where the chance is not below q there, high
// where it does not come to q.
func crossing(chance func(float64) float64, q float64, from, to end) float64 {
	want := score(q)
	low, fl, high, fh := from.at, score(from.chance)-want, to.at, score(to.chance)-want
	if fl >= 0 {
		return low
	}
	if fh <= 0 {
		return high
	}
	side := 0.0
	for n := range 100 {
		at := low + (high-low)*fl/(fl-fh)
		if n%4 == 3 || !(at > low && at < high) {
			at = low + (high-low)/2
		}
		v := score(chance(at)) - want
		if math.Abs(v) < 1e-5 || at <= low || at >= high {
			return at
		}
		if v < 0 {
			low, fl = at, v
			if side < 0 {
				fh /= 2
			}
		} else {
			high, fh = at, v
			if side > 0 {
				fl /= 2
			}
		}
		side = v
	}
	return low + (high-low)/2
}

// score is the normal score of a chance: standard normal values are below it with that
// chance. It stays finite.
func score(chance float64) float64 {
	return math.Sqrt2 * math.Erfinv(math.Min(math.Max(2*chance-1, -1+1e-15), 1-1e-15))
}

// student is Student's distribution.
type student struct {
	root    float64   // of the degrees of freedom
	factors []float64 // of the sum, the last term first
	odd     bool
}

func newStudent(free int) student {
	s := student{root: math.Sqrt(float64(free)), odd: free%2 == 1}
	for k := free - 2; k >= 2; k -= 2 {
		s.factors = append(s.factors, float64(k-1)/float64(k))
	}
	return s
}

// below is the chance of a value below x: a finite sum (Abramowitz and Stegun, Handbook of
// Mathematical Functions, 26.7.3 and 26.7.4, from memory; a test compares with gonum).
func (s student) below(x float64) float64 {
	short := 1 / math.Sqrt(x*x+s.root*s.root)
	sin, cos := x*short, s.root*short
	square, sum := cos*cos, 0.0
	for _, f := range s.factors {
		sum = (1 + sum) * square * f
	}
	if !s.odd {
		return 0.5 + sin*(1+sum)/2
	}
	out := math.Atan(x / s.root)
	if s.root > 1 {
		out += sin * cos * (1 + sum)
	}
	return 0.5 + out/math.Pi
}
