package wear

import (
	"cmp"
	"math"
	"slices"
)

// Estimate is a figure with its interval at the confidence asked for.
type Estimate struct {
	Low    float64 `json:"low"`
	Middle float64 `json:"middle"`
	High   float64 `json:"high"`
}

// Due is when the limit is reached, in hours of the pump: that it is past the limit then
// has, at 0.95, the chance 0.025, 0.5 and 0.975. Nil is never by these readings. An hour
// of the first reading of the run stands for that hour or before.
type Due struct {
	From   *float64 `json:"from,omitempty"`
	Middle *float64 `json:"middle,omitempty"`
	To     *float64 `json:"to,omitempty"`
}

// Outcome is what the readings come to.
type Outcome string

// The outcomes.
const (
	Ahead       Outcome = "ahead"        // rather not past the limit now: see Trend.Past
	Past        Outcome = "past"         // rather past the limit now: see Trend.Past
	TooFew      Outcome = "too few"      // the readings of the series tell no rate
	NotMeasured Outcome = "not measured" // no reading since the last correction, or since the part was renewed
)

// Trend is what the readings of one length come to.
type Trend struct {
	Outcome Outcome `json:"outcome"`
	// Wears is the chance that it wears at all, Rate how much it wears in 1000 hours, never
	// below 0. Both need a rate; they stay 0 where there are too few readings.
	Wears float64  `json:"wears"`
	Rate  Estimate `json:"rate"`
	// Level is the length now, Past the chance that it is past the limit now. Where there are
	// too few readings they are those of the newest reading, when it was taken.
	Level Estimate `json:"level"`
	Past  float64  `json:"past"`
	// Newest is the chance that it was past the limit by the newest reading alone, had
	// nothing else been read.
	Newest float64  `json:"newest"`
	Due    Due      `json:"due"`
	Next   *float64 `json:"next,omitempty"` // hours at which to read it again at the latest; nil if nothing tells
	// Misread is, for each reading of the question, the chance that it is misread; 0 for
	// those that did not count.
	Misread []float64 `json:"misread"`
	Scatter float64   `json:"scatter"` // how many times as much as they say the readings scatter
	Look    []Look    `json:"look,omitempty"`

	fit *fitted
}

// fitted is what the figures of a trend are read off.
type fitted struct {
	ways         []way
	student      student // of every figure, in its scale
	middle       float64 // hours at which at is 0
	first, last  float64 // at of the first and the last reading of the series that count
	start        float64 // at of the first reading of the run of now
	sign         float64 // 1 where wear makes the length greater, else -1
	limit        float64
	below, above float64 // the chances at the ends of an interval
}

// Fit fits the readings of the series that it is in now. The error names what of the
// question cannot be.
func Fit(q Question) (Trend, error) {
	if err := q.check(); err != nil {
		return Trend{}, err
	}
	t := Trend{Misread: make([]float64, len(q.Readings))}
	order := q.series(q.Series)
	now := slices.DeleteFunc(slices.Clone(order), func(i int) bool { return q.Readings[i].Run != q.Run })
	if len(now) > 0 {
		t.newest(q, q.Readings[now[len(now)-1]])
	}
	points := pointsOf(q, order)
	switch {
	case len(now) == 0:
		t.Outcome, t.Next = NotMeasured, &q.Now
		if points != nil {
			t.rate(q, points, order)
		}
		return t, nil
	case points == nil:
		t.Outcome = TooFew
		t.nextByOthers(q, q.Readings[now[len(now)-1]])
		return t, nil
	}
	t.rate(q, points, order)
	t.fit.start = q.Readings[now[0]].Hours - t.fit.middle
	t.due(q)
	t.next(q)
	return t, nil
}

// series are the readings of a series that count, by their index, in the order of their
// hours.
func (q Question) series(series int) []int {
	var out []int
	for i, r := range q.Readings {
		if r.Series == series {
			out = append(out, i)
		}
	}
	slices.SortStableFunc(out, func(a, b int) int {
		r, s := q.Readings[a], q.Readings[b]
		return cmp.Or(cmp.Compare(r.Hours, s.Hours), cmp.Compare(r.Mean, s.Mean), cmp.Compare(r.U, s.U))
	})
	return out[max(0, len(out)-used):]
}

// pointsOf are the readings of a series in the order of their hours; nil if no run has two
// of different hours.
func pointsOf(q Question, order []int) []point {
	var out []point
	tells, run, first, middle := false, -1, 0.0, q.middle(order)
	for n, i := range order {
		r := q.Readings[i]
		if n == 0 || r.Run != q.Readings[order[n-1]].Run {
			run++
			first = r.Hours
		}
		tells = tells || r.Hours > first
		out = append(out, point{r.Hours - middle, q.sign() * (r.Mean - q.Limit), r.U, run})
	}
	if !tells {
		return nil
	}
	return out
}

