package wear

import (
	"cmp"
	"math"
	"slices"
)

// wider is how many times as doubtful a misread reading is: a wrong leaf, a wrong place, a
// digit turned.
const wider = 10

// What is taken beforehand of how much the readings scatter, see doc.go: as if so many
// readings more than needed had been seen, which scattered so many times as much, in
// squares, as their uncertainties say.
const (
	priorFree  = 2
	priorSpare = 1.5
)

// way is one way in which the readings may have come about: a set of them is misread. By
// it every figure of the line has a Student distribution.
type way struct {
	line
	misread set
	scatter float64 // how many times as much as their uncertainties say the readings scatter
	chance  float64
}

// search weighs sets of misread readings. A set weighs what is left of the likelihood with
// levels, rate and scatter integrated out,
//
//	share^m (1-share)^(n-m) wider^-m det^(-1/2) (priorFree priorSpare + chi)^(-free/2)
//
// where m of n readings are misread.
type search struct {
	points    []point
	free      float64
	good, bad float64 // log of the share, for a good and for a misread reading
	best      weighed
	cut       float64 // log; what weighs less than so much of the best is not followed
	found     []weighed
	rooms     [][]sums // by depth
}

// weighed is a set with its fit and the log of its weight.
type weighed struct {
	line
	misread set
	log     float64
}

// Limits of a search.
const (
	wholeUpTo = 12   // readings of which every set is weighed
	followed  = 1e-5 // of the best: what weighs less is not followed where there are more readings
	leftOut   = 1e-3 // of the whole weight, what is left out of what was weighed
	nothing   = -18  // log, beside the best: 4096 sets that each weigh less come to 6e-5
	mostSets  = 20000
)

// weigh gives the ways with their chances, the likeliest first, and the degrees of freedom
// of their distributions.
//
// Up to wholeUpTo readings every set is weighed. With more it begins with a set that no
// turn of one reading (good to misread or back) makes likelier, and turns one reading
// after the other, as long as a set weighs followed of the best. So a set is missed only
// if every way to it by turns, in the order of the readings, leads through one that weighs
// almost nothing. What is missed is measured in the tests, not proved.
func weigh(points []point, share float64) ([]way, int) {
	s := newSearch(points, share)
	runs := sumsOf(points, 0)
	s.best = s.weigh(runs, 0)
	switch {
	case share == 0:
		s.found = []weighed{s.best}
	case len(points) <= wholeUpTo:
		s.cut = math.Inf(-1)
		s.walk(runs, s.best, 0)
	default:
		s.cut = math.Log(followed)
		for top := set(1); top != s.best.misread; {
			s.climb()
			top, s.found = s.best.misread, nil
			s.walk(sumsOf(points, top), s.best, 0)
		}
	}
	return s.ways(), int(s.free)
}

func newSearch(points []point, share float64) *search {
	runs := points[len(points)-1].run + 1
	return &search{
		points: points, free: float64(len(points) - runs - 1 + priorFree),
		good: math.Log1p(-share), bad: math.Log(share / wider), rooms: make([][]sums, len(points)+1),
	}
}

func (s *search) weigh(runs []sums, misread set) weighed {
	w := weighed{line: lineOf(runs), misread: misread}
	w.log = float64(len(s.points))*s.good - w.logDet/2 - s.free*math.Log(s.scatter(w.line))
	if m := misread.size(); m > 0 {
		w.log += float64(m) * (s.bad - s.good)
	}
	return w
}

func (s *search) scatter(l line) float64 { return math.Sqrt((priorFree*priorSpare + l.chi) / s.free) }

// turn gives the sums and the weight with one reading turned.
func (s *search) turn(runs []sums, misread set, i, depth int) ([]sums, weighed) {
	p := s.points[i]
	out := append(s.rooms[depth][:0], runs...)
	s.rooms[depth] = out
	by := p.weight(true) - p.weight(false)
	if misread.has(i) {
		by = -by
	}
	out[p.run].add(p, by)
	out[p.run].close()
	return out, s.weigh(out, misread.turned(i))
}

// climb turns single readings, or two at once, as long as the best set gets likelier.
func (s *search) climb() {
	for from := set(1) << 63; from != s.best.misread; {
		from = s.best.misread
		runs := sumsOf(s.points, from)
		for i := range s.points {
			one, w := s.turn(runs, from, i, 0)
			s.keep(w)
			for j := range i {
				_, w := s.turn(one, w.misread, j, 1)
				s.keep(w)
			}
		}
	}
}

func (s *search) keep(w weighed) {
	if w.log > s.best.log {
		s.best = w
	}
}

// walk weighs the sets that follow from one by turning readings from an index on.
func (s *search) walk(runs []sums, w weighed, from int) {
	s.keep(w)
	if w.log > s.best.log+nothing {
		s.found = append(s.found, w)
	}
	for i := from; i < len(s.points) && len(s.found) < mostSets; i++ {
		if next, w := s.turn(runs, w.misread, i, from); w.log >= s.best.log+s.cut {
			s.walk(next, w, i+1)
		}
	}
}

// ways keeps the likeliest sets, until what is left out of those found is at most leftOut
// of the whole.
func (s *search) ways() []way {
	var out []way
	total := 0.0
	for _, w := range s.found {
		chance := math.Exp(w.log - s.best.log)
		total += chance
		if chance > leftOut/float64(len(s.found)) {
			out = append(out, way{line: w.line, misread: w.misread, scatter: s.scatter(w.line), chance: chance})
		}
	}
	slices.SortFunc(out, func(a, b way) int { return cmp.Or(cmp.Compare(b.chance, a.chance), cmp.Compare(a.misread, b.misread)) })
	sum := 0.0
	for i := range out {
		if sum += out[i].chance; sum >= total*(1-leftOut) {
			out = out[:i+1]
			break
		}
	}
	for i := range out {
		out[i].chance /= sum
	}
	return out
}
