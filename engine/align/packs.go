package align

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"telltale/engine/measure"
)

const (
	mostPieces = 4  // in one pack
	mostStock  = 24 // thicknesses
	mostWants  = 2  // two ends; the search grows with the power of this
)

// Want is one thickness wanted, in metres, for Ends packs all alike (0 counts as 1).
type Want struct {
	Thickness float64
	Ends      int
}

// Pack is a stack of shims; without pieces it is no shim at all.
type Pack struct {
	Pieces    []int // indexes into the stock, thickest first
	Thickness measure.Value
	Error     float64 // thickness less what was wanted, metres
}

// Packs finds a stack for every want, all from one stock, with at most maxPieces (1 to 4)
// in a stack. Of all choices that the counts allow it takes the one with
//
//   - the smallest largest error, then
//   - the smallest sum of errors (each want once, however many Ends), then
//   - the fewest pieces (every end counted), then
//   - the thicker piece first, want by want,
//
// errors being compared to the nanometre. For one want that is the smallest error, then
// the fewest pieces. The search is complete, cut off where the bounds allow.
func Packs(stock []Shim, wants []Want, maxPieces int) ([]Pack, error) {
	if err := checkStock(stock, maxPieces); err != nil {
		return nil, err
	}
	if len(wants) > mostWants {
		return nil, fmt.Errorf("%d packs at once: %d can be chosen together", len(wants), mostWants)
	}
	stacks := allStacks(stock, maxPieces)
	s := search{chosen: make([]choice, len(wants)), left: make([]int, len(stock))}
	for i, shim := range stock {
		s.left[i] = shim.Count
		if shim.Count == 0 {
			s.left[i] = mostPieces * mostWants * maxEnds
		}
	}
	for _, w := range wants {
		ends := max(w.Ends, 1)
		if !(w.Thickness >= 0 && w.Thickness <= widest) || ends > maxEnds || w.Ends < 0 {
			return nil, fmt.Errorf("%d packs of %g m", w.Ends, w.Thickness)
		}
		s.offers = append(s.offers, s.offersFor(stacks, w.Thickness, ends))
	}
	s.floor()
	s.try(0, score{})
	packs := make([]Pack, len(wants))
	for i, c := range s.best {
		packs[i] = packOf(stock, c.pieces, wants[i].Thickness)
	}
	return packs, nil
}

const maxEnds = 4

func (s Shim) thickness() measure.Value {
	if s.Actual != nil {
		return *s.Actual
	}
	return measure.Value{Mean: s.Nominal}
}

func checkStock(stock []Shim, maxPieces int) error {
	if maxPieces < 1 || maxPieces > mostPieces {
		return fmt.Errorf("a pack of %d pieces: 1 to %d", maxPieces, mostPieces)
	}
	if len(stock) > mostStock {
		return fmt.Errorf("%d thicknesses in stock: %d can be searched", len(stock), mostStock)
	}
	for _, s := range stock {
		t := s.thickness()
		if err := t.Check(); err != nil {
			return fmt.Errorf("shim: %w", err)
		}
		if t.Mean < 1e-6 || t.Mean > widest || t.U > widest {
			return fmt.Errorf("shim of %g m", t.Mean)
		}
		if s.Count < 0 {
			return errors.New("fewer than no shims in stock")
		}
	}
	return nil
}

func packOf(stock []Shim, pieces []int, wanted float64) Pack {
	p := Pack{Pieces: pieces}
	alike := map[int]int{}
	for _, i := range pieces {
		p.Thickness.Mean += stock[i].thickness().Mean
		alike[i]++
	}
	for i := range stock { // one measurement stands for all pieces of a thickness
		p.Thickness.U = math.Hypot(p.Thickness.U, float64(alike[i])*stock[i].thickness().U)
	}
	p.Error = p.Thickness.Mean - wanted
	return p
}

// nanometres makes sums and comparisons exact.
func nanometres(metres float64) int64 { return int64(math.Round(metres * 1e9)) }

type stack struct {
	pieces    []int
	thickness int64 // nanometres
}

// allStacks are all stacks of up to most pieces, thicker pieces first.
func allStacks(stock []Shim, most int) []stack {
	order := make([]int, len(stock))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return int(nanometres(stock[b].thickness().Mean) - nanometres(stock[a].thickness().Mean))
	})
	var out []stack
	var grow func(s stack, from int)
	grow = func(s stack, from int) {
		out = append(out, s)
		if len(s.pieces) == most {
			return
		}
		for k := from; k < len(order); k++ {
			grow(stack{
				append(slices.Clone(s.pieces), order[k]),
				s.thickness + nanometres(stock[order[k]].thickness().Mean),
			}, k)
		}
	}
	grow(stack{}, 0)
	return out
}

// choice is a stack for one want.
type choice struct {
	pieces []int
	off    int64 // error without sign, nanometres
	ends   int
}

// score is what is kept small, the first field first.
type score struct {
	worst, total int64
	pieces       int
}

func (s score) with(c choice) score {
	return score{max(s.worst, c.off), s.total + c.off, s.pieces + c.ends*len(c.pieces)}
}

func (s score) less(o score) bool {
	if s.worst != o.worst {
		return s.worst < o.worst
	}
	if s.total != o.total {
		return s.total < o.total
	}
	return s.pieces < o.pieces
}

// search goes through the wants in turn, each through its offers from the best on.
type search struct {
	offers    [][]choice // by want, smallest error first
	floors    []score    // the least that the wants from here on can add
	left      []int      // pieces still in stock
	chosen    []choice
	best      []choice
	bestScore score
}

// offersFor are the stacks that the whole stock allows, best first.
func (s *search) offersFor(stacks []stack, thickness float64, ends int) []choice {
	var out []choice
	for _, st := range stacks {
		c := choice{st.pieces, st.thickness - nanometres(thickness), ends}
		if c.off < 0 {
			c.off = -c.off
		}
		if s.take(c) {
			out = append(out, c)
		}
		s.giveBack(c)
	}
	slices.SortStableFunc(out, func(a, b choice) int {
		switch x, y := (score{}).with(a), (score{}).with(b); {
		case x.less(y):
			return -1
		case y.less(x):
			return 1
		}
		return 0
	})
	return out
}

func (s *search) floor() {
	s.floors = make([]score, len(s.offers)+1)
	for i := len(s.offers) - 1; i >= 0; i-- {
		least := s.offers[i][0] // there is always the empty stack
		least.pieces = nil
		s.floors[i] = s.floors[i+1].with(least)
	}
}

func (s *search) try(want int, so score) {
	if want == len(s.offers) {
		s.best, s.bestScore = slices.Clone(s.chosen), so
		return
	}
	for _, c := range s.offers[want] {
		next, rest := so.with(c), s.floors[want+1]
		bound := score{max(next.worst, rest.worst), next.total + rest.total, next.pieces}
		if s.best != nil && !bound.less(s.bestScore) {
			if bound.worst > s.bestScore.worst || bound.total > s.bestScore.total && bound.worst == s.bestScore.worst {
				return // all that follow are as far off or farther
			}
			continue
		}
		if s.take(c) {
			s.chosen[want] = c
			s.try(want+1, next)
		}
		s.giveBack(c)
	}
}

// take removes a choice's pieces; false if the stock runs below nothing (give back all
// the same).
func (s *search) take(c choice) bool {
	enough := true
	for _, i := range c.pieces {
		s.left[i] -= c.ends
		enough = enough && s.left[i] >= 0
	}
	return enough
}

func (s *search) giveBack(c choice) {
	for _, i := range c.pieces {
		s.left[i] += c.ends
	}
}
