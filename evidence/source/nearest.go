package source

import (
	"sort"
	"strings"
)

// fewNames is how many allowed names an error message lists in full.
const fewNames = 12

// Hint is what could have stood in place of a name, worked out when it is
// printed: a file with thousands of unknown names prints only some of them.
type Hint struct {
	name    string
	allowed []string
}

// Expected says what could have stood in place of name: the nearest allowed
// name if one is near, and the whole list when it is short.
func Expected(name string, allowed []string) Hint { return Hint{name, allowed} }

// String starts with "; " or is empty, ready to end a message.
func (h Hint) String() string {
	if len(h.allowed) == 0 {
		return ""
	}
	out := ""
	if len(h.allowed) <= fewNames {
		sorted := append([]string(nil), h.allowed...)
		sort.Strings(sorted)
		out = "; expected one of: " + strings.Join(sorted, ", ")
	}
	if near := Nearest(h.name, h.allowed); near != "" {
		out += "; did you mean " + near + "?"
	}
	return out
}

// Nearest gives the allowed name closest to name by edit distance, or the only
// one that name begins, or "" when none is close enough to be a slip of the
// pen.
func Nearest(name string, allowed []string) string {
	name = strings.ToLower(strings.TrimSpace(name))
	if name == "" || len(name) > 200 {
		return ""
	}
	best, bestDistance := "", min(len(name)/3+1, len(name)-1)
	for _, candidate := range allowed {
		d := editDistance(name, strings.ToLower(candidate), bestDistance+1)
		if d < bestDistance || d == bestDistance && (best == "" || candidate < best) {
			best, bestDistance = candidate, d
		}
	}
	if best == "" {
		return onlyBegunBy(name, allowed)
	}
	return best
}

func onlyBegunBy(name string, allowed []string) string {
	found := ""
	for _, candidate := range allowed {
		if !strings.HasPrefix(strings.ToLower(candidate), name) {
			continue
		}
		if found != "" {
			return ""
		}
		found = candidate
	}
	return found
}

// editDistance is the Levenshtein distance of a and b, or limit when it is at
// least that (Levenshtein 1966; the usual two-row table).
func editDistance(a, b string, limit int) int {
	ra, rb := []rune(a), []rune(b)
	if len(ra)-len(rb) >= limit || len(rb)-len(ra) >= limit {
		return limit
	}
	row := make([]int, len(rb)+1)
	for j := range row {
		row[j] = j
	}
	for i, ca := range ra {
		diagonal := row[0]
		row[0] = i + 1
		for j, cb := range rb {
			cost := 1
			if ca == cb {
				cost = 0
			}
			next := min(row[j+1]+1, row[j]+1, diagonal+cost)
			diagonal, row[j+1] = row[j+1], next
		}
	}
	return min(row[len(rb)], limit)
}
