package lives

import (
	"cmp"
	"iter"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/combin"
)

// Scores are the log-rank scores of lives (Savage; Peto and Peto 1972): 1 for one that
// ended, 0 else, less the cumulative hazard (Nelson and Aalen) up to its hours, all
// lives taken together. Their sum over a group is what the log-rank test calls observed
// less expected: above 0 where parts last less than elsewhere. They sum to 0.
func Scores(all []Life) []float64 {
	out := make([]float64, len(all))
	hazard := 0.0
	for a := range ages(all) {
		hazard += float64(a.failed) / float64(a.atRisk)
		for _, i := range a.lives {
			out[i] = -hazard
			if all[i].End == Failed {
				out[i]++
			}
		}
	}
	return out
}

// age is the lives of the same hours.
type age struct {
	lives          []int // their indexes
	failed, atRisk int   // how many of them failed, and how many in all last at least so long
}

// ages goes through lives by their hours.
func ages(all []Life) iter.Seq[age] {
	order := make([]int, len(all))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(all[a].Hours, all[b].Hours) })
	return func(yield func(age) bool) {
		for from := 0; from < len(order); {
			to, failed := from, 0
			for ; to < len(order) && all[order[to]].Hours == all[order[from]].Hours; to++ {
				if all[order[to]].End == Failed {
					failed++
				}
			}
			if !yield(age{order[from:to], failed, len(order) - from}) {
				return
			}
			from = to
		}
	}
}

// Worst is the place where parts last least, picked after looking at all of them.
type Worst struct {
	// Places are the indexes of the place that stands out most, or of several that stand
	// out alike; none if no life ended.
	Places []int
	// P is the probability that any place stands out so much, if parts last alike at all
	// of them. It is one-sided, since only short lives count, and picking is in it.
	P     float64
	Shown bool // P is at most 1-confidence
	// Least is the smallest P that so many lives could come to, however they fell.
	Least float64
}

// How many deals, records and orders are drawn at most, and after how many that reach
// what was seen the drawing stops: then P is their share so far (Besag and Clifford
// 1991, from memory). The smallest P that can be told is 1/(draws+1).
const (
	deals  = 1_999
	redraw = 999
	enough = 100
)

// tie is how near two statistics are taken as the same.
const tie = 1e-9

// share draws until enough of the draws reach what was seen, and gives the P of it.
func share(draws int, reaches func() bool) float64 {
	reached := 0
	for n := 1; n <= draws; n++ {
		if reaches() {
			if reached++; reached == enough {
				return float64(reached) / float64(n)
			}
		}
	}
	return float64(reached+1) / float64(draws+1)
}

// WorstOf tests whether the place that stands out does so by more than luck. The
// standing of a place is the sum of its scores over the standard deviation of that sum
// among all ways of dealing the lives out to the places. P is the larger of two shares:
//
//   - of deals, each place getting as many lives as it had, in which the greatest
//     standing of any place is at least the one seen (a permutation test; Westfall and
//     Young 1993, from memory);
//   - of records drawn over the same hours from the Weibull fit of all lives together
//     (from a steady rate, if they do not carry one) in which it is. For short lives come
//     in greater numbers, and the deals alone call parts that fail by chance or early
//     worse too often: up to 14 in 100 instead of 5.
//
// By simulation of three places over some six lives each, places that are alike are
// called worse in about 5 of 100 records at 95 % where parts wear out or fail by chance,
// and in up to 12 where most fail in their first hours (shape 0.6).
//
// The draws are always the same ones, so that the same record has the same answer. Errors
// are as in Lives, or if the confidence is not between 0.5 and 0.999999.
func WorstOf(r Record, confidence float64) (Worst, error) {
	all, err := r.Lives()
	if err != nil {
		return Worst{}, err
	}
	if err := checkConfidence(confidence); err != nil {
		return Worst{}, err
	}
	d := newDeal(all, len(r.Places))
	out := Worst{P: 1, Least: d.least()}
	seen := slices.Clone(d.standings())
	most := slices.Max(seen)
	if !(most > tie) {
		return out, nil
	}
	for i, s := range seen {
		if s >= most-tie {
			out.Places = append(out.Places, i)
		}
	}
	out.P = d.dealt(most)
	if out.P <= 1-confidence {
		out.P = math.Max(out.P, r.redrawn(all, most))
	}
	out.Shown = out.P <= 1-confidence
	return out, nil
}

