package rules

import (
	"fmt"
	"regexp"
	"strings"

	"telltale/evidence"
)

var limitMark = regexp.MustCompile(`\{([a-z0-9-]+)\}`)

// blank is what stands for a figure that belongs to the maker's manual and
// that the case does not give.
const blank = "______ (from this pump's manual)"

// LimitsIn are the limits whose figures a text asks for, as they stand in it.
func LimitsIn(text string) (ids []string) {
	for _, mark := range limitMark.FindAllStringSubmatch(text, -1) {
		ids = append(ids, mark[1])
	}
	return ids
}

// FillAll fills several texts.
func (b *Book) FillAll(k *evidence.Case, texts []string) []string {
	out := make([]string, 0, len(texts))
	for _, t := range texts {
		out = append(out, b.Fill(k, t))
	}
	return out
}

// Fill puts the figures of a case into a text of the rulebook: from the case,
// else from the rulebook, else a blank for the maker's manual.
func (b *Book) Fill(k *evidence.Case, text string) string {
	if !strings.Contains(text, "{") {
		return text
	}
	return limitMark.ReplaceAllStringFunc(text, func(mark string) string {
		id := mark[1 : len(mark)-1]
		if q, ok := k.Manual[id]; ok {
			return q.String() + " (this pump's manual)"
		}
		limit := b.Limits.Get(id)
		if limit == nil || limit.Value == nil {
			return blank
		}
		from, _, _ := strings.Cut(limit.Basis, ":")
		if limit.FromLocal {
			from = "local book, " + from
		}
		return fmt.Sprintf("%s (%s; this pump's manual governs)", limit.Value, from)
	})
}
