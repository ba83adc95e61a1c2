package interview

import (
	"sort"

	"telltale/evidence"
	"telltale/rules"
)

// Signs lists the signs that the crew can report with the pump as it stands: first
// those that make sense by what shows already, those that troubled pumps show most
// often before others. What is worked out from figures is not in it.
func Signs(book *rules.Book, k *evidence.Case) []*rules.Sign {
	often := map[string]float64{}
	for _, c := range book.Causes.List {
		if !c.When.Holds(k, book) {
			continue
		}
		for _, link := range c.LinksFor(k, book) {
			often[link.Sign] += c.Common * link.Total
		}
		for _, r := range c.BringsFor(k, book) {
			for _, link := range r.Links(book.Causes.Get(r.Cause), k, book) {
				often[link.Sign] += c.Common * r.Often * link.Total
			}
		}
	}
	var out []*rules.Sign
	for _, s := range book.Signs.List {
		if !s.Reckoned && s.When.Holds(k, book) && reportable(s, k) {
			out = append(out, s)
		}
	}
	sort.SliceStable(out, func(a, b int) bool {
		if fits := out[a].Fits(k); fits != out[b].Fits(k) {
			return fits
		}
		return often[out[a].ID]+out[a].Background > often[out[b].ID]+out[b].Background
	})
	return out
}

// reportable says whether the crew can have seen a sign: inside the pump
// only once it is isolated. What shows only running may have been seen before
// the pump was stopped.
func reportable(s *rules.Sign, k *evidence.Case) bool {
	return s.Pump != rules.NeedsIsolated || k.Pump.State == evidence.Isolated
}
