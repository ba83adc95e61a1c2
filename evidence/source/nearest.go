package source

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// fewNames is how many allowed names an error message lists in full.
const fewNames = 12

// mostNear is how many near names a Hint gives.
const mostNear = 3

// Hint is what could have stood in place of a name, worked out when it is
// printed: a file with thousands of unknown names prints only some of them.
type Hint struct {
	name    string
	allowed []string
	near    []string
	looked  bool // for what is near
}

// Expected says what could have stood in place of name: the nearest allowed
// name if one is near, and the whole list when it is short.
func Expected(name string, allowed []string) *Hint { return &Hint{name: name, allowed: allowed} }

// String starts with "; " or is empty, ready to end a message.
func (h *Hint) String() string {
	out := ""
	if list := h.oneOf(); list != "" {
		out = "; expected " + list
	}
	if near := h.nearest(); len(near) > 0 {
		out += "; did you mean " + near[0] + "?"
	}
	return out
}

// oneOf lists the allowed names if they are few.
func (h *Hint) oneOf() string {
	if len(h.allowed) == 0 || len(h.allowed) > fewNames {
		return ""
	}
	names := slices.Sorted(slices.Values(h.allowed))
	for i, name := range names {
		names[i] = Clip(name) // the crew gives names too
	}
	return "one of: " + strings.Join(names, ", ")
}

func (h *Hint) nearest() []string {
	if !h.looked {
		h.near, h.looked = nearest(h.name, h.allowed), true
	}
	return h.near
}

// nearest gives the allowed names that name can be a slip of by edit distance,
// mostNear at most, the closest first; else the only one that name begins.
func nearest(name string, allowed []string) []string {
	name = strings.ToLower(strings.TrimSpace(name))
	if name == "" || len(name) > 200 {
		return nil
	}
	most := min(len(name)/3+1, len(name)-1)
	byDistance := make([][]string, most+1)
	var begun []string
	runes := []rune(name)
	row := make([]int, len(runes)+1)
	for _, candidate := range allowed {
		lower := strings.ToLower(candidate)
		if d := editDistance(runes, lower, row, most+1); d <= most {
			byDistance[d] = append(byDistance[d], candidate)
		}
		if strings.HasPrefix(lower, name) {
			begun = append(begun, candidate)
		}
	}
	var out []string
	for _, names := range byDistance {
		out = append(out, slices.Sorted(slices.Values(names))...)
	}
	if len(out) == 0 && len(begun) == 1 {
		return begun
	}
	return out[:min(len(out), mostNear)]
}

// editDistance is the Levenshtein distance of a and b, or limit when it is at
// least that (Levenshtein 1966; one row of the usual table, which has room for
// a and one more).
func editDistance(a []rune, b string, row []int, limit int) int {
	if length := utf8.RuneCountInString(b); len(a)-length >= limit || length-len(a) >= limit {
		return limit
	}
	for i := range row {
		row[i] = i
	}
	for _, cb := range b {
		diagonal := row[0]
		row[0]++
		for i, ca := range a {
			cost := 1
			if ca == cb {
				cost = 0
			}
			next := min(row[i+1]+1, row[i]+1, diagonal+cost)
			diagonal, row[i+1] = row[i+1], next
		}
	}
	return min(row[len(a)], limit)
}
