package words

import (
	"strings"

	"telltale/engine/chances"
)

// What failed and what brought it on, where nobody looked at that yet.

// mostRoots is how many roots are named.
const mostRoots = 3

// Root names a root with its chance: "Guide low, cylinder 2 (likely, 65 %)".
func Root(r chances.Root) string {
	return Titled(r.Title, r.Place) + " (" + Likely(r.Probability) + ")"
}

// Roots names the likeliest of some roots with their chances.
func Roots(roots []chances.Root) []string {
	var out []string
	for _, r := range roots[:min(len(roots), mostRoots)] {
		out = append(out, Root(r))
	}
	return out
}

// Unlooked says of something that is put right what may have brought it on and was
// not looked at.
func Unlooked(failed string, roots []chances.Root) string {
	return failed + " is put right, but nobody has looked at what may have brought it on: " + strings.Join(Roots(roots), "; ") +
		". Put right without its root it can come back."
}