func (q Question) sign() float64 {
	if q.Grows {
		return 1
	}
	return -1
}

func (q Question) middle(order []int) float64 {
	if len(order) == 0 {
		return 0
	}
	first, last := q.Readings[order[0]].Hours, q.Readings[order[len(order)-1]].Hours
	return first + (last-first)/2
}

// newest fills in what the newest reading says alone.
func (t *Trend) newest(q Question, r Reading) {
	if q.Grows {
		t.Newest = r.Above(q.Limit)
	} else {
		t.Newest = r.Below(q.Limit)
	}
	z := math.Sqrt2 * math.Erfinv(q.Confidence)
	t.Past, t.Level = t.Newest, Estimate{r.Mean - z*r.U, r.Mean, r.Mean + z*r.U}
}

// rate weighs the ways in which the readings may have come about, and fills in what does
// not need the level.
func (t *Trend) rate(q Question, points []point, order []int) {
	ways, free := weigh(points, q.Misread)
	first, last := q.Readings[order[0]].Hours, q.Readings[order[len(order)-1]].Hours
	middle := q.middle(order)
	t.fit = &fitted{
		ways: ways, student: newStudent(free), middle: middle, first: first - middle, last: last - middle, sign: q.sign(), limit: q.Limit,
		below: (1 - q.Confidence) / 2, above: (1 + q.Confidence) / 2,
	}
	t.Wears = t.fit.wears()
	t.Rate = t.fit.estimate(func(w way) (mean, scale float64) { return 1000 * w.rate, 1000 * w.rateDoubt() })
	t.Rate = Estimate{math.Max(0, t.Rate.Low), math.Max(0, t.Rate.Middle), math.Max(0, t.Rate.High)}
	for _, w := range ways {
		t.Scatter += w.chance * w.scatter
		for n, i := range order {
			if w.misread.has(n) {
				t.Misread[i] += w.chance
			}
		}
	}
	t.look(points, order)
}

func (w way) rateDoubt() float64 { return w.scatter / math.Sqrt(w.lever) }

// past is how far the length is beyond the limit at a time, with its scale.
func (w way) past(at float64) (mean, scale float64) {
	d := at - w.middle
	return w.level + w.rate*d, w.scatter * math.Sqrt(1/w.weight+d*d/w.lever)
}

// wears is the chance that the rate is above 0.
func (f *fitted) wears() float64 {
	sum := 0.0
	for _, w := range f.ways {
		sum += w.chance * f.student.below(w.rate/w.rateDoubt())
	}
	return math.Min(1, sum)
}

// past is the chance that it is past the limit at a time.
func (f *fitted) past(at float64) float64 {
	sum := 0.0
	for _, w := range f.ways {
		mean, scale := w.past(at)
		sum += w.chance * f.student.below(mean/scale)
	}
	return math.Min(1, sum)
}

// estimate gives the interval of a figure that has Student's distribution in each of the
// ways, with a mean and a scale.
func (f *fitted) estimate(of func(way) (mean, scale float64)) Estimate {
	type part struct{ chance, mean, scale float64 }
	parts := make([]part, len(f.ways))
	for i, w := range f.ways {
		parts[i].chance = w.chance
		parts[i].mean, parts[i].scale = of(w)
	}
	below := func(x float64) float64 {
		sum := 0.0
		for _, p := range parts {
			sum += p.chance * f.student.below((x-p.mean)/p.scale)
		}
		return sum
	}
	beyond := func(from end, step, q float64) end { // goes by longer and longer steps until it is past q
		to := end{from.at + step, below(from.at + step)}
		for n := 0; n < 100 && (to.chance-q)*step < 0; n++ {
			step *= 2
			from, to = to, end{to.at + step, below(to.at + step)}
		}
		if step < 0 {
			from, to = to, from
		}
		at := crossing(below, q, from, to)
		return end{at, q}
	}
	middle := end{parts[0].mean, below(parts[0].mean)}
	step := 3 * parts[0].scale
	if middle.chance < 0.5 {
		middle = beyond(middle, step, 0.5)
	} else if middle.chance > 0.5 {
		middle = beyond(middle, -step, 0.5)
	}
	return Estimate{beyond(middle, -step, f.below).at, middle.at, beyond(middle, step, f.above).at}
}

// levelAt is the length at a time, in the unit of the readings.
func (f *fitted) levelAt(at float64) Estimate {
	e := f.estimate(func(w way) (mean, scale float64) { return w.past(at) })
	return f.length(e)
}

// length turns what is past the limit into a length.
func (f *fitted) length(e Estimate) Estimate {
	if f.sign < 0 {
		e = Estimate{-e.High, -e.Middle, -e.Low}
	}
	return Estimate{e.Low + f.limit, e.Middle + f.limit, e.High + f.limit}
}
