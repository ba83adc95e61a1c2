package engine

import (
	"fmt"
	"regexp"
	"strings"

	"telltale/evidence"
	"telltale/rules"
)

var limitMark = regexp.MustCompile(`\{([a-z0-9-]+)\}`)

// blank is what stands for a figure that belongs to the maker's manual and
// that the case does not give.
const blank = "______ (from this pump's manual)"

// Fill puts the figures of a case into a text of the rulebook: from the case,
// else from the rulebook, else a blank for the maker's manual.
func Fill(book *rules.Book, k *evidence.Case, text string) string {
	return (&model{book: book, k: k}).fill(text)
}

// fill puts the figures into a text: from the case, else from the rulebook,
// else a blank.
func (m *model) fill(text string) string {
	if !strings.Contains(text, "{") {
		return text
	}
	return limitMark.ReplaceAllStringFunc(text, func(mark string) string {
		id := mark[1 : len(mark)-1]
		if q, ok := m.k.Manual[id]; ok {
			return q.String() + " (this pump's manual)"
		}
		limit := m.book.Limits.Get(id)
		if limit == nil || limit.Value == nil {
			return blank
		}
		from := shortBasis(limit)
		if limit.FromLocal {
			from = "local book, " + from
		}
		return fmt.Sprintf("%s (%s; this pump's manual governs)", limit.Value, from)
	})
}

func shortBasis(limit *rules.Limit) string {
	kind, _, _ := strings.Cut(limit.Basis, ":")
	return kind
}

func (m *model) fillAll(texts []string) []string {
	out := make([]string, 0, len(texts))
	for _, t := range texts {
		out = append(out, m.fill(t))
	}
	return out
}
