package wear

import (
	"math"
	"math/bits"
)

// point is a reading as the fit sees it: at is hours after a middle, past how far the
// length is beyond the limit in the direction of wear.
type point struct {
	at, past, u float64
	run         int // index of its run; the last one is the run of now
}

// line is the weighted least-squares fit of one rate and a level for each run, some
// readings being taken as misread, so wider times as doubtful:
//
//	past = level[run] + rate at
//
// With the weights w = 1/u^2 and sums about the weighted means of each run (analysis of
// covariance; Draper and Smith, Applied Regression Analysis, 3rd ed., ch. 14, from memory)
//
//	rate = S(at past) / S(at at),   var rate = 1 / S(at at)
//	var of the level at a time = 1/W + (at - mean at)^2 / S(at at)
type line struct {
	rate, lever   float64 // lever is S(at at)
	weight        float64 // W of the run of now
	middle, level float64 // mean at and mean past of the run of now
	chi           float64 // sum of squares of what is left, in uncertainties
	logDet        float64 // log of the determinant of what the readings tell
}

// sums are the weighted sums of one run, about its first reading: a run of one hour then
// has a lever of 0, free of rounding.
type sums struct {
	first              point
	weight, at, past   float64
	square, both, rest float64
	// what they come to
	logWeight, tt, ty, yy float64
}

func (s *sums) add(p point, w float64) {
	t, y := p.at-s.first.at, p.past-s.first.past
	s.weight += w
	s.at += w * t
	s.past += w * y
	s.square += w * t * t
	s.both += w * t * y
	s.rest += w * y * y
}

// close works out what the sums come to, about the weighted means.
func (s *sums) close() {
	s.logWeight = math.Log(s.weight)
	s.tt = math.Max(0, s.square-s.at*s.at/s.weight)
	s.ty = s.both - s.at*s.past/s.weight
	s.yy = s.rest - s.past*s.past/s.weight
}

// means are the weighted means of a run.
func (s *sums) means() (at, past float64) {
	return s.first.at + s.at/s.weight, s.first.past + s.past/s.weight
}

// sumsOf are the sums of all runs with a set of misread readings.
func sumsOf(points []point, misread set) []sums {
	out := make([]sums, points[len(points)-1].run+1)
	for i, p := range points {
		if i == 0 || p.run != points[i-1].run {
			out[p.run].first = p
		}
		out[p.run].add(p, p.weight(misread.has(i)))
	}
	for i := range out {
		out[i].close()
	}
	return out
}

func (p point) weight(misread bool) float64 {
	if misread {
		return 1 / (wider * wider * p.u * p.u)
	}
	return 1 / (p.u * p.u)
}

func lineOf(runs []sums) line {
	var l line
	var ty, yy float64
	for i := range runs {
		s := &runs[i]
		l.lever, ty, yy = l.lever+s.tt, ty+s.ty, yy+s.yy
		l.logDet += s.logWeight
	}
	l.logDet += math.Log(l.lever)
	l.rate = ty / l.lever
	l.chi = math.Max(0, yy-l.rate*ty)
	now := &runs[len(runs)-1]
	l.weight = now.weight
	l.middle, l.level = now.means()
	return l
}

// set is a set of readings by their index.
type set uint64

func (s set) has(i int) bool { return s>>i&1 == 1 }

func (s set) turned(i int) set { return s ^ 1<<i }

func (s set) size() int { return bits.OnesCount64(uint64(s)) }
