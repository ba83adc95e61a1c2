package lives

import (
	"fmt"
	"math"
)

// Worst is the cell that stands out, picked after looking at all of them. A cell is a
// cylinder, or whatever else the counts are of.
type Worst struct {
	// Cells are the indexes of the cell that stands out most, or of several that stand
	// out alike; none if there is no event.
	Cells []int
	// P is the probability that any of the cells stands out so much, if all have the same
	// rate. It is one-sided, since only too many counts, and picking is already in it.
	P     float64
	Shown bool // P is at most 1-confidence
	// Needed is, for each cell, the smallest part of the present total that would be shown
	// there; 0 if even all of it would not.
	Needed []int
	// FewestTotal is the smallest total at which anything can be shown, with all of it on
	// one cell (the one of fewest hours).
	FewestTotal int
	// More is how many further events on Cells[0] alone would be shown; 0 if Shown, or if
	// even a total of 1000 would not do; FewestTotal if there is no event yet.
	More int
}

// maxSpread is the greatest total that WorstOf spreads over the cells.
const maxSpread = 1000

// WorstOf tests whether the cell that stands out does so by more than luck. Given the
// total n the counts are multinomial with the shares of the hours. A cell stands out by
// its tail P(Binomial(n, share) >= count); the smallest tail is the statistic, and P is the
// exact probability of one so small on any cell. With equal hours that is P(max >= k). It
// is found by adding cell after cell as Poisson counts, with no approximation (Levin, Annals
// of Statistics 9, 1981). It needs two cells or more, and no more than
// 64 cells and 1000 events in all; other errors are as in RateOf.
func WorstOf(cells []Count, confidence float64) (Worst, error) {
	s, total, err := spreadOf(cells, confidence)
	if err != nil {
		return Worst{}, err
	}
	alpha := 1 - confidence
	w := Worst{P: 1, FewestTotal: s.fewest(alpha), Needed: s.needed(total, alpha)}
	if total == 0 {
		w.More = w.FewestTotal
		return w, nil
	}
	tail := 1.0
	for i, c := range cells {
		switch t := s.tail(i, total, c.Events); {
		case t < tail*(1-tie):
			tail, w.Cells = t, []int{i}
		case t <= tail*(1+tie) && c.Events > 0:
			w.Cells = append(w.Cells, i)
		}
	}
	w.P = s.anySoSmall(total, tail)
	w.Shown = w.P <= alpha
	if !w.Shown {
		w.More = s.more(w.Cells[0], total, cells[w.Cells[0]].Events, alpha)
	}
	return w, nil
}

func spreadOf(cells []Count, confidence float64) (spread, int, error) {
	if len(cells) < 2 || len(cells) > 64 {
		return spread{}, 0, fmt.Errorf("the worst of %d cannot be told: give 2 to 64", len(cells))
	}
	total, hours := 0, 0.0
	for i, c := range cells {
		if err := c.check(); err != nil {
			return spread{}, 0, fmt.Errorf("number %d: %w", i+1, err)
		}
		total += c.Events
		hours += c.Hours
	}
	if total > maxSpread {
		return spread{}, 0, fmt.Errorf("%d replacements are more than the %d that can be compared", total, maxSpread)
	}
	s := spread{share: make([]float64, len(cells)), odds: make([]float64, len(cells))}
	for i, c := range cells {
		rest := 0.0 // summed, not subtracted: the rest may be small beside this one
		for j, other := range cells {
			if j != i {
				rest += other.Hours
			}
		}
		s.share[i], s.odds[i] = c.Hours/hours, c.Hours/rest
	}
	return s, total, checkConfidence(confidence)
}

// tie is how near, relatively, two tails are taken as the same.
const tie = 1e-9

// spread is how events fall on cells of the same rate.
type spread struct {
	share, odds []float64 // of the hours
}

// tail is the probability that cell i gets count or more of the total.
func (s spread) tail(i, total, count int) float64 { return atLeast(total, count, s.odds[i]) }

// anySoSmall is the probability that the tail of some cell is at most so small.
func (s spread) anySoSmall(total int, tail float64) float64 {
	from := make([]int, len(s.share)) // the count from which a cell stands out so much
	for i := range from {
		from[i] = leastWhere(0, total+1, func(k int) bool { return s.tail(i, total, k) <= tail*(1+tie) })
	}
	return s.anyFrom(total, from)
}

// anyFrom is the probability that some cell i gets from[i] or more. The counts of the
// cells are independent Poisson, given their total; so their distributions are folded
// together one by one, kept apart by whether any cell has reached its number yet, and
// the value at the total is divided by what all of it comes to. Nothing is subtracted,
// so small probabilities keep their digits.
func (s spread) anyFrom(total int, from []int) float64 {
	none, some := make([]float64, total+1), make([]float64, total+1)
	none[0] = 1
	for i, share := range s.share {
		weight := poissonWeights(total, float64(total)*share)
		nextNone, nextSome := make([]float64, total+1), make([]float64, total+1)
		for u := range none {
			for x, w := range weight[:total+1-u] {
				nextSome[u+x] += some[u] * w
				if x < from[i] {
					nextNone[u+x] += none[u] * w
				} else {
					nextSome[u+x] += none[u] * w
				}
			}
		}
		none, some = nextNone, nextSome
	}
	return some[total] / (none[total] + some[total])
}

func poissonWeights(upTo int, mean float64) []float64 {
	weights := make([]float64, upTo+1)
	for k := range weights {
		logFactorial, _ := math.Lgamma(float64(k) + 1)
		weights[k] = math.Exp(float64(k)*math.Log(mean) - mean - logFactorial)
	}
	return weights
}

// needed is the smallest count of each cell that would be shown, 0 if none would.
func (s spread) needed(total int, alpha float64) []int {
	counts := make([]int, len(s.share))
	for i := range counts {
		k := leastWhere(1, total+1, func(k int) bool { return s.anySoSmall(total, s.tail(i, total, k)) <= alpha })
		if k <= total {
			counts[i] = k
		}
	}
	return counts
}

// fewest is the smallest total that would be shown, if all of it is on the cell where
// that is least likely.
func (s spread) fewest(alpha float64) int {
	least := 0
	for i := range s.share {
		if s.share[i] < s.share[least] {
			least = i
		}
	}
	// The cell has half the hours or less, so P is at most cells/2^total: this ends.
	for total := 1; ; total++ {
		if s.anySoSmall(total, s.tail(least, total, total)) <= alpha {
			return total
		}
	}
}

// more is how many further events on the cell would be shown. P need not fall with
// each, so they are tried one by one.
func (s spread) more(cell, total, count int, alpha float64) int {
	for extra := 1; total+extra <= maxSpread; extra++ {
		if s.anySoSmall(total+extra, s.tail(cell, total+extra, count+extra)) <= alpha {
			return extra
		}
	}
	return 0
}
