package wear

import (
	"fmt"
	"math"
	"slices"
)

// How far ahead the limit is looked for, in spans of the readings: the first step, the
// last one and how much longer each is than the one before.
const (
	firstStep = 1e-2
	lastStep  = 1e3
	longer    = 2
)

// due fills in when the limit is reached, and the length now.
func (t *Trend) due(q Question) {
	f, now := t.fit, q.Now-t.fit.middle
	t.Past = f.past(now)
	t.Level = f.levelAt(now)
	t.Outcome = Ahead
	if t.Past >= 0.5 {
		t.Outcome = Past
	}
	hours := f.reach(f.below, 0.5, f.above, 1-q.Confidence)
	t.Due = Due{hours[0], hours[1], hours[2]}
	t.Next = hours[3]
}

// reach gives the first hours, from the first reading of the run of now on, at which the
// chance that it is past the limit has come to each of the chances; nil if it never does.
// Later it may fall again where the rate is not settled: that is doubt of the rate, not
// a part that heals.
func (f *fitted) reach(chances ...float64) []*float64 {
	out := make([]*float64, len(chances))
	span := f.last - f.first
	before := end{f.start, f.past(f.start)}
	for i, c := range chances {
		if before.chance >= c {
			out[i] = f.hour(before.at)
		}
	}
	for step := firstStep; step <= lastStep; step *= longer {
		at := f.start + step*span
		now := end{at, f.past(at)}
		for i, c := range chances {
			if out[i] == nil && now.chance >= c {
				out[i] = f.hour(crossing(f.past, c, before, now))
			}
		}
		if !slices.Contains(out, nil) {
			break
		}
		before = now
	}
	return out
}

func (f *fitted) hour(at float64) *float64 {
	h := at + f.middle
	return &h
}

// next says when to read it again; Next is there as the hour at which it may be past the
// limit with the chance of 1 less the confidence: it is to be read before. It is to be
// read no later than when the span of its readings has doubled: with readings as good as
// those, that about halves the doubt of the rate. It is to be read at once where the
// readings as they are cannot be leant on.
func (t *Trend) next(q Question) {
	f := t.fit
	doubled := 2*f.last - f.first + f.middle
	if t.Next == nil || doubled < *t.Next {
		t.Next = &doubled
	}
	if *t.Next < q.Now || slices.ContainsFunc(t.Look, Look.atOnce) {
		t.Next = &q.Now
	}
}

// nextByOthers says when to read again what has too few readings: when it may be past the
// limit if it wears as the latest series before did that told a rate.
func (t *Trend) nextByOthers(q Question, newest Reading) {
	order := q.before()
	if order == nil {
		return
	}
	var before Trend
	before.Misread = make([]float64, len(q.Readings))
	before.rate(q, pointsOf(q, order), order)
	g := *before.fit
	g.start = newest.Hours - g.middle
	g.ways = slices.Clone(g.ways)
	for i := range g.ways {
		w := &g.ways[i]
		w.middle, w.level = g.start, g.sign*(newest.Mean-q.Limit)
		w.weight = 1 / (newest.U * newest.U)
	}
	t.Next = g.reach(1 - q.Confidence)[0]
	if t.Next != nil && *t.Next < q.Now {
		t.Next = &q.Now
	}
}

// before are the readings of the latest other series that tells a rate; nil if none does.
func (q Question) before() []int {
	var best []int
	seen := map[int]bool{q.Series: true}
	for _, r := range q.Readings {
		if seen[r.Series] {
			continue
		}
		seen[r.Series] = true
		order := q.series(r.Series)
		if pointsOf(q, order) != nil && (best == nil || q.Readings[order[0]].Hours > q.Readings[best[0]].Hours) {
			best = order
		}
	}
	return best
}

// Point is the length at one hour.
type Point struct {
	Hours float64 `json:"hours"`
	Estimate
}

// Band gives the length at n hours, evenly from one to another, as it runs in the run of
// now. Ahead of the newest reading neither its ends nor its middle ever go back against
// the wear. It is an error if the trend has no level, if n is not from 2 to 1000 or if the
// hours are none.
func (t Trend) Band(from, to float64, n int) ([]Point, error) {
	switch {
	case t.Outcome != Ahead && t.Outcome != Past:
		return nil, fmt.Errorf("no band: the outcome is %q", t.Outcome)
	case n < 2 || n > 1000:
		return nil, fmt.Errorf("%d points of a band: give 2 to 1000", n)
	case !(from >= 0 && from <= mostHours && to >= from && to <= mostHours):
		return nil, fmt.Errorf("a band from hour %g to %g: give hours from 0 to %g, the later last", from, to, mostHours)
	}
	f := t.fit
	newest := f.levelAt(f.last)
	out := make([]Point, n)
	for i := range out {
		h := from + (to-from)*float64(i)/float64(n-1)
		e := f.levelAt(h - f.middle)
		if h-f.middle > f.last {
			worse := math.Min
			if f.sign > 0 {
				worse = math.Max
			}
			e = Estimate{worse(e.Low, newest.Low), worse(e.Middle, newest.Middle), worse(e.High, newest.High)}
			newest = e
		}
		out[i] = Point{h, e}
	}
	return out, nil
}
