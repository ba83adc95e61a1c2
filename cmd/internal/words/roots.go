package words

import (
	"fmt"
	"strings"

	"telltale/engine/chances"
	"telltale/evidence"
)

// What failed and what brought it on, where nobody looked at that yet.

// mostRoots is how many roots are named.
const mostRoots = 3

// Alike puts together what has the same key, each where the first of it stands.
func Alike[T any](list []T, key func(T) string) [][]T {
	var out [][]T
	at := map[string]int{}
	for _, x := range list {
		i, any := at[key(x)]
		if !any {
			i, out = len(out), append(out, nil)
			at[key(x)] = i
		}
		out[i] = append(out[i], x)
	}
	return out
}

// AlikeRoots puts together the roots that differ in their place alone.
func AlikeRoots(roots []chances.Root) [][]chances.Root {
	return Alike(roots, func(r chances.Root) string { return r.Cause + " " + r.Through + " " + Likely(r.Probability) })
}

// Root names roots that differ in their place alone, with their chance: "Guide low,
// cylinder 2 (likely, 65 %)".
func Root(alike ...chances.Root) string {
	var places []evidence.Place
	for _, r := range alike {
		places = append(places, r.Place)
	}
	return AtEach(alike[0].Title, places, Likely(alike[0].Probability))
}

// Roots names the likeliest of some roots with their chances, and says how many are
// not named.
func Roots(roots []chances.Root) []string {
	var out []string
	lines := AlikeRoots(roots)
	for _, alike := range lines[:min(len(lines), mostRoots)] {
		out = append(out, Root(alike...))
		roots = roots[len(alike):]
	}
	if len(roots) > 0 {
		out = append(out, fmt.Sprintf("%d more", len(roots)))
	}
	return out
}

// Unlooked says of something that is put right what may have brought it on and was
// not looked at.
func Unlooked(failed string, roots []chances.Root) string {
	return failed + " is put right, but nobody has looked at what may have brought it on: " + strings.Join(Roots(roots), "; ") +
		". Put right without its root it can come back."
}
