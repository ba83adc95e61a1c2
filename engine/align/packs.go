package align

import (
	"cmp"
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
	mostEnds   = 4
)

// Want is one thickness wanted, in metres, for Ends packs all alike (0 counts as 1).
type Want struct {
	Thickness float64
	Ends      int
}

// Where a pack goes.
const (
	UnderBoth  = "under the lower guide, each end"
	UnderFront = "under the lower guide, front end"
	UnderRear  = "under the lower guide, rear end"
	AboveBoth  = "above the upper guide, both ends"
)

// Pack is a stack of shims; without pieces it is no shim at all.
type Pack struct {
	Where     string         `json:"where"`
	Pieces    []string       `json:"pieces"` // the names of the shims, thickest first
	Thickness measure.Length `json:"thickness"`
	Off       float64        `json:"off_metres"` // thickness less what was wanted

	shims []int // of Pieces: indexes into the stock
}

// Packs finds a stack for every want (one or two), all from one stock, with at most
// maxPieces (1 to 4) in a stack. Of all choices that the counts allow it takes the one with
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
	var offers [][]choice
	for _, w := range wants {
		if !(w.Thickness >= 0 && w.Thickness <= widest) || w.Ends < 0 || w.Ends > mostEnds {
			return nil, fmt.Errorf("%d packs of %g m", w.Ends, w.Thickness)
		}
		offers = append(offers, offersFor(stock, stacks, w))
	}
	var packs []Pack
	for i, c := range search(stock, offers) {
		packs = append(packs, packOf(stock, c.shims, wants[i].Thickness))
	}
	return packs, nil
}

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
		if err := checkValue("shim", s.thickness(), 1e-6, widest); err != nil {
			return err
		}
		if s.Count < 0 {
			return errors.New("fewer than no shims in stock")
		}
	}
	return nil
}

func packOf(stock []Shim, shims []int, wanted float64) Pack {
	p := Pack{Pieces: []string{}, shims: shims}
	alike := map[int]int{}
	for _, i := range shims {
		p.Pieces = append(p.Pieces, stock[i].Name)
		p.Thickness.Mean += stock[i].thickness().Mean
		alike[i]++
	}
	for i := range stock { // one measurement stands for all pieces of a thickness
		p.Thickness.U = math.Hypot(p.Thickness.U, float64(alike[i])*stock[i].thickness().U)
	}
	p.Off = p.Thickness.Mean - wanted
	return p
}

// nanometres makes sums and comparisons exact.
func nanometres(metres float64) int64 { return int64(math.Round(metres * 1e9)) }

// choice is a stack of shims, for one want where off and ends are set.
type choice struct {
	shims     []int // indexes into the stock
	thickness int64 // nanometres
	off       int64 // error without sign, nanometres
	ends      int
}

// allStacks are all stacks of up to most pieces, thicker pieces first.
func allStacks(stock []Shim, most int) []choice {
	order := make([]int, len(stock))
	for i := range order {
		order[i] = i
	}
	thickness := func(i int) int64 { return nanometres(stock[i].thickness().Mean) }
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(thickness(b), thickness(a)) })
	var out []choice
	var grow func(s choice, from int)
	grow = func(s choice, from int) {
		out = append(out, s)
		if len(s.shims) == most {
			return
		}
		for k := from; k < len(order); k++ {
			grow(choice{shims: append(slices.Clone(s.shims), order[k]), thickness: s.thickness + thickness(order[k])}, k)
		}
	}
	grow(choice{}, 0)
	return out
}

// score is what is kept small, the first figure first: the largest error, their sum, and
// the pieces.
type score [3]int64

func scoreOf(choices []choice) (s score) {
	for _, c := range choices {
		s = score{max(s[0], c.off), s[1] + c.off, s[2] + int64(c.ends*len(c.shims))}
	}
	return s
}

func (s score) compare(o score) int { return slices.Compare(s[:], o[:]) }

// enough says whether the stock holds all choices together.
func enough(stock []Shim, choices []choice) bool {
	var used [mostStock]int
	for _, c := range choices {
		for _, i := range c.shims {
			used[i] += c.ends
			if stock[i].Count > 0 && used[i] > stock[i].Count {
				return false
			}
		}
	}
	return true
}

// offersFor are the stacks that the whole stock allows, best first; the empty one is always
// among them.
func offersFor(stock []Shim, stacks []choice, w Want) []choice {
	var out []choice
	for _, c := range stacks {
		off := c.thickness - nanometres(w.Thickness)
		c.off, c.ends = max(off, -off), max(w.Ends, 1)
		if enough(stock, []choice{c}) {
			out = append(out, c)
		}
	}
	slices.SortStableFunc(out, func(a, b choice) int {
		return cmp.Or(cmp.Compare(a.off, b.off), cmp.Compare(len(a.shims), len(b.shims)))
	})
	return out
}

// search takes an offer for each want. Offers get worse from first to last, and so does what
// they come to together with one that is kept.
func search(stock []Shim, offers [][]choice) []choice {
	switch len(offers) {
	case 0:
		return nil
	case 1:
		return offers[0][:1]
	}
	var best []choice
	better := func(pair []choice) bool { return best == nil || scoreOf(pair).compare(scoreOf(best)) < 0 }
	for _, a := range offers[0] {
		if !better([]choice{a, offers[1][0]}) {
			break
		}
		for _, b := range offers[1] {
			pair := []choice{a, b}
			if !better(pair) {
				break
			}
			if enough(stock, pair) {
				best = pair
			}
		}
	}
	return best
}