// dealt is the P of a greatest standing among deals.
func (d *deal) dealt(most float64) float64 {
	random := rand.New(rand.NewPCG(1, 2))
	return share(deals, func() bool {
		random.Shuffle(len(d.scores), func(a, b int) { d.scores[a], d.scores[b] = d.scores[b], d.scores[a] })
		return slices.Max(d.standings()) >= most-tie
	})
}

// redrawn is the P of a greatest standing among records drawn over the same hours.
func (r Record) redrawn(all []Life, most float64) float64 {
	f, shape, fits := likeliest(all)
	if !fits {
		shape = 1
	}
	scale := f.scale(shape)
	random := rand.New(rand.NewPCG(5, 6))
	life := func() float64 { return scale * math.Exp(math.Log(random.ExpFloat64())/shape) }
	var drawn []Life
	return share(redraw, func() bool {
		drawn = drawn[:0]
		for i, p := range r.Places {
			drawn = p.drawn(drawn, i, life, scale)
		}
		return slices.Max(dealOf(drawn, len(r.Places)).standings()) >= most-tie
	})
}

// drawn adds the lives at a place with changes drawn anew. A part that was not new at
// the start has been there for a while: the drawing begins some lives earlier.
func (p Place) drawn(out []Life, at int, life func() float64, scale float64) []Life {
	since, known, changes, t := p.From, slices.Contains(p.Changed, p.From), 0, p.From
	if !known {
		t -= 3*scale + life()
	}
	for t += life(); t < p.To && changes < mostLives; t += life() {
		if t > p.From {
			out = append(out, lifeAt(at, t-since, Failed, known))
			since, known, changes = t, true, changes+1
		}
	}
	return append(out, lifeAt(at, p.To-since, StillIn, known))
}

// Group is places at which parts are not shown to last differently, with their lives.
type Group struct {
	Places []int
	Lives  []Life
}

// Groups puts the places together at which parts are not shown to differ: the worst by
// itself if WorstOf shows it to be worse, then the worst of those that are left, and so
// on; the last group is the rest. As each step is tested by itself after the one before
// was shown, places that are alike are parted no more often than WorstOf says. The first
// step is given too. Errors are those of WorstOf.
func Groups(r Record, confidence float64) ([]Group, Worst, error) {
	all, err := r.Lives()
	if err != nil {
		return nil, Worst{}, err
	}
	var out []Group
	var first Worst
	left := make([]int, len(r.Places))
	for i := range left {
		left[i] = i
	}
	for {
		var sub Record
		for _, i := range left {
			sub.Places = append(sub.Places, r.Places[i])
		}
		worst, err := WorstOf(sub, confidence)
		if err != nil {
			return nil, Worst{}, err
		}
		if len(out) == 0 {
			first = worst
		}
		if !worst.Shown {
			return append(out, groupOf(all, left)), first, nil
		}
		var apart, rest []int
		for i, place := range left {
			if slices.Contains(worst.Places, i) {
				apart = append(apart, place)
			} else {
				rest = append(rest, place)
			}
		}
		out, left = append(out, groupOf(all, apart)), rest
	}
}

func groupOf(all []Life, places []int) Group {
	return Group{Places: places, Lives: slices.DeleteFunc(slices.Clone(all), func(l Life) bool { return !slices.Contains(places, l.Place) })}
}

// deal is how scores lie on places: those of one place one behind the other.
type deal struct {
	scores    []float64
	counts    []int
	deviation []float64 // of the sum of each place's scores, over all deals
	standing  []float64
}

func newDeal(all []Life, places int) *deal {
	// The order of the file must not matter.
	sorted := slices.Clone(all)
	slices.SortStableFunc(sorted, func(a, b Life) int {
		return cmp.Or(cmp.Compare(a.Place, b.Place), cmp.Compare(a.Hours, b.Hours))
	})
	return dealOf(sorted, places)
}

