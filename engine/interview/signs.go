package interview

import (
	"sort"
	"strings"

	"telltale/evidence"
	"telltale/rules"
)

// Signs lists the signs that the crew can report with the pump as it stands
// and that hold every word, those that troubled pumps show most often first;
// without a word, all of them that make sense by what shows already; with one,
// the others stand last. What is worked out from figures is not in it.
func Signs(book *rules.Book, k *evidence.Case, words string) []*rules.Sign {
	often := map[string]float64{}
	for _, c := range book.Causes.List {
		if !c.When.Holds(k, book) {
			continue
		}
		for _, link := range c.LinksFor(k, book) {
			often[link.Sign] += c.Common * link.Total
		}
	}
	var out []*rules.Sign
	for _, s := range book.Signs.List {
		if !s.Reckoned && s.When.Holds(k, book) && reportable(s, k) && holds(s, words) && (words != "" || s.Fits(k)) {
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

func holds(s *rules.Sign, words string) bool {
	text := strings.ToLower(" " + s.Title + " " + s.Ask + " " + strings.ReplaceAll(s.ID, "-", " "))
	for _, kind := range s.Kinds {
		text += " " + strings.ToLower(kind.Title)
	}
	for _, w := range strings.Fields(strings.ToLower(words)) {
		if !stands(text, w) {
			return false
		}
	}
	return true
}

// stands says whether a word stands in the text, a short one only where a word
// begins: "in" is not meant by "pinion".
func stands(text, word string) bool {
	if len(word) < shortestStem {
		return strings.Contains(text, " "+word)
	}
	return strings.Contains(text, word) || strings.Contains(text, stem(word))
}

// shortestStem is how much of a word must be left when its ending is cut.
const shortestStem = 4

// stem cuts the ending of a word, so that "leaking" finds "leaks".
func stem(word string) string {
	for _, ending := range []string{"ing", "ed", "es", "s"} {
		if cut, ok := strings.CutSuffix(word, ending); ok && len(cut) >= shortestStem {
			return cut
		}
	}
	return word
}