// dealOf is newDeal of lives that lie place by place.
func dealOf(all []Life, places int) *deal {
	d := &deal{scores: Scores(all), counts: make([]int, places), deviation: make([]float64, places), standing: make([]float64, places)}
	square := 0.0
	for _, s := range d.scores {
		square += s * s
	}
	for _, l := range all {
		d.counts[l.Place]++
	}
	n := float64(len(all))
	for i, c := range d.counts {
		k := float64(c)
		d.deviation[i] = math.Sqrt(k * (n - k) / (n * (n - 1)) * square)
	}
	return d
}

// standings gives the standing of each place; it is overwritten by the next call.
func (d *deal) standings() []float64 {
	at := 0
	for i, c := range d.counts {
		sum := 0.0
		for _, s := range d.scores[at : at+c] {
			sum += s
		}
		at += c
		d.standing[i] = 0
		if d.deviation[i] > 0 {
			d.standing[i] = sum / d.deviation[i]
		}
	}
	return d.standing
}

// least is the smallest chance that one deal in all can have for any place: one over
// the number of ways to pick as many lives as a place has, and not below what the draws
// can tell.
func (d *deal) least() float64 {
	p := 1.0
	for _, c := range d.counts {
		if c > 0 && c < len(d.scores) {
			p = math.Min(p, math.Exp(-combin.LogGeneralizedBinomial(float64(len(d.scores)), float64(c))))
		}
	}
	return math.Max(p, 1.0/(deals+1))
}

// Verdict is what the order of the lives shows.
type Verdict string

// What the order of the lives shows.
const (
	NoTrend   Verdict = "none shown" // not shown to change
	Worsening Verdict = "worse"      // parts last less and less
	Improving Verdict = "better"     // parts last longer and longer
	TooFew    Verdict = "too few"    // fewer than FewestForTrend whole lives: nothing was decided
)

// FewestForTrend is how many whole lives a verdict needs: with fewer no order of them
// is rare.
const FewestForTrend = 5

// Trend is what the order of the lives shows.
type Trend struct {
	Says Verdict `json:"says"`
	P    float64 `json:"p"` // two-sided: twice the smaller tail, at most 1
}

// TrendOf tests whether parts last less and less. Only lives that are whole in the
// record count; their order at each place is drawn anew, and the statistic is the sum
// of score times rank in the order. If lives do not change with the hours, every order
// of the whole lives at one place is as likely as every other, whatever the
// distribution (a permutation test). all holds the lives of each place in their order
// in time.
func TrendOf(all []Life, confidence float64) (Trend, error) {
	if err := checkConfidence(confidence); err != nil {
		return Trend{}, err
	}
	whole := slices.DeleteFunc(slices.Clone(all), func(l Life) bool { return l.End != Failed })
	t := Trend{Says: TooFew, P: 1}
	if len(whole) < FewestForTrend {
		return t, nil
	}
	runs := byPlace(whole, Scores(whole))
	seen := drift(runs)
	random := rand.New(rand.NewPCG(3, 4))
	// tail is the P of a drift that goes as far this way.
	tail := func(way float64) float64 {
		return share(deals, func() bool {
			for _, run := range runs {
				random.Shuffle(len(run), func(a, b int) { run[a], run[b] = run[b], run[a] })
			}
			return way*drift(runs) >= way*seen-tie
		})
	}
	less, more := tail(1), tail(-1)
	t.P = math.Min(1, 2*math.Min(less, more))
	switch {
	case t.P > 1-confidence:
		t.Says = NoTrend
	case less < more:
		t.Says = Worsening
	default:
		t.Says = Improving
	}
	return t, nil
}

// byPlace gives the scores of each place in the order of its lives.
func byPlace(all []Life, scores []float64) [][]float64 {
	at := map[int]int{}
	var out [][]float64
	for i, l := range all {
		run, ok := at[l.Place]
		if !ok {
			run = len(out)
			at[l.Place] = run
			out = append(out, nil)
		}
		out[run] = append(out[run], scores[i])
	}
	return out
}

// drift is the sum of scores times their rank, counted from the middle.
func drift(runs [][]float64) float64 {
	sum := 0.0
	for _, run := range runs {
		for i, s := range run {
			sum += s * (float64(i) - float64(len(run)-1)/2)
		}
	}
	return sum
}
